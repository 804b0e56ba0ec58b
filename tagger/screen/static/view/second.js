// The second look: by key from one thing worth asking to the next, with the last seconds before its decisive moment over
// and over. An answer leads on by itself. Blind, for grading, runs are shown whole but only up to that moment, so that the
// grade of the work is not coloured by the goal, and nothing leads on before one says so.
// Only the last four seconds are shown: seeing whole runs took half an excerpt's length; a key shows the whole run. What is
// missing is asked at once (a look by its digit, the mark made with its answer) and stands inside the run wherever the film
// is. Grades are taken here at any detail: to go to full detail for them would claim that all else was looked for.
import { KEY, cap, capOf } from "../keys/own.js";
import { doesOf, kindThat } from "../marks/language.js";
import { isTagged, options } from "../marks/offers.js";
import { openHand } from "../marks/strokes.js";
import { isOpen, momentInRun, momentOfRun, seenAs } from "../marks/unanswered.js";

/** @typedef {import("../marks/folded.js").Unanswered} Unanswered */
/** @typedef {import("../film/deck.js").Moment} Moment */
/** @typedef {import("../marks/strokes.js").Hand} Hand */
/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("../keys/handlers.js").Handler} Handler */
/** @typedef {import("./door.js").Door} Door */
/** @typedef {import("./door.js").Entered} Entered */

/** What is done once it was shown and gone on from. @typedef {{has: (name: string) => boolean, add: (name: string) => unknown}} Done */

const NEAR_MS = 6000; // so far from its stretch may the film be put by hand while a thing is shown
const STARRED = "starred";

export class SecondLook {
  /** @param {Door} door @param {Done} done doubts that were gone on from, also before the page was loaded */
  constructor(door, done) {
    this.door = door;
    this.done = done;
    /** @type {Unanswered | null} what is shown and asked */
    this.at = null;
    this.blind = false;
    /** Whether a run is shown from its beginning. */
    this.whole = false;
    /** @type {Set<string>} what was shown and is done by that: stars, doubts since the page was loaded */
    this.visited = new Set();
    /** @type {Set<string>} what this round led to, so that what was skipped comes with the next round */
    this.passed = new Set();
    /** @type {Unanswered | null} what the last stroke answered and led on from: taken back, it is asked again */
    this.answered = null;
  }

