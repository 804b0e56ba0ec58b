// What the server's fold says of a book, as it comes to the page (`folded.py`): problems, the clock, the strength, what is unanswered.

/** @typedef {{code: string, text: string, of: string, at_ms: number | null}} Problem */
/**
 * A thing for the second look (`unanswered.py`): answered by a question of the mark itself, or by a mark of a `kind`; else it is
 * done once seen. `later_ms`: it counts only where the film is beyond that game time.
 * @typedef {{of: string, why: string, question: string, kind: string, stars: string[], later_ms: number, start_ms: number, from_ms: number,
 *   to_ms: number, decisive_ms: number}} Unanswered
 */
/**
 * What the server's fold sees in the book: `periods` are [number, start, end], `clock` [game ms, seconds left],
 * `strength` [game ms, team, strength].
 * @typedef {{problems: Problem[], periods: [number, number, number | null][], clock: [number, number][],
 *   strength: [number, string, string | null][], unanswered: Unanswered[]}} Folded
 */

/** Of a book that nobody has folded yet. @type {Folded} */
export const UNFOLDED = { problems: [], periods: [], clock: [], strength: [], unanswered: [] };
