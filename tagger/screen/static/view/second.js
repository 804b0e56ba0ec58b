// The second look: by key from one thing worth asking to the next, with the last seconds before its decisive moment over
// and over. An answer leads on by itself. Blind, for grading, runs are shown whole but only up to that moment, so that the
// grade of the work is not coloured by the goal, and nothing leads on before one says so.
// Only the last four seconds are shown: seeing whole runs took half an excerpt's length; a key shows the whole run. What is
// missing is asked at once (a look by its digit, the mark made with its answer) and stands inside the run wherever the film
// is. Grades are taken here at any detail: to go to full detail for them would claim that all else was looked for.
import { doesOf, kindThat } from "../marks/language.js";
import { isTagged, options } from "../marks/offers.js";
import { openHand } from "../marks/strokes.js";

/** @typedef {import("../marks/folded.js").Unanswered} Unanswered */
/** @typedef {import("../film/deck.js").Moment} Moment */
/** @typedef {import("../marks/strokes.js").Hand} Hand */
/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("../marks/sequence.js").Row} Row */
/** @typedef {import("./tagging.js").Tagging} Tagging */

const NEAR_MS = 6000; // so far from its stretch may the film be put by hand while a thing is looked at

export class SecondLook {
  /** @param {Tagging} tagging */
  constructor(tagging) {
    this.tagging = tagging;
    /** @type {Unanswered | null} what is being looked at */
    this.at = null;
    this.blind = false;
    /** Whether a run is shown from its beginning. */
    this.whole = false;
    /** @type {Set<string>} starred marks that were looked at: nothing of them stays open */
    this.visited = new Set();
    /** @type {Set<string>} what this round led to, so that what was skipped comes with the next round */
    this.passed = new Set();
    /** @type {Unanswered | null} what the last stroke answered and led on from: taken back, it is looked at again */
    this.answered = null;
  }

  /** What is still unanswered, in order of game time. @returns {Unanswered[]} */
  left() {
    return this.tagging.folded.unanswered.filter((one) => this.#isLeft(one));
  }

  /** @param {Unanswered} thing */
  #isLeft({ of, question, kind }) {
    const mark = this.tagging.desk.sequence.byId.get(of)?.mark;
    if (!mark || mark.removed) return false;
    if (question) return !(question in mark.answers);
    if (!kind) return !this.visited.has(of);
    return (this.blind || this.#does(kind) !== "grade") && !this.#said(of, kind);
  }

  /** @param {string} kind */
  #does(kind) {
    return doesOf(this.tagging.desk.language, kind);
  }

