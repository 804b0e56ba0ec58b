// The second look: by key from one thing worth asking to the next, the film over it again and again. Blind, a run is shown
// only up to its decisive moment, so that the grade of the work is not coloured by the goal.

/** @typedef {import("../server.js").Worth} Worth */
/** @typedef {import("../film.js").Moment} Moment */
/** @typedef {import("./tagging.js").Tagging} Tagging */

export class SecondLook {
  /** @param {Tagging} tagging */
  constructor(tagging) {
    this.tagging = tagging;
    /** @type {Worth | null} what is being looked at */
    this.at = null;
    this.blind = false;
    /** @type {Set<string>} starred marks that were looked at: nothing of them stays open */
    this.visited = new Set();
  }

  /** What is still unanswered, in order of game time. @returns {Worth[]} */
  left() {
    const { byId } = this.tagging.desk.sequence;
    return this.tagging.seen.worth.filter(({ of, question, why }) => {
      const mark = byId.get(of)?.mark;
      if (!mark || mark.removed) return false;
      return question ? !(question in mark.answers) : !(why === STARRED && this.visited.has(of)) && !this.#looked(of);
    });
  }

  /** Whether a run's look was said on this page since the fold was last seen. @param {string} of the run's set mark */
  #looked(of) {
    const { rows, byId } = this.tagging.desk.sequence;
    const set = byId.get(of);
    if (set?.mark.kind !== "set") return false;
    for (let place = rows.indexOf(set) + 1; place < rows.length; place++) {
      const { mark } = rows[place];
      if (mark.kind === "look" && !mark.removed && mark.answers.look) return true;
      if (mark.kind === "set" || mark.kind === "possession") return false;
    }
    return false;
  }

  /** @returns {true} */
  next() {
    const { tagging } = this;
    const left = this.left();
    const here = this.at?.from_ms ?? -1;
    const place = left.findIndex((one) => same(one, this.at));
    const next = place >= 0 ? left[place + 1] : left.find((one) => one.from_ms > here || (one.from_ms === here && this.at !== null));
    this.at = next ?? null;
    if (!next) {
      tagging.desk.hand = null;
      tagging.picked = "";
      tagging.deck.over(null);
      tagging.tell(left.length ? `that was the last; ${left.length} left, ⇧W begins again` : "nothing left that is worth a second look");
      return true;
    }
    tagging.picked = next.of;
    if (next.question) tagging.desk.reopen(next.of, next.question);
    else tagging.desk.hand = null;
    this.#show();
    if (next.why === STARRED) this.visited.add(next.of);
    tagging.tell(`${next.why}${next.why.endsWith("?") ? "" : ","} ${left.length} left`);
    return true;
  }

  /** @returns {true} */
  turnBlind() {
    this.blind = !this.blind;
    this.tagging.tell(this.blind ? "blind: runs are shown up to their decisive moment" : "runs are shown to their end");
    if (this.at) this.#show();
    return true;
  }

  /** What the strip asks about a mark. @param {string} id */
  asks(id) {
    if (this.at?.of !== id) return "";
    const answers = this.tagging.desk.sequence.byId.get(id)?.mark.answers ?? {};
    return this.at.question in answers ? "" : this.at.why;
  }

  /** The kind of mark that would answer what is being looked at; empty where a question is open, or nothing is asked. */
  get asksFor() {
    return this.at && !this.at.question && this.at.why !== STARRED ? "look" : "";
  }

  /** What stands before the open question of a second look. @param {import("../strokes.js").Hand} hand */
  lead(hand) {
    return this.at && hand.old && this.tagging.desk.inHand === this.at.of ? "Second look. " : "";
  }

  /**
   * The moment of a look or a grade given in the second look: after the set was named and inside the run, wherever the film
   * is in its loop. A set names its run backwards, so before its mark the set at hand is still the one before.
   * @param {string} stroke
   * @param {Moment} now
   * @returns {Moment}
   */
  within(stroke, now) {
    const { sequence, language } = this.tagging.desk;
    const ofRun = language.keys.get(stroke)?.some(({ kind }) => "look_set" in kind.needs);
    if (!ofRun || !this.at || !this.tagging.deck.loop) return now;
    const { from_ms, decisive_ms } = this.at;
    const at = sequence.gameTime(now.film, now.at_ms);
    const named = sequence.rows.find(({ mark, at: ms }) => mark.kind === "set" && !mark.removed && from_ms < ms && ms <= decisive_ms);
    if (at <= decisive_ms && at >= (named?.at ?? from_ms + 1)) return now;
    const last = sequence.lastBy(decisive_ms)?.mark;
    return last && sequence.gameTime(last.film, last.at_ms) === decisive_ms ? { ...now, film: last.film, at_ms: last.at_ms } : now;
  }

  /** What the second look asked was answered: no further question is opened. @param {import("../resolve.js").Entry[]} entries */
  answered(entries) {
    const { desk } = this.tagging;
    const { of, question } = this.at ?? { of: "", question: "" };
    if (question && desk.hand?.old && entries.some((one) => one.of === of && one.answers && question in one.answers)) desk.hand = null;
  }

  draw() {
    if (!this.tagging.deck.loop) this.at = null;
    document.body.classList.toggle("blind", this.blind && this.at !== null);
  }

  #show() {
    if (!this.at) return;
    const { from_ms, to_ms, decisive_ms } = this.at;
    this.tagging.deck.over({ from: from_ms, to: this.blind ? Math.max(from_ms + 500, decisive_ms) : to_ms });
  }
}

const STARRED = "starred";

/** @param {Worth} one @param {Worth | null} other */
const same = (one, other) => one.of === other?.of && one.question === other.question;
