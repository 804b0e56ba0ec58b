// The tagging desk: a book, the marks in game order, and the hand. Keys and commands go in, entries come out; it knows
// no element of the page and no server.
import { entered } from "./between.js";
import { fits } from "./context.js";
import { options } from "./offers.js";
import { kindThat, questionOf } from "./language.js";
import { Book } from "./resolve.js";
import { Sequence } from "./sequence.js";
import { openHand, press, takenUp } from "./strokes.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./resolve.js").Entry} Entry */
/** @typedef {import("./strokes.js").Hand} Hand */
/** @typedef {import("./strokes.js").Act} Act */
/** @typedef {{film: string, at_ms: number, speed?: number}} Moment `speed`: how fast the film runs, 0 held */
/** @typedef {{newId: () => string, wall: () => string}} Maker */
/** @typedef {Record<string, import("./language.js").Value | import("./language.js").Answers>} Facts */

export class Desk {
  /**
   * @param {Language} language
   * @param {Map<string, number>} offsets film id → game time of its first frame, ms
   * @param {string} by who tags
   * @param {Maker} maker
   */
  constructor(language, offsets, by, maker) {
    this.language = language;
    this.by = by;
    this.maker = maker;
    this.book = new Book();
    this.sequence = new Sequence(language, offsets);
    /** @type {Hand | null} */
    this.hand = null;
    /** @type {Moment | null} the game's first frame, from which a stated question narrows a book that is begun */
    this.beginning = null;
    /** Id of the hand's mark. */
    this.inHand = "";
    /** @type {Hand | null} the hand that the last stroke closed with its last question */
    this.closed = null;
  }

  /**
   * Take in entries made elsewhere: on the disk, in another tab, by another person.
   * @param {Entry[]} entries
   */
  take(entries) {
    const ids = new Set(entries.map((entry) => this.book.add(entry)));
    ids.delete("");
    if (ids.size > 50) this.sequence.fill(this.book.marks());
    else for (const id of ids) this.sequence.put(id, this.book.mark(id));
    if (!this.sequence.byId.has(this.inHand)) this.hand = this.closed = null;
  }

  /**
   * Take out what the server would not take in.
   * @param {string[]} ids of entries
   * @returns {string} the sentence of the first mark that this takes away or changes
   */
  drop(ids) {
    let text = "";
    for (const id of ids) {
      const entry = this.book.byId.get(id);
      text ||= (entry && this.#textOf(entry)) ?? "";
      const touched = this.book.drop(id);
      if (touched) this.sequence.put(touched, this.book.mark(touched));
    }
    if (!this.sequence.byId.has(this.inHand)) this.hand = this.closed = null;
    return text;
  }

  /**
   * Give entries that never came in because of their number the next ones of this book, in the order in which they were made.
   * @param {Entry[]} entries
   * @returns {Entry[]}
   */
  renumbered(entries) {
    let n = this.book.next;
    return [...entries].sort((one, other) => (one.wall < other.wall ? -1 : 1)).map((entry) => ({ ...entry, n: n++ }));
  }

  /**
   * One key stroke.
   * @param {string} stroke
   * @param {Moment} now the frame on screen
   * @param {string} [level] the detail at which it is taken; as tagged when left out
   * @returns {{entries: Entry[], refusal: string, told: string}} `told`: what was taken or brought back
   */
  press(stroke, now, level = "") {
    /** @type {Entry[]} */
    const entries = [];
    let told = "";
    this.hand ??= takenUp(this.language, this.closed, stroke);
    this.closed = null;
    for (;;) {
      const context = level ? { ...this.contextAt(now), level } : this.contextAt(now);
      const { hand, acts, again, refusal, closed } = press(this.language, context, this.hand, stroke);
      const misfit = this.#misfit(acts, now);
      if (misfit) return { entries, refusal: misfit, told: "" };
      let missing = "";
      for (const act of acts) {
        const target = act.does === "undo" ? this.book.lastToUndo(this.by) : act.does === "redo" ? this.book.lastToRedo(this.by) : null;
        const was = target && this.#textOf(target);
        const made = this.#entered(act, now);
        if (target && !hand) told = this.#undone(target, was ?? "", act.does === "redo");
        entries.push(...made);
        if (!made.length) missing = act.does === "redo" ? "nothing to bring back" : "nothing of yours to take back";
      }
      this.hand = hand;
      this.closed = closed ?? null;
      if (!again) return { entries, refusal: refusal || missing, told };
    }
  }

  /** @param {Entry} entry @returns {string} the sentence of its mark as it stands; empty where it does not */
  #textOf(entry) {
    const row = this.sequence.byId.get(this.book.markOf(entry));
    return row && !row.mark.removed ? row.text : "";
  }

