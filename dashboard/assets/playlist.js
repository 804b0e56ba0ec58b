// Which piece of which film comes next. Pure: no page, no film.

/** @typedef {{film: string, start_s: number, end_s: number}} Piece */
/**
 * `shape`, `ended`: how it ended, as a shape of the legend and its word, empty where that is not known; `what`: empty where nothing may
 * be said; `screen`: of a run, in which piece its first screen is, and where in that film; `game`, `at_ms`: where the tagging page shows it.
 * @typedef {{id: string, table: string, label: string, shape: string, ended: string, opponent: string, clock: string, what: string,
 *   game: string, at_ms: number, pieces: Piece[], screen?: {piece: number, at_s: number}}} Clip
 */
/** @typedef {{n: number, clips: Clip[], away: string[], gone: number, kept_back: number, film: boolean, tag: boolean,
 *   season: string}} Answer */
/** @typedef {{clip: number, piece: number}} Spot */

/** @param {Clip} clip */
export function lengthOf(clip) {
  return clip.pieces.reduce((sum, piece) => sum + piece.end_s - piece.start_s, 0);
}

/** A length as people read it: 0:14. @param {number} seconds */
export function minutes(seconds) {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** The piece after one, or null at the end of all. @param {Clip[]} clips @param {Spot} at @returns {Spot | null} */
export function after(clips, at) {
  if (at.piece + 1 < clips[at.clip].pieces.length) return { clip: at.clip, piece: at.piece + 1 };
  return at.clip + 1 < clips.length ? { clip: at.clip + 1, piece: 0 } : null;
}

/** How many have film, in words: "12 of 20 have film". @param {Answer} answer */
export function filmWords(answer) {
  const { n, clips, kept_back } = answer;
  if (n === 0 && kept_back > 0) return "nothing to show on this device";
  const have = n === 1 ? "has" : "have";
  return clips.length === 0 ? `none of ${n} ${have} film` : `${clips.length} of ${n} ${have} film`;
}

/** What stays on the laptop, in words; empty where nothing does. @param {Answer} answer */
export function keptWords({ kept_back, film }) {
  if (!film) return " Film stays on the laptop.";
  if (!kept_back) return "";
  return ` ${kept_back} ${kept_back === 1 ? "clip stays" : "clips stay"} on the laptop: somebody marked there has no consent.`;
}
