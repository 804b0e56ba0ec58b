// The marks of a game as possessions: what stands in the log together, and what the slim strip draws.
import { holds } from "./context.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./sequence.js").Row} Row */
/**
 * @typedef {{team: string, rows: Row[], lines: Row[][], from: number, to: number | null, shape: string,
 *   score: [number, number] | null}} Group `to`: game ms where it ended, null while it goes on; `score` where it changed
 */

export const GOAL = "dot";

/**
 * @param {Language} language
 * @param {Row[]} rows in order
 * @returns {Group[]}
 */
export function groups(language, rows) {
  /** @type {Group[]} */
  const found = [];
  /** @type {Group | undefined} */
  let group;
  let ended = true;
  /** @type {[number, number]} */
  const score = [0, 0];
  for (const row of rows) {
    const kind = language.kinds.get(row.mark.kind);
    const opens = kind?.log === "opens" && !row.mark.removed;
    if (!group || opens) {
      if (group && group.to === null) group.to = row.at;
      const ball = row.after.ball;
      const team = opens && ball !== row.before.ball && ball !== "none" ? ball : opens && "team" in row.mark.answers ? ball : "";
      group = { team, rows: [], lines: [], from: row.at, to: null, shape: "", score: null };
      found.push(group);
      ended = true;
    }
    group.rows.push(row);
    if (ended || kind?.log === "opens") group.lines.push([row]);
    else group.lines[group.lines.length - 1].push(row);
    ended = kind?.log === "ends" || kind?.log === "opens";
    if (row.mark.removed) continue;
    const shape = shapeOf(language, row);
    if (!shape) continue;
    if (shape === "bar") {
      const last = found.at(-2);
      if (last && last.team && !last.shape) last.shape = shape;
    } else group.shape = shape;
    if (shape === GOAL && group.team) {
      score[group.team === "ours" ? 0 : 1] += 1;
      group.score = [score[0], score[1]];
    }
    if (row.after.ball === "none" && row.before.ball !== "none") group.to = row.at;
  }
  return found;
}

/**
 * @param {Language} language
 * @param {Row} row
 */
export function shapeOf(language, { mark, before }) {
  const shapes = language.kinds.get(mark.kind)?.shapes ?? [];
  return shapes.find((one) => holds(one.when ?? {}, mark.answers, before))?.shape ?? "";
}
