// The marks of a game in the order of game time, each with what was known before it and after it, and its sentence.
// A change works out anew only what comes after it, and stops where nothing differs any more.
import { after, same, start } from "./context.js";
import { insert } from "./resolve.js";
import { sentence } from "./sentences.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./language.js").Context} Context */
/** @typedef {import("./resolve.js").Mark} Mark */
/**
 * A row is never changed, only replaced: who draws it can compare by identity.
 * @typedef {{mark: Mark, at: number, rank: number, before: Context, after: Context, text: string}} Row
 */

/** @type {(one: Row, other: Row) => number} */
const inOrder = (one, other) =>
  one.at - other.at ||
  one.rank - other.rank ||
  one.mark.n - other.mark.n ||
  (one.mark.id < other.mark.id ? -1 : one.mark.id > other.mark.id ? 1 : 0);

export class Sequence {
  /**
   * @param {Language} language
   * @param {Map<string, number>} offsets film id → game time of its first frame, ms
   */
  constructor(language, offsets) {
    this.language = language;
    this.offsets = offsets;
    /** @type {Row[]} */
    this.rows = [];
    /** @type {Map<string, Row>} */
    this.byId = new Map();
    this.beginning = start(language);
    /** Rows before this place are as they were when `changedFrom` was last called. */
    this.fresh = 0;
  }

  /** How many marks stand; those struck out are none. */
  get count() {
    return this.rows.reduce((n, row) => n + (row.mark.removed ? 0 : 1), 0);
  }

  /** The first place whose row may differ since this was last called. */
  changedFrom() {
    const { fresh } = this;
    this.fresh = this.rows.length;
    return fresh;
  }

  /**
   * Game time of a moment in a film, ms.
   * @param {string} film
   * @param {number} atMs
   */
  gameTime(film, atMs) {
    return (this.offsets.get(film) ?? 0) + atMs;
  }

  /**
   * Take in many marks at once.
   * @param {Mark[]} marks
   */
  fill(marks) {
    this.rows = marks.map((mark) => this.#row(mark)).sort(inOrder);
    this.byId = new Map(this.rows.map((row) => [row.mark.id, row]));
    this.#work(0, this.rows.length);
  }

  /**
   * Take in a mark as it stands now; null takes it out.
   * @param {string} id
   * @param {Mark | null} mark
   */
  put(id, mark) {
    let from = this.rows.length;
    let upto = 0;
    const old = this.byId.get(id);
    if (old) {
      from = this.rows.indexOf(old);
      this.rows.splice(from, 1);
      this.byId.delete(id);
      upto = from + 1;
    }
    if (mark) {
      const place = insert(this.rows, this.#row(mark), inOrder);
      from = Math.min(from, place);
      upto = Math.max(upto, place + 1);
    }
    this.#work(from, upto);
  }

  /**
   * What is known at a game time, all marks up to and at it counted.
   * @param {number} at game time, ms
   * @returns {Context}
   */
  contextAt(at) {
    return this.lastBy(at)?.after ?? this.beginning;
  }

  /**
   * The last row at or before a game time.
   * @param {number} at game time, ms
   * @returns {Row | undefined}
   */
  lastBy(at) {
    return this.rows[this.countBy(at) - 1];
  }

  /**
   * How many rows stand at or before a game time.
   * @param {number} at game time, ms
   */
  countBy(at) {
    let lo = 0;
    let hi = this.rows.length;
    while (lo < hi) {
      const middle = (lo + hi) >> 1;
      if (this.rows[middle].at > at) hi = middle;
      else lo = middle + 1;
    }
    return lo;
  }

  /** @param {Mark} mark @returns {Row} */
  #row(mark) {
    const rank = this.language.kinds.get(mark.kind)?.rank ?? this.language.data.rank;
    const at = this.gameTime(mark.film, mark.at_ms);
    return { mark, at, rank, before: this.beginning, after: this.beginning, text: "" };
  }

  /**
   * @param {number} from first place that may differ
   * @param {number} upto places before it differ for sure
   */
  #work(from, upto) {
    this.fresh = Math.min(this.fresh, from);
    let context = this.rows[from - 1]?.after ?? this.beginning;
    for (let place = from; place < this.rows.length; place++) {
      const row = this.rows[place];
      if (place >= upto && same(row.before, context)) return;
      const { kind, answers, removed } = row.mark;
      const next = removed ? context : after(this.language, context, kind, answers);
      const text = sentence(this.language, kind, answers, context);
      this.rows[place] = { ...row, before: context, after: next, text };
      this.byId.set(row.mark.id, this.rows[place]);
      context = next;
    }
  }
}
