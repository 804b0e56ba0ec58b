// Game time as period and clock, and back; the strength in words. From what the server's fold sees; pure.

/** @typedef {import("./folded.js").Folded} Folded */
/** @typedef {{ms: number} | {period: number, left: number}} Place */

/**
 * The period at a game time and the seconds left in it, null where the film does not give them.
 * @param {Folded} folded
 * @param {number} ms
 * @returns {{period: number, left: number | null} | null} null between periods
 */
export function clockAt(folded, ms) {
  const period = folded.periods.find(([, start, end]) => start <= ms && (end === null || ms <= end));
  if (!period) return null;
  const told = readings(folded, period);
  const place = countBy(told, ms) - 1;
  if (place < 0) return { period: period[0], left: null };
  const [at, left] = told[place];
  const next = told[place + 1];
  if (!next) return { period: period[0], left: at === ms ? left : null };
  const share = (ms - at) / Math.max(1, next[0] - at);
  return { period: period[0], left: Math.round(left + (next[1] - left) * share) };
}

/** @type {WeakMap<object, [number, number][]>} a period's readings, looked for once: the log asks for every line */
const KNOWN = new WeakMap();

/** @param {Folded} folded @param {[number, number, number | null]} period */
function readings(folded, period) {
  const [, start, end] = period;
  const held = KNOWN.get(period) ?? folded.clock.filter(([at]) => at >= start && (end === null || at <= end));
  KNOWN.set(period, held);
  return held;
}

/** How many readings stand at or before a game time. @param {[number, number][]} told @param {number} ms */
function countBy(told, ms) {
  let lo = 0;
  let hi = told.length;
  while (lo < hi) {
    const middle = (lo + hi) >> 1;
    if (told[middle][0] > ms) hi = middle;
    else lo = middle + 1;
  }
  return lo;
}

/**
 * The strength at a game time, as people say it.
 * @param {Folded} folded
 * @param {number} ms
 */
export function strengthAt(folded, ms) {
  const [, team, code] = folded.strength.filter(([from]) => from <= ms).at(-1) ?? [];
  const found = /^(\d)(e?)v(\d)(e?)$/.exec(code ?? "");
  if (!found) return "";
  const [first, firstEmpty, second, secondEmpty] = found.slice(1);
  const us = team === "theirs" ? [second, secondEmpty] : [first, firstEmpty];
  const them = team === "theirs" ? [first, firstEmpty] : [second, secondEmpty];
  const more = Number(us[0]) - Number(them[0]);
  const who = more === 0 ? "even" : `${more > 0 ? "we have" : "they have"} ${Math.abs(more) === 1 ? "one" : "two"} more`;
  const nets = us[1] ? "our net empty" : them[1] ? "their net empty" : "both nets covered";
  return `${who}${us[0] + them[0] === "55" ? "" : `, ${us[0]} against ${them[0]}`}, ${nets}`;
}

/**
 * A place as a person types it: film time ("23:41", "1:02:09", "2341"), or a period and what its clock says ("2 11:42").
 * @param {string} text
 * @returns {Place | null}
 */
export function readPlace(text) {
  const inPeriod = /^([1-9])[\s/]+(\d{1,2}):(\d\d)$/.exec(text.trim());
  if (inPeriod) return { period: Number(inPeriod[1]), left: Number(inPeriod[2]) * 60 + Number(inPeriod[3]) };
  const plain = /^\d{1,6}$/.exec(text.trim());
  const parts = plain
    ? [plain[0].slice(0, -4), plain[0].slice(-4, -2), plain[0].slice(-2)].map(Number)
    : /^(?:\d{1,2}:)?\d{1,3}:\d\d(?:\.\d{1,3})?$/.test(text.trim()) && text.trim().split(":").map(Number);
  return parts ? { ms: Math.round(parts.reduce((sum, part) => sum * 60 + part, 0) * 1000) } : null;
}

/**
 * Game time of a place; null where the clock is not known there.
 * @param {Folded} folded
 * @param {Place} place
 */
export function timeOf(folded, place) {
  if ("ms" in place) return place.ms;
  const period = folded.periods.find(([number]) => number === place.period);
  if (!period) return null;
  const told = readings(folded, period);
  for (let at = 0; at + 1 < told.length; at++) {
    const [[from, before], [to, after]] = [told[at], told[at + 1]];
    if (before >= place.left && place.left >= after && before !== after) {
      return Math.round(from + ((before - place.left) / (before - after)) * (to - from));
    }
  }
  return told.find(([, left]) => left === place.left)?.[0] ?? null;
}