  /** Whether a mark of a kind was made on a run since the fold was last seen. @param {string} of its set mark @param {string} kind */
  #said(of, kind) {
    const { rows, byId } = this.tagging.desk.sequence;
    const set = byId.get(of);
    if (!set || this.#does(set.mark.kind) !== "set") return false;
    const does = this.#does(kind);
    for (let place = rows.indexOf(set) + 1; place < rows.length; place++) {
      const { mark } = rows[place];
      if (mark.kind === kind && !mark.removed && (!does || does in mark.answers)) return true;
      if (["set", "possession"].includes(this.#does(mark.kind) ?? "")) return false;
    }
    return false;
  }

  /** @returns {true} */
  next() {
    const { tagging } = this;
    const left = this.left();
    const here = this.at?.start_ms ?? 0;
    const next = left.find((one) => one.start_ms >= here && !this.passed.has(nameOf(one)));
    if (next) this.#open(next, left.length);
    else {
      tagging.desk.hand = null;
      this.leave();
      this.passed.clear();
      tagging.tell(left.length ? `that was the last; ${left.length} left, ⇧W begins again` : "nothing left that is worth a second look");
    }
    return true;
  }

  /** What is looked at is left alone. */
  leave() {
    if (!this.at) return;
    this.at = this.answered = null;
    this.tagging.picked = "";
    this.tagging.deck.hold();
  }

  /** @param {Unanswered} thing @param {number} n how many are left */
  #open(thing, n) {
    const { tagging } = this;
    const there = this.at?.start_ms === thing.start_ms && this.at.decisive_ms === thing.decisive_ms && tagging.deck.loop;
    this.at = thing;
    this.passed.add(nameOf(thing));
    tagging.picked = thing.of;
    if (thing.question) tagging.desk.reopen(thing.of, thing.question);
    else tagging.desk.hand = null;
    if (!there) {
      this.whole = false;
      this.#show();
    }
    for (const star of [...thing.stars, ...(thing.question || thing.kind ? [] : [thing.of])]) this.visited.add(star);
    const why = thing.stars.length && thing.why !== STARRED ? `${STARRED}: ${thing.why}` : thing.why;
    tagging.tell(`${why}${why.endsWith("?") ? "" : ","} ${n} left`);
  }

  /** @returns {true} */
  turnBlind() {
    this.blind = !this.blind;
    this.tagging.tell(this.blind ? "blind: runs are shown whole, up to their decisive moment" : "the last seconds are shown, and what came of them");
    if (this.at) this.#show();
    return true;
  }

  /** From the run's beginning, or only its last seconds. @returns {true} */
  turnWhole() {
    this.whole = !this.whole;
    this.tagging.tell(this.whole ? "the whole run" : "the last seconds");
    this.#show();
    return true;
  }

  /** What the strip asks about a mark. @param {string} id */
  asks(id) {
    return this.at?.of === id && !this.at.question && this.#isLeft(this.at) ? this.at.why : "";
  }

  /** The kind of mark that would answer what is being looked at; empty where a question is open, or it is answered. */
  get asksFor() {
    return this.at?.kind && this.#isLeft(this.at) ? this.at.kind : "";
  }

  /**
   * The questions of the mark that would answer what is being looked at, open before it is made: its first answer makes it.
   * @returns {Hand | null}
   */
  get waiting() {
    const { desk } = this.tagging;
    if (desk.hand || this.#does(this.asksFor) !== "look") return null;
    return openHand(desk.language, desk.contextAt(this.#moment(this.tagging.deck.now)), this.asksFor, {});
  }

  /** What stands before the open question of a second look. @param {Hand} hand */
  lead(hand) {
    return this.at && (hand === this.tagging.desk.hand ? hand.old && this.tagging.desk.inHand === this.at.of : true) ? "Second look. " : "";
  }

  /**
   * A stroke that means something else in a second look; null where it is none.
   * @param {string} stroke
   * @returns {{entries: Entry[], refusal: string, told: string} | null}
   */
  press(stroke) {
    const { desk, deck } = this.tagging;
    if (!this.at) return null;
    const { answered } = this;
    this.answered = null;
    if (stroke === "Backspace" && answered && !desk.hand?.typed && !desk.hand?.said.length) {
      this.passed.delete(nameOf(this.at));
      desk.hand = desk.closed = null;
      const done = desk.press(stroke, deck.now);
      this.#open(answered, this.left().length);
      return { ...done, told: "" }; // what is asked again says it
    }
    const { waiting } = this;
    if (!waiting) return null;
    if (stroke.endsWith("Enter")) return { entries: [], refusal: "", told: "" }; // skipped: `after` leads on
    const answer = options(desk.language, waiting.context, waiting).find((one) => one.key === stroke);
    if (answer) return { entries: desk.begin(waiting.kind, { [waiting.question]: answer.code }, this.#moment(deck.now)), refusal: "", told: "" };
    return /^\d$/.test(stroke) ? { entries: [], refusal: `the list has no ${stroke}; ↵ goes on`, told: "" } : null;
  }

  /**
   * The moment of a look or a grade given in the second look: after the set was named and inside the run, wherever the film
   * is in its loop.
   * @param {string} stroke
   * @param {Moment} now
   * @returns {Moment}
   */
  within(stroke, now) {
    return this.at && this.#ofRun(stroke) ? this.#moment(now) : now;
  }

  /** The detail at which a stroke is taken: in a second look a run is also graded where a first pass leaves grades out. @param {string} stroke */
  level(stroke) {
    const { desk, deck } = this.tagging;
    const kind = this.at && !desk.hand ? this.#ofRun(stroke) : undefined;
    return kind && !isTagged(desk.language, desk.contextAt(deck.now), kind) ? kind.level : "";
  }

  /** What can be pressed besides the answers: a grade where runs are graded. @returns {import("./caps.js").Cap[]} */
  caps() {
    const grade = kindThat(this.tagging.desk.language, "grade");
    if (!grade || !this.at?.kind || !(this.blind || this.at.kind === grade.code)) return [];
    return grade.keys.map(({ key, name }) => ({ key, name, offer: this.asksFor === grade.code }));
  }

  /** The kind that a stroke marks, where it is of a run. @param {string} stroke */
  #ofRun(stroke) {
    return this.tagging.desk.language.keys.get(stroke)?.find(({ kind }) => kind.run === "of_set")?.kind;
  }

  /**
   * A set names its run backwards, so before its mark the set at hand is still the one before; and where it flowed into the
   * next, that one's mark stands at its end.
   * @param {Moment} now
   * @returns {Moment}
   */
  #moment(now) {
    if (!this.at) return now;
    now = { ...now, speed: 0 }; // nobody reacts here: what is said is of the whole run
    const { sequence } = this.tagging.desk;
    const { rows } = sequence;
    const { of, start_ms, decisive_ms } = this.at;
    const isSet = (/** @type {Row | undefined} */ row) => this.#does(row?.mark.kind ?? "") === "set" && !row?.mark.removed;
    const own = sequence.byId.get(of);
    const named = isSet(own) ? own : rows.find((row) => isSet(row) && start_ms <= row.at && row.at <= decisive_ms);
    if (!named) return now;
    const inside = rows.slice(rows.indexOf(named) + 1, sequence.countBy(decisive_ms));
    const next = inside.find((row) => isSet(row) || this.#does(row.mark.kind) === "possession");
    const at = sequence.gameTime(now.film, now.at_ms);
    if (named.at <= at && (next ? at < next.at : at <= decisive_ms)) return now;
    const { mark } = inside.filter((row) => row.at < (next?.at ?? decisive_ms)).at(-1) ?? named; // so that the log tells it before the end
    return { ...now, film: mark.film, at_ms: mark.at_ms };
  }

  /** Whether the questions at hand are the second look's. */
  get isOpen() {
    const { desk } = this.tagging;
    if (!this.at || !desk.hand) return this.waiting !== null;
    return desk.inHand === this.at.of || desk.hand.kind === this.at.kind;
  }

  /**
   * After a stroke: what was asked is answered, or skipped, so no further question is opened and the next thing comes.
   * @param {Entry[]} entries
   * @param {boolean} wasOpen whether its questions were at hand before the stroke
   * @param {string} stroke
   */
  after(entries, wasOpen, stroke) {
    const { desk } = this.tagging;
    const { at } = this;
    if (!at) return;
    if (at.question && desk.hand?.old && desk.inHand === at.of && desk.hand.question !== at.question) desk.hand = null;
    const done = !this.#isLeft(at) && entries.length > 0;
    if (desk.hand || !wasOpen || !(stroke.endsWith("Enter") || (done && !this.blind))) return;
    desk.closed = null;
    this.next();
    if (done) this.answered = at;
  }

  draw() {
    const { deck } = this.tagging;
    if (this.at && !deck.loop && !deck.again && !deck.moving && deck.goal === null) {
      const far = deck.gameMs < this.at.start_ms - NEAR_MS || deck.gameMs > this.at.to_ms + NEAR_MS;
      if (far) this.at = null;
    }
    document.body.classList.toggle("blind", this.blind && this.at !== null);
  }

  #show() {
    if (!this.at) return;
    const { start_ms, from_ms, to_ms, decisive_ms } = this.at;
    const from = this.whole || this.blind ? start_ms : from_ms;
    this.tagging.deck.over({ from, to: this.blind ? Math.max(from + 500, decisive_ms) : to_ms });
  }
}

const STARRED = "starred";

/** @param {Unanswered} thing */
const nameOf = ({ of, question, kind }) => `${of} ${question}${kind}`;