  /** Its keys, for the list of all. @returns {Handler[]} */
  keys() {
    /** @type {(key: string, says: string, act: () => void, now?: () => boolean) => Handler} */
    const own = (key, says, act, now) => ({
      keys: [key],
      says,
      block: "The log",
      now,
      does: () => {
        act();
        this.door.wentOn();
      },
    });
    return [
      own(KEY.loop, "in a second look: the whole run", () => this.turnWhole(), () => this.at !== null),
      own(KEY.second, "the next thing worth a second look, its last four seconds over and over", () => this.next()),
      own(KEY.blind, "grade blind: show runs whole, but only up to their decisive moment", () => this.turnBlind()),
      {
        keys: [KEY.takeBack],
        says: "",
        block: "Questions",
        repeats: true,
        now: () => this.goesBack,
        does: (stroke) => this.door.enter(() => this.#back(stroke), stroke),
      },
      {
        keys: [KEY.enter, KEY.skip],
        says: "",
        block: "Questions",
        now: (atHand) => atHand === "asked",
        does: (stroke) => this.door.enter(nothing, stroke), // skipped: `after` leads on
      },
      {
        keys: [],
        takes: (stroke) => /^\d$/.test(stroke) || this.#answerOf(stroke) !== undefined,
        says: "",
        block: "Questions",
        now: (atHand) => atHand === "asked",
        does: (stroke) => this.door.enter(() => this.#answer(stroke), stroke),
      },
      {
        keys: [],
        takes: (stroke) => this.#names(stroke),
        says: "",
        block: "Questions",
        now: (atHand) => atHand !== "hand" && this.blind && this.at !== null,
        does: (stroke) => this.door.enter(() => this.#noName(stroke), stroke), // a checkpoint's digit would make a run of a set
      },
    ];
  }

  /** What is still unanswered, in order of game time. @returns {Unanswered[]} */
  left() {
    return this.door.unanswered.filter((one) => this.#isLeft(one));
  }

  /** How many are left, what is shown among them until it is answered or gone on from. */
  get count() {
    return this.left().length + (this.at && isDoneOnceSeen(this.at) && this.visited.has(seenAs(this.at)) ? 1 : 0);
  }

  /** @param {Unanswered} thing */
  #isLeft(thing) {
    const { blind, visited, door } = this;
    const seen = (/** @type {string} */ name) => visited.has(name) || this.done.has(name);
    return isOpen(door.sequence, thing, { blind, seen, now: door.gameMs });
  }

  next() {
    if (this.at && isDoneOnceSeen(this.at) && this.at.why !== STARRED) this.done.add(seenAs(this.at));
    const left = this.left();
    const here = this.at?.start_ms ?? 0;
    const next = left.find((one) => one.start_ms >= here && !this.passed.has(nameOf(one)));
    if (next) return this.#open(next, left.length);
    this.door.askNothing();
    this.leave();
    this.passed.clear();
    this.door.tell(left.length ? `that was the last; ${left.length} left, ${cap("second")} begins again` : "nothing left that is worth a second look");
  }

  /** What is shown is left alone. */
  leave() {
    if (!this.at) return;
    this.at = this.answered = null;
    this.door.leave();
    this.door.count();
  }

  /** @param {Unanswered} thing @param {number} n how many are left */
  #open(thing, n) {
    const there = this.at?.start_ms === thing.start_ms && this.at.decisive_ms === thing.decisive_ms && this.door.isShowing;
    this.at = thing;
    this.passed.add(nameOf(thing));
    this.door.ask(thing.of, thing.question);
    if (!there) {
      this.whole = false;
      this.#show();
    }
    for (const star of thing.stars) this.visited.add(seenAs({ of: star, why: STARRED }));
    if (isDoneOnceSeen(thing)) this.visited.add(seenAs(thing));
    const why = thing.stars.length && thing.why !== STARRED ? `${STARRED}: ${thing.why}` : thing.why;
    this.door.tell(`${why}${why.endsWith("?") ? "" : ","} ${n} left`);
  }

  turnBlind() {
    this.blind = !this.blind;
    this.door.tell(this.blind ? "blind: runs are shown whole, up to their decisive moment" : "the last seconds are shown, and what came of them");
    if (!this.blind) this.at && this.#show();
    else if (!this.at) this.next();
    else this.#show();
  }

  /** From the run's beginning, or only its last seconds. */
  turnWhole() {
    this.whole = !this.whole;
    this.door.tell(this.whole ? "the whole run" : "the last seconds");
    this.#show();
  }

  /** What the prompt asks about a mark. @param {string} id */
  asks(id) {
    if (this.at?.of !== id || this.at.question) return "";
    return !this.at.kind || this.#isLeft(this.at) ? this.at.why : "";
  }

  /** The kind of mark that would answer what is shown; empty where a question is open, or it is answered. */
  get asksFor() {
    return this.at?.kind && this.#isLeft(this.at) ? this.at.kind : "";
  }

  /**
   * The questions of the mark that would answer what is shown, open before it is made: its first answer makes it.
   * @returns {Hand | null}
   */
  get waiting() {
    const { door } = this;
    if (door.hand || doesOf(door.language, this.asksFor) !== "look") return null;
    return openHand(door.language, door.contextAt(this.#moment()), this.asksFor, {});
  }

  /** What stands before the open question of a second look. @param {Hand} hand */
  lead(hand) {
    if (!this.at) return "";
    return hand !== this.door.hand || (hand.old && this.door.isOf(this.at.of)) ? "Second look. " : "";
  }

  /** Whether Backspace takes back the answer that led here, and asks again. */
  get goesBack() {
    const { hand } = this.door;
    return this.at !== null && this.answered !== null && !hand?.typed && !hand?.said.length && !hand?.held.length;
  }

  /** @param {string} stroke @returns {Entered} */
  #back(stroke) {
    const { at, answered } = this;
    if (!at || !answered) return nothing();
    this.passed.delete(nameOf(at));
    const done = this.door.takeBack(stroke);
    this.#open(answered, this.left().length);
    return { ...done, told: "", at: answered.of }; // what is asked again says it
  }

  /** @param {string} stroke */
  #answerOf(stroke) {
    const { waiting } = this;
    return waiting ? options(this.door.language, waiting.context, waiting).find((one) => one.key === stroke) : undefined;
  }

  /** @param {string} stroke @returns {Entered} */
  #answer(stroke) {
    const { waiting } = this;
    const answer = this.#answerOf(stroke);
    if (waiting && answer) return this.door.begin(waiting.kind, { [waiting.question]: answer.code }, this.#moment());
    return { ...nothing(), refusal: `the list has no ${stroke}; ${cap("enter")} goes on` };
  }

  /** @param {string} stroke @returns {Entered} */
  #noName(stroke) {
    const grade = kindThat(this.door.language, "grade")?.keys[0];
    const begins = grade ? `${capOf(grade.key)} begins a grade, ` : "";
    return { ...nothing(), refusal: `${stroke} names no run while grading: ${begins}${cap("blind")} ends it` };
  }

  /**
   * Where, and at which detail, a stroke is taken: in a second look a look or a grade stands inside its run, and a run is also
   * graded where a first pass leaves grades out.
   * @param {string} stroke
   * @returns {{moment: Moment, level: string}} `level`: as tagged when empty
   */
  taken(stroke) {
    const { door } = this;
    const kind = this.at ? this.#ofRun(stroke) : undefined;
    if (this.at && !door.hand && !this.at.kind && this.#names(stroke)) return { moment: momentInRun(door.sequence, this.at, door.now), level: "" };
    if (!kind) return { moment: door.now, level: "" };
    const more = !door.hand && !isTagged(door.language, door.contextAt(door.now), kind);
    return { moment: this.#moment(), level: more ? kind.level : "" };
  }

  /** What can be pressed besides the answers: a grade where runs are graded, and what goes on to the next. @returns {import("./caps.js").Cap[]} */
  caps() {
    const grade = kindThat(this.door.language, "grade");
    if (!this.at) return [];
    const next = { key: KEY.second, name: this.blind ? "the next run" : "the next one" };
    if (!grade || !this.at.kind || !(this.blind || this.at.kind === grade.code)) return [next];
    return [...grade.keys.map(({ key, name }) => ({ key, name, offer: this.asksFor === grade.code })), next];
  }

  /** The kind that a stroke marks, where it is of a run. @param {string} stroke */
  #ofRun(stroke) {
    return this.door.language.keys.get(stroke)?.find(({ kind }) => kind.run === "of_set")?.kind;
  }

  /** Whether a stroke names a run here. @param {string} stroke */
  #names(stroke) {
    return this.door.language.keys.get(stroke)?.some(({ kind }) => kind.run === "names") ?? false;
  }

  #moment() {
    return this.at ? momentOfRun(this.door.sequence, this.at, this.door.now) : this.door.now;
  }

