// All that the second look sees of the page, and may do to it: the marks as they stand, the question at hand, the film over one
// stretch. It never reaches past this door.

/** @typedef {import("../film/deck.js").Moment} Moment */
/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("./tagging.js").Tagging} Tagging */
/** @typedef {{entries: Entry[], refusal: string, told: string, at?: string}} Entered `at`: the mark that the log is at then */
/** @typedef {{from: number, to: number}} Stretch game ms */

export class Door {
  /** @type {Tagging} */
  #tagging;

  /** @param {Tagging} tagging */
  constructor(tagging) {
    this.#tagging = tagging;
  }

  get language() {
    return this.#tagging.desk.language;
  }

  get sequence() {
    return this.#tagging.desk.sequence;
  }

  /** What the server's fold found worth asking. */
  get unanswered() {
    return this.#tagging.folded.unanswered;
  }

  /** The question at hand. */
  get hand() {
    return this.#tagging.desk.hand;
  }

  /** Whether the questions at hand are a mark's. @param {string} id */
  isOf(id) {
    return this.#tagging.desk.hand !== null && this.#tagging.desk.inHand === id;
  }

  /** Game time of the frame on screen, ms. */
  get gameMs() {
    return this.#tagging.deck.gameMs;
  }

  /** The frame on screen. */
  get now() {
    return this.#tagging.deck.now;
  }

  /** What is known at a moment. @param {Moment} moment */
  contextAt(moment) {
    return this.#tagging.desk.contextAt(moment);
  }

  /** Go to a mark, and ask one of its questions; none where that is empty. @param {string} id @param {string} question */
  ask(id, question) {
    const { desk } = this.#tagging;
    this.#tagging.picked = id;
    if (question) desk.reopen(id, question);
    else desk.hand = null;
  }

  /** No question is asked, and nothing is picked to be taken back to. */
  askNothing() {
    const { desk } = this.#tagging;
    desk.hand = desk.closed = null;
  }

  /** The log is at no line, and the film is held. */
  leave() {
    this.#tagging.picked = "";
    this.#tagging.deck.hold();
  }

  /** Make a mark by its first answer. @param {string} kind @param {import("../marks/language.js").Answers} answers @param {Moment} moment @returns {Entered} */
  begin(kind, answers, moment) {
    return { entries: this.#tagging.desk.begin(kind, answers, moment), refusal: "", told: "" };
  }

  /** Take back what was entered last, with no question at hand. @param {string} stroke @returns {Entered} */
  takeBack(stroke) {
    this.askNothing();
    return this.#tagging.desk.press(stroke, this.now);
  }

  /** Whether a stretch is shown over and over. */
  get isShowing() {
    return this.#tagging.deck.loop !== null;
  }

  /** Show a stretch over and over. @param {Stretch} stretch */
  show(stretch) {
    this.#tagging.deck.over(stretch);
  }

  /** Whether the film was put outside a stretch by hand, and rests there. @param {Stretch} stretch */
  isAway({ from, to }) {
    const { deck } = this.#tagging;
    if (deck.loop || deck.again || deck.moving || deck.goal !== null) return false;
    return deck.gameMs < from || deck.gameMs > to;
  }

  /** @param {string} text */
  tell(text) {
    this.#tagging.tell(text);
    this.count();
  }

  /** The head says how many things are left. */
  count() {
    this.#tagging.count();
  }

  /** A key of its own did what it does: nothing more is meant by a Backspace. */
  wentOn() {
    this.#tagging.wentOn();
  }

  /** Enter what a stroke makes. @param {() => Entered} make @param {string} stroke */
  enter(make, stroke) {
    this.#tagging.enterMade(make, stroke);
  }
}
