// From entries to marks as they stand now. The twin of resolve.py: both pass the cases of cases.json. A book is grown
// entry by entry, in whatever order they come, and only the mark that an entry touches is worked out anew.
import { merged } from "./between.js";

/** @typedef {import("./language.js").Answers} Answers */
/**
 * @typedef {{v: number, id: string, n: number, by: string, wall: string, does: string, of?: string, kind?: string,
 *   film?: string, at_ms?: number, answers?: Answers, copied_from?: string, speed?: number}} Entry
 */
/**
 * @typedef {{id: string, n: number, kind: string, by: string, film: string, at_ms: number, answers: Answers,
 *   removed: boolean, copied_from: string}} Mark
 */

/** Who takes back what others entered, when a book is put back to an earlier moment: entries.py has it too. */
export const PUT_BACK = "put back";

/** @type {(one: {n: number, id: string}, other: {n: number, id: string}) => number} */
export const byPlace = (one, other) => one.n - other.n || (one.id < other.id ? -1 : one.id > other.id ? 1 : 0);

/**
 * Put a thing into a sorted list, which it mostly ends.
 * @template T
 * @param {T[]} list
 * @param {T} item
 * @param {(one: T, other: T) => number} compare
 * @returns {number} where it stands now
 */
export function insert(list, item, compare) {
  let lo = list.length;
  if (lo && compare(list[lo - 1], item) > 0) {
    let hi = lo - 1;
    lo = 0;
    while (lo < hi) {
      const middle = (lo + hi) >> 1;
      if (compare(list[middle], item) > 0) hi = middle;
      else lo = middle + 1;
    }
  }
  list.splice(lo, 0, item);
  return lo;
}

/** The entries of one book and the marks they leave standing. */
export class Book {
  /** @param {Iterable<Entry>} [entries] */
  constructor(entries = []) {
    /** @type {Entry[]} in the order of (n, id) */
    this.entries = [];
    /** @type {Map<string, Entry>} */
    this.byId = new Map();
    /** @type {Map<string, Entry[]>} what acts on an id, in order */
    this.acting = new Map();
    for (const entry of entries) this.add(entry);
  }

  /** The n of a next entry. */
  get next() {
    return (this.entries.at(-1)?.n ?? 0) + 1;
  }

  /**
   * @param {Entry} entry
   * @returns {string} id of the mark that it touched; empty when none
   */
  add(entry) {
    if (this.byId.has(entry.id)) return "";
    this.byId.set(entry.id, entry);
    insert(this.entries, entry, byPlace);
    if (entry.of) {
      const acting = this.acting.get(entry.of) ?? [];
      insert(acting, entry, byPlace);
      this.acting.set(entry.of, acting);
    }
    return this.markOf(entry);
  }

  /**
   * Take an entry out that was not taken in on the disk.
   * @param {string} id
   * @returns {string} id of the mark that it touched; empty when none
   */
  drop(id) {
    const entry = this.byId.get(id);
    if (!entry) return "";
    const touched = this.markOf(entry);
    this.byId.delete(id);
    this.entries = this.entries.filter((one) => one !== entry);
    const acting = this.acting.get(entry.of ?? "");
    if (acting) this.acting.set(entry.of ?? "", acting.filter((one) => one !== entry));
    return touched;
  }

  /** Id of the mark that an entry makes or acts on in the end; empty where there is none. @param {Entry | undefined} entry @returns {string} */
  markOf(entry) {
    for (let steps = 0; entry && steps < 10000; steps++) {
      if (entry.does === "mark") return entry.id;
      entry = this.byId.get(entry.of ?? "");
    }
    return "";
  }

  /**
   * Whether an entry is taken back: by an undo of the same person, or by a putting back of the book, that is later than
   * it and not taken back itself.
   * @param {Entry} entry
   * @returns {boolean}
   */
  isVoid(entry) {
    return (this.acting.get(entry.id) ?? []).some(
      (act) =>
        act.does === "undo" &&
        (act.by === entry.by || act.by === PUT_BACK) &&
        byPlace(entry, act) < 0 &&
        !this.isVoid(act),
    );
  }

  /**
   * A mark as it stands; null when its entry is taken back or is no mark.
   * @param {string} id
   * @returns {Mark | null}
   */
  mark(id) {
    const made = this.byId.get(id);
    if (!made || made.does !== "mark" || this.isVoid(made)) return null;
    const mark = {
      id,
      n: made.n,
      kind: made.kind ?? "",
      by: made.by,
      film: made.film ?? "",
      at_ms: made.at_ms ?? 0,
      answers: merged({}, made.answers),
      removed: false,
      copied_from: made.copied_from ?? "",
    };
    for (const entry of this.acting.get(id) ?? []) {
      if (entry.does === "undo" || byPlace(made, entry) > 0 || this.isVoid(entry)) continue;
      if (entry.does === "answer") mark.answers = merged(mark.answers, entry.answers);
      else if (entry.does === "retime") Object.assign(mark, { film: entry.film, at_ms: entry.at_ms });
      else mark.removed = true;
    }
    return mark;
  }

  /** All marks in the order of the entries that made them, removed ones too. @returns {Mark[]} */
  marks() {
    return this.entries.flatMap((entry) => (entry.does === "mark" ? (this.mark(entry.id) ?? []) : []));
  }

  /**
   * The entry that one more take-back of this person reaches.
   * @param {string} by
   * @param {string} [within] id of a mark: only what made it and what acts on it
   * @returns {Entry | null}
   */
  lastToUndo(by, within = "") {
    for (let place = this.entries.length - 1; place >= 0; place--) {
      const entry = this.entries[place];
      const fits = !within || entry.id === within || entry.of === within;
      if (entry.by === by && fits && entry.does !== "undo" && !this.isVoid(entry)) return entry;
    }
    return null;
  }

  /**
   * The take-back that one more redo of this person reverses; null once something new was entered.
   * @param {string} by
   * @returns {Entry | null}
   */
  lastToRedo(by) {
    for (let place = this.entries.length - 1; place >= 0; place--) {
      const entry = this.entries[place];
      if (entry.by !== by) continue;
      if (entry.does !== "undo") {
        if (this.isVoid(entry)) continue;
        return null;
      }
      const target = this.byId.get(entry.of ?? "");
      if (target && target.does !== "undo" && !this.isVoid(entry)) return entry;
    }
    return null;
  }
}
