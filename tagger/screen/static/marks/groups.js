// The marks of a game as possessions: what stands in the log together, and what the line of time draws.
import { holds } from "./context.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./sequence.js").Row} Row */
/**
 * `start`: place of its first row; `to`: game ms where it ended, null while it goes on; `score`: where it changed;
 * `before`: the score when it began.
 * @typedef {{team: string, start: number, rows: Row[], lines: Row[][], from: number, to: number | null, shape: string,
 *   score: Score | null, before: Score}} Group
 */
/** @typedef {[number, number]} Score goals, ours and theirs */

/**
 * @param {Language} language
 * @param {Row[]} rows in order
 * @param {Group[]} [old] groups as they were
 * @param {number} [from] the first place whose row may differ from then
 * @returns {Group[]} old ones where nothing about them can have changed
 */
export function groups(language, rows, old = [], from = 0) {
  const found = keptOf(old, from);
  const begin = old[found.length]?.start ?? 0;
  /** @type {Group | undefined} */
  let group;
  let ended = true;
  let score = /** @type {Score} */ (found.length ? [...old[found.length].before] : [0, 0]);
  for (let place = begin; place < rows.length; place++) {
    const row = rows[place];
    const kind = language.kinds.get(row.mark.kind);
    const again = kind?.does === "possession" && group?.rows.length === 1 && begins(language, group.rows[0]) && row.after.ball === group.team;
    const opens = (kind?.log === "opens" || begins(language, row)) && !again && !row.mark.removed;
    if (!group || opens) {
      if (group && group.to === null) group.to = row.at;
      group = { team: opens ? teamOf(row) : "", start: place, rows: [], lines: [], from: row.at, to: null, shape: "", score: null, before: score };
      found.push(group);
      ended = true;
    }
    group.rows.push(row);
    if (ended || opens) group.lines.push([row]);
    else group.lines[group.lines.length - 1].push(row);
    ended = kind?.log === "ends" || opens;
    const ending = row.mark.removed ? undefined : endingOf(language, row);
    if (ending === undefined) continue;
    const shape = ending?.shape ?? "";
    if (kind?.does === "period_end") endLast(found, shape);
    else if (row.before.ball !== "none" || !group.shape) group.shape = shape;
    if (ending?.scores && group.team) {
      score = group.team === "ours" ? [score[0] + 1, score[1]] : [score[0], score[1] + 1];
      group.score = score;
    }
    if (row.after.ball === "none" && row.before.ball !== "none") group.to = row.at;
  }
  return found;
}

/**
 * Groups that end well before a place: the last one before it may still get its end from what comes after.
 * @param {Group[]} old
 * @param {number} from
 */
function keptOf(old, from) {
  let n = old.length;
  while (n > 0 && old[n - 1].start >= from) n--;
  return old.slice(0, Math.max(0, n - 2));
}

/** @param {Row} row of a mark that opens a group */
function teamOf({ mark, before, after }) {
  const { ball } = after;
  return ball !== "none" && (ball !== before.ball || "team" in mark.answers) ? ball : "";
}

/** What a possession that has ended ended with. @param {Language} language @param {Group} group */
export function endOf(language, group) {
  return group.to === null ? undefined : language.data.shapes.find((one) => one.code === group.shape);
}

/** The period's end ends the possession before it. @param {Group[]} found @param {string} shape */
function endLast(found, shape) {
  const last = found.at(-2);
  if (last?.team && !last.shape) last.shape = shape;
}

/**
 * Whether a mark of another kind begins a possession.
 * @param {Language} language
 * @param {Row} row
 */
export function begins(language, { mark, before, after }) {
  const said = language.kinds.get(mark.kind)?.begins_possession?.some((one) => holds(one.when ?? {}, mark.answers, before));
  return Boolean(said) && after.ball !== before.ball && !mark.removed;
}

/**
 * How a possession ends with a mark; null where it goes on, undefined where the mark says nothing of it.
 * @param {Language} language
 * @param {Row} row
 */
export function endingOf(language, { mark, before }) {
  const said = language.kinds.get(mark.kind)?.ends_possession?.find((one) => holds(one.when ?? {}, mark.answers, before));
  return said && (language.endings.get(said.ended) ?? null);
}
