// What is known of the film itself, as a thin band under the line of time: where there is film, where it is damaged,
// black or standing still, and where a new view begins. Quiet; the words come when the pointer rests on it.
import { ask } from "../outbox/server.js";
import { clock } from "./dom.js";

/** @typedef {import("../film/onscreen.js").Film} Film */
/** @typedef {{ready: boolean, black: [number, number][], standing: [number, number][], cuts: number[]}} Found film ms */
/** @typedef {{kind: string, from: number, to: number, text: string}} Stretch game ms */

const HIGH = 4;
const MOST_CUTS = 300; // more are a pattern, not cuts

export class Band {
  constructor() {
    /** @type {Stretch[]} */
    this.stretches = [];
    /** @type {Map<string, Found>} */
    this.found = new Map();
  }

  /** Ask for what is not known yet of some films, then lay all out. @param {Film[]} films */
  async take(films) {
    for (const film of films.filter((one) => one.n_frames > 0 && !this.found.get(one.id)?.ready)) {
      const found = await ask(`/film/${encodeURIComponent(film.id)}/strip.json`).catch(() => null);
      if (found) this.found.set(film.id, found);
    }
    this.stretches = films.flatMap((film) => this.#of(film));
  }

  /** @param {Film} film @returns {Stretch[]} */
  #of(film) {
    const { offset_ms: at, duration_ms: length } = film;
    const found = this.found.get(film.id);
    const span = (/** @type {string} */ kind, /** @type {string} */ text) => (/** @type {[number, number]} */ [from, to]) => ({
      kind, from: at + from, to: at + to, text: `${text}, ${clock(at + from)} to ${clock(at + to)}`,
    });
    const cuts = found && found.cuts.length <= MOST_CUTS ? found.cuts : [];
    return [
      { kind: "film", from: at, to: at + length, text: "" },
      ...(found?.standing ?? []).map(span("standing", "the picture stands still")),
      ...(found?.black ?? []).map(span("black", "black picture")),
      ...cuts.map((cut) => ({ kind: "cut", from: at + cut, to: at + cut, text: `a new view at ${clock(at + cut)}` })),
      ...film.damage.map((one) => ({ kind: "damage", from: at + one.start_ms, to: at + one.end_ms, text: `damaged: ${one.line}` })),
    ];
  }

  /** What to say of a moment. @param {number} ms game ms @param {number} near ms */
  say(ms, near) {
    const here = this.stretches.filter((one) => one.text && one.from - near <= ms && ms <= one.to + near);
    return here.at(-1)?.text ?? "";
  }

  /**
   * @param {CanvasRenderingContext2D} brush
   * @param {(ms: number) => number} x
   * @param {(name: string) => string} colour
   * @param {number} y px, its upper edge
   */
  paint(brush, x, colour, y) {
    for (const { kind, from, to } of this.stretches) {
      const left = x(from);
      const wide = Math.max(kind === "cut" ? 1 : 2, x(to) - left);
      brush.fillStyle = colour({ film: "line", damage: "gold", cut: "soft" }[kind] ?? "faint");
      if (kind === "film") brush.fillRect(left, y + HIGH - 1, wide, 1);
      else if (kind === "standing") for (let at = 0; at < wide; at += 4) brush.fillRect(left + at, y, Math.min(2, wide - at), HIGH);
      else brush.fillRect(left, y, wide, HIGH);
    }
  }
}
