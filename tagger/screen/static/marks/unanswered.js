// What of the server's list for the second look is still open in the marks as they stand here, and which moment of a run an
// answer belongs to. Pure.
import { twoOf } from "./between.js";
import { begins } from "./groups.js";
import { doesOf } from "./language.js";

/** @typedef {import("./folded.js").Unanswered} Unanswered */
/** @typedef {{film: string, at_ms: number, speed: number}} Moment */
/** @typedef {import("./sequence.js").Row} Row */
/** @typedef {import("./sequence.js").Sequence} Sequence */

/**
 * Whether a thing is unanswered.
 * @param {Sequence} sequence
 * @param {Unanswered} thing
 * @param {{blind: boolean, seen: (name: string) => boolean, now: number}} round `seen`: what was shown and is answered by that; `now`: game ms
 */
export function isOpen(sequence, thing, { blind, seen, now }) {
  const { of, question, kind } = thing;
  const mark = sequence.byId.get(of)?.mark;
  if (!mark || mark.removed || now < thing.later_ms) return false;
  if (question) return !(question in mark.answers) || twoOf(mark.answers, question).length > 0;
  if (!kind) return !seen(seenAs(thing));
  return (blind || doesOf(sequence.language, kind) !== "grade") && !isSaid(sequence, of, kind);
}

/** What is done once seen, by this name. @param {{of: string, why: string}} thing */
export const seenAs = ({ of, why }) => `${of} ${why}`;

/**
 * The moment at which a run is named: in the run, wherever the film is in its loop.
 * @param {Sequence} sequence
 * @param {Unanswered} thing
 * @param {Moment} now
 * @returns {Moment}
 */
export function momentInRun(sequence, { start_ms, decisive_ms }, now) {
  const at = sequence.gameTime(now.film, now.at_ms);
  if (start_ms <= at && at < decisive_ms) return now;
  const inside = sequence.rows.filter((row) => start_ms <= row.at && row.at < decisive_ms && !row.mark.removed).at(-1);
  return inside ? { film: inside.mark.film, at_ms: inside.mark.at_ms, speed: 0 } : now;
}

/** Whether a mark of a kind was made on a run since the fold was last told. @param {Sequence} sequence @param {string} of its set mark @param {string} kind */
function isSaid({ rows, byId, language }, of, kind) {
  const set = byId.get(of);
  if (!set || doesOf(language, set.mark.kind) !== "set") return false;
  const does = doesOf(language, kind);
  for (let place = rows.indexOf(set) + 1; place < rows.length; place++) {
    const { mark } = rows[place];
    if (mark.kind === kind && !mark.removed && (!does || does in mark.answers)) return true;
    if (["set", "possession"].includes(doesOf(language, mark.kind) ?? "") || begins(language, rows[place])) return false;
  }
  return false;
}

/**
 * The moment at which a look or a grade of a run is marked, wherever the film is in its loop: after the set was named and
 * inside the run. A set names its run backwards, so before its mark the set at hand is still the one before; and where it
 * flowed into the next, that one's mark stands at its end.
 * @param {Sequence} sequence
 * @param {Unanswered} thing
 * @param {Moment} now
 * @returns {Moment}
 */
export function momentOfRun(sequence, { of, start_ms, decisive_ms }, now) {
  const held = { ...now, speed: 0 }; // nobody reacts here: what is said is of the whole run
  const { rows, language } = sequence;
  const isSet = (/** @type {Row | undefined} */ row) => doesOf(language, row?.mark.kind ?? "") === "set" && !row?.mark.removed;
  const own = sequence.byId.get(of);
  const named = isSet(own) ? own : rows.find((row) => isSet(row) && start_ms <= row.at && row.at <= decisive_ms);
  if (!named) return held;
  const inside = rows.slice(rows.indexOf(named) + 1, sequence.countBy(decisive_ms));
  const next = inside.find((row) => isSet(row) || doesOf(language, row.mark.kind) === "possession" || begins(language, row));
  const at = sequence.gameTime(held.film, held.at_ms);
  if (named.at <= at && (next ? at < next.at : at <= decisive_ms)) return held;
  const { mark } = inside.filter((row) => row.at < (next?.at ?? decisive_ms)).at(-1) ?? named; // so that the log tells it before the end
  return { ...held, film: mark.film, at_ms: mark.at_ms };
}