  /** Whether the questions at hand are the second look's. */
  get isOpen() {
    const { hand } = this.door;
    if (!this.at || !hand) return this.waiting !== null;
    return this.door.isOf(this.at.of) || hand.kind === this.at.kind;
  }

  /**
   * After a stroke: what was asked is answered, or skipped, so no further question is opened and the next thing comes.
   * @param {Entry[]} entries
   * @param {boolean} wasOpen whether its questions were at hand before the stroke
   * @param {string} stroke
   */
  after(entries, wasOpen, stroke) {
    const { at, door } = this;
    if (!at) return;
    if (at.question && door.hand?.old && door.isOf(at.of) && door.hand.question !== at.question) door.askNothing();
    const done = !this.#isLeft(at) && entries.length > 0;
    if (door.hand || !wasOpen || !(stroke.endsWith(KEY.enter) || (done && !this.blind))) return;
    door.askNothing();
    this.next();
    if (done) this.answered = at;
  }

  /** The film was drawn: what is shown is left where a person put it far away. */
  drawn() {
    if (this.at && this.door.isAway({ from: this.at.start_ms - NEAR_MS, to: this.at.to_ms + NEAR_MS })) {
      this.at = null;
      this.door.count();
    }
    document.body.classList.toggle("blind", this.blind && this.at !== null);
  }

  /** Another stroke was taken: what was answered before it is no longer taken back into. @param {Unanswered | null} answered */
  forget(answered) {
    if (this.answered === answered) this.answered = null;
  }

  #show() {
    if (!this.at) return;
    const { start_ms, from_ms, to_ms, decisive_ms } = this.at;
    const from = this.whole || this.blind ? start_ms : from_ms;
    this.door.show({ from, to: this.blind ? Math.max(from + 500, decisive_ms) : to_ms });
  }
}

/** A stroke that enters nothing. @returns {Entered} */
const nothing = () => ({ entries: [], refusal: "", told: "" });

/** Whether nothing can answer it but looking. @param {Unanswered} thing */
const isDoneOnceSeen = ({ question, kind }) => !question && !kind;

/** @param {Unanswered} thing */
const nameOf = ({ of, question, kind }) => `${of} ${question}${kind}`;
