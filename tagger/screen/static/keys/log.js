// Going through the log by key: the film goes to each mark, which can be answered again, moved, struck out, restored.
import { KEY, cap } from "./own.js";

/** @typedef {import("../marks/sequence.js").Row} Row */
/** @typedef {import("../view/tagging.js").Tagging} Tagging */
/** @typedef {import("./handlers.js").Handler} Handler */

/**
 * @param {Tagging} tagging
 * @returns {Handler[]}
 */
export function logKeys(tagging) {
  const rows = () => tagging.desk.sequence.rows;
  const here = () => rows().findIndex((row) => row.mark.id === tagging.picked);
  const isPicked = () => tagging.desk.sequence.byId.has(tagging.picked);
  const starts = () => tagging.log.groups.filter((group) => group.team).map((group) => group.rows[0]);
  const periods = () => rows().filter((row) => row.before.period !== row.after.period);
  /** @type {(name: keyof typeof KEY, says: string, target: () => Row | undefined, more?: Partial<Handler>) => Handler} */
  const goes = (name, says, target, more = {}) => ({
    keys: [KEY[name]],
    says,
    block: "The log",
    does: () => {
      const row = target();
      if (row) tagging.go(row.mark.id);
      else tagging.tell("nothing further that way");
      tagging.wentOn();
    },
    ...more,
  });
  /** @type {(keys: string[], says: string, act: (id: string) => void, more?: Partial<Handler>) => Handler} */
  const onPicked = (keys, says, act, more = {}) => ({
    keys,
    says,
    block: "The log",
    now: (atHand) => atHand !== "hand" && isPicked(),
    does: () => {
      act(tagging.picked);
      tagging.wentOn();
    },
    ...more,
  });
  return [
    goes("lineBefore", "the mark before", () => (isPicked() ? rows()[here() - 1] : lastBefore(tagging, rows(), true)), STEP),
    goes("nextLine", "the next mark", () => (isPicked() ? rows()[here() + 1] : firstAfter(tagging, rows())), STEP),
    goes("possessionBefore", "the possession before", () => lastBefore(tagging, starts(), false)),
    goes("nextPossession", "the next possession", () => firstAfter(tagging, starts())),
    goes("periodBefore", "the period before", () => lastBefore(tagging, periods(), false)),
    goes("nextPeriod", "the next period", () => firstAfter(tagging, periods())),
    goes("problem", "the next thing to look at", () => nextProblem(tagging)),
    onPicked([KEY.enter], "answer it again", (id) => tagging.answer(id), { now: (atHand) => atHand === "line", cap: "answer it again" }),
    onPicked([KEY.move], "put it on the frame on screen", (id) => tagging.move(id), { cap: "put it on this frame" }),
    onPicked([KEY.earlier], "one frame earlier", (id) => tagging.nudge(id, -1), { cap: "a frame earlier" }),
    onPicked([KEY.later], "one frame later", (id) => tagging.nudge(id, 1), { cap: "a frame later" }),
    {
      keys: [KEY.earlier, KEY.later],
      says: "",
      block: "The log",
      now: () => !isPicked(),
      does: () => {
        tagging.tell(`${cap("lineBefore")} or ${cap("nextLine")} picks a line of the log first`);
        tagging.wentOn();
      },
    },
    onPicked([KEY.strike, KEY.delete], "strike it out, or restore it", (id) => tagging.strike(id), { cap: "strike it out" }),
    onPicked([KEY.leave], "", () => tagging.leaveLog(), { cap: "leave it", harmless: true }),
    {
      keys: [KEY.loop],
      says: "show the last possession over and over",
      block: "The log",
      now: () => !tagging.second.at,
      does: () => {
        loop(tagging);
        tagging.wentOn();
      },
    },
  ];
}

/** @type {Partial<Handler>} */
const STEP = { repeats: true, harmless: true };

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
  const left = tagging.linesToLookAt();
  const at = left.indexOf(tagging.picked);
  const next = left[(at + 1) % (left.length || 1)];
  if (next) tagging.tell(left.length > 1 ? `${at + 1 < left.length ? at + 2 : 1} of ${left.length} lines to look at` : "the only line to look at");
  return byId.get(next);
}

/** @param {Tagging} tagging */
function loop(tagging) {
  const { deck, log } = tagging;
  const now = deck.gameMs;
  const group = log.groups.filter((one) => one.team && one.from <= now).at(-1);
  if (deck.loop) deck.over(null);
  else if (group) deck.over({ from: group.from, to: group.to ?? Math.max(now, group.from + 1000) });
  else tagging.tell("no possession yet");
}