  /** What an undo, or a redo, did, in words. @param {Entry} target @param {string} was the mark's sentence before @param {boolean} back */
  #undone(target, was, back) {
    const is = this.#textOf(target);
    const did = back ? "brought back" : "taken back";
    if (!was || !is) return `${did}: ${was || is}`;
    return `${did}; now: ${is}`;
  }

  /**
   * Make a mark with its first answers, and open what is asked of it then.
   * @param {string} kind
   * @param {import("./language.js").Answers} answers
   * @param {Moment} now
   * @returns {Entry[]}
   */
  begin(kind, answers, now) {
    const entries = this.#entered({ does: "mark", kind, answers }, now);
    this.hand = openHand(this.language, this.sequence.byId.get(this.inHand)?.before ?? this.contextAt(now), kind, answers);
    this.closed = null;
    return entries;
  }

  /**
   * Why a mark would not stand where it was meant: another of this frame, of higher rank, goes after it, and before that
   * one it does not fit (a period that begins on the frame on which one ends).
   * @param {Act[]} acts
   * @param {Moment} now
   */
  #misfit(acts, now) {
    const kind = this.language.kinds.get(acts.find((act) => act.does === "mark")?.kind ?? "");
    if (!kind) return "";
    const at = this.sequence.gameTime(now.film, now.at_ms);
    const after = this.sequence.rows.find((row) => row.at === at && row.rank > kind.rank && !row.mark.removed);
    if (!after || fits(kind.needs, after.before)) return "";
    return `${kind.name} would stand before “${after.text}” of this frame: go one frame on first`;
  }

  /** @param {Moment} now */
  contextAt(now) {
    const context = this.sequence.contextAt(this.sequence.gameTime(now.film, now.at_ms));
    return this.narrowsFirst ? { ...context, asked: this.language.data.asked } : context;
  }

  /** Whether the first mark will narrow what is tagged, from the game's beginning on, to what the stated question needs. */
  get narrowsFirst() {
    return this.language.data.asked !== "" && this.beginning !== null && !this.sequence.rows.length;
  }

  /** @param {Moment} now */
  options(now) {
    return options(this.language, this.contextAt(now), this.hand);
  }

  /** The open question, or undefined. */
  get question() {
    return this.hand ? questionOf(this.language, this.hand.kind, this.hand.question) : undefined;
  }

  /**
   * Open the questions of a mark made earlier.
   * @param {string} id
   * @param {string} [question] the first one when left out
   * @returns {boolean} whether it has a question
   */
  reopen(id, question) {
    const row = this.sequence.byId.get(id);
    const kind = row && this.language.kinds.get(row.mark.kind);
    if (!row || !kind || row.mark.removed) return false;
    this.hand = openHand(this.language, row.before, kind.code, row.mark.answers, question, true);
    this.inHand = id;
    return this.hand !== null;
  }

  /** @param {string} id @param {Moment} now @returns {Entry[]} */
  retime(id, now) {
    return this.#entry({ does: "retime", of: id, film: now.film, at_ms: now.at_ms });
  }

  /**
   * Take a mark of another book over into this one, as it stands there.
   * @param {import("./resolve.js").Mark} mark
   * @param {number} speed how fast the film ran when it was made
   * @returns {Entry[]}
   */
  copy({ id, kind, film, at_ms, answers }, speed) {
    return this.#entry({ does: "mark", kind, film, at_ms, answers, copied_from: id, ...(speed ? { speed } : {}) });
  }

  /** @param {string} id @returns {Entry[]} */
  remove(id) {
    return this.#entry({ does: "remove", of: id });
  }

  /**
   * Undo one's own removals of a mark.
   * @param {string} id
   * @returns {Entry[]} empty when somebody else removed it
   */
  restore(id) {
    const removals = (this.book.acting.get(id) ?? []).filter(
      (entry) => entry.does === "remove" && entry.by === this.by && !this.book.isVoid(entry),
    );
    return removals.flatMap((entry) => this.#entry({ does: "undo", of: entry.id }));
  }

  /** @param {Act} act @param {Moment} now @returns {Entry[]} empty where there is nothing to undo or redo */
  #entered(act, now) {
    if (act.does === "mark") {
      const before = act.kind === kindThat(this.language, "detail")?.code ? [] : this.#narrowed();
      /** @type {Facts} */
      const facts = { does: "mark", kind: act.kind, film: now.film, at_ms: now.at_ms, answers: act.answers };
      if (now.speed) facts.speed = now.speed;
      const made = this.#entry(facts);
      this.inHand = made[0].id;
      return [...before, ...made];
    }
    if (act.does === "answer") {
      const kind = this.sequence.byId.get(this.inHand)?.mark.kind ?? "";
      const choice = questionOf(this.language, kind, act.question)?.choices?.find((one) => one.code === act.value);
      const answers = { ...entered(questionOf(this.language, kind, act.question), act.question, act.value), ...choice?.with };
      return this.#entry({ does: "answer", of: this.inHand, answers });
    }
    const own = this.hand ? this.inHand : ""; // in a question: its answer, whatever another tab entered since
    const target = act.does === "undo" ? this.book.lastToUndo(this.by, own) : this.book.lastToRedo(this.by);
    return target ? this.#entry({ does: "undo", of: target.id }) : [];
  }

  /** What a stated question narrows is written down before a book's first mark. @returns {Entry[]} */
  #narrowed() {
    const kind = kindThat(this.language, "detail")?.code;
    if (!this.narrowsFirst || !this.beginning || !kind) return [];
    const answers = { level: "question", asked: this.language.data.asked };
    return this.#entry({ does: "mark", kind, film: this.beginning.film, at_ms: this.beginning.at_ms, answers });
  }

  /** @param {Facts} facts @returns {Entry[]} */
  #entry(facts) {
    const { newId, wall } = this.maker;
    const common = { v: 1, id: newId(), n: this.book.next, by: this.by, wall: wall() };
    const entry = /** @type {Entry} */ (/** @type {unknown} */ ({ ...common, ...facts }));
    this.take([entry]);
    return [entry];
  }
}
