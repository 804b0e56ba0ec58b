// Walking through the log by key: the film goes to each mark, which can be answered again, moved, struck out, restored.

/** @typedef {import("../marks/sequence.js").Row} Row */
/** @typedef {import("../view/tagging.js").Tagging} Tagging */

export const LOG_KEYS = [
  { key: "ArrowUp", name: "the mark before" },
  { key: "ArrowDown", name: "the next mark" },
  { key: "Shift+ArrowLeft", name: "the possession before" },
  { key: "Shift+ArrowRight", name: "the next possession" },
  { key: "PageUp", name: "the period before" },
  { key: "PageDown", name: "the next period" },
  { key: "P", name: "the next thing to look at" },
  { key: "Enter", name: "answer it again" },
  { key: "M", name: "put it on the frame on screen" },
  { key: "Shift+ArrowUp", name: "one frame earlier" },
  { key: "Shift+ArrowDown", name: "one frame later" },
  { key: "K", name: "strike it out, or restore it" },
  { key: "L", name: "show the last possession over and over; in a second look the whole run" },
  { key: "W", name: "the next thing worth a second look, its last four seconds over and over" },
  { key: "E", name: "grade blind: show runs whole, but only up to their decisive moment" },
  { key: "J", name: "go to a film time, or to a period and its clock" },
  { key: "Shift+Enter", name: "another book’s marks, to take single ones over" },
];

/**
 * Take a stroke as a step of the walk; false where it is none.
 * @param {Tagging} tagging
 * @param {string} stroke
 */
export function logKey(tagging, stroke) {
  const { rows } = tagging.desk.sequence;
  const here = tagging.picked ? rows.findIndex((row) => row.mark.id === tagging.picked) : -1;
  const starts = () => tagging.log.groups.filter((group) => group.team).map((group) => group.rows[0]);
  const periods = () => rows.filter((row) => row.before.period !== row.after.period);
  if (stroke === "ArrowUp") return pick(tagging, here >= 0 ? rows[here - 1] : lastBefore(tagging, rows, true));
  if (stroke === "ArrowDown") return pick(tagging, here >= 0 ? rows[here + 1] : firstAfter(tagging, rows));
  if (stroke === "Shift+ArrowLeft") return pick(tagging, lastBefore(tagging, starts(), false));
  if (stroke === "Shift+ArrowRight") return pick(tagging, firstAfter(tagging, starts()));
  if (stroke === "PageUp") return pick(tagging, lastBefore(tagging, periods(), false));
  if (stroke === "PageDown") return pick(tagging, firstAfter(tagging, periods()));
  if (stroke === "P") return pick(tagging, nextProblem(tagging));
  if (stroke === "L") return loop(tagging);
  if (stroke === "W") return tagging.second.next();
  if (stroke === "E") return tagging.second.turnBlind();
  if (stroke.startsWith("Shift+Arrow") && here < 0) return told(tagging, "↑ or ↓ picks a line of the log first");
  if (here < 0 || tagging.desk.hand) return false;
  if (stroke === "Enter") return tagging.answer(rows[here].mark.id);
  if (stroke === "M") return tagging.move(rows[here].mark.id);
  if (stroke === "Shift+ArrowUp") return tagging.nudge(rows[here].mark.id, -1);
  if (stroke === "Shift+ArrowDown") return tagging.nudge(rows[here].mark.id, 1);
  if (stroke === "K" || stroke === "Delete") return tagging.strike(rows[here].mark.id);
  if (stroke === "Escape") return tagging.leaveLog();
  return false;
}

/** @param {Tagging} tagging @param {Row | undefined} row @returns {true} */
function pick(tagging, row) {
  if (row) tagging.go(row.mark.id);
  return row ? true : told(tagging, "nothing further that way");
}

/** @param {Tagging} tagging @param {string} text @returns {true} */
function told(tagging, text) {
  tagging.tell(text);
  return true;
}

/** @param {Tagging} tagging @param {Row[]} rows @param {boolean} own whether the frame itself counts */
function lastBefore(tagging, rows, own) {
  const now = tagging.deck.gameMs;
  return rows.filter((row) => (own ? row.at <= now : row.at < now)).at(-1);
}

/** @param {Tagging} tagging @param {Row[]} rows */
function firstAfter(tagging, rows) {
  const now = tagging.deck.gameMs;
  return rows.find((row) => row.at > now);
}

/** @param {Tagging} tagging */
function nextProblem(tagging) {
  const { byId } = tagging.desk.sequence;
  const left = [...new Set(tagging.folded.problems.map((one) => one.of))].filter((of) => byId.has(of));
  const at = left.indexOf(tagging.picked);
  const next = left[(at + 1) % (left.length || 1)];
  if (next) tagging.tell(`${at + 1 < left.length ? at + 2 : 1} of ${left.length} lines to look at`);
  return byId.get(next);
}

/** @param {Tagging} tagging @returns {true} */
function loop(tagging) {
  const { deck } = tagging;
  if (tagging.second.at) return tagging.second.turnWhole();
  const now = deck.gameMs;
  const group = tagging.log.groups.filter((one) => one.team && one.from <= now).at(-1);
  if (deck.loop) deck.over(null);
  else if (group) deck.over({ from: group.from, to: group.to ?? Math.max(now, group.from + 1000) });
  else tagging.tell("no possession yet");
  return true;
}
