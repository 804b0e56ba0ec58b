// The second look: by key from one thing worth asking to the next, the film over it again and again. Blind, a run is shown
// only up to its decisive moment, so that the grade of the work is not coloured by the goal.

/** @typedef {import("../server.js").Worth} Worth */
/** @typedef {import("./tagging.js").Tagging} Tagging */

export class SecondLook {
  /** @param {Tagging} tagging */
  constructor(tagging) {
    this.tagging = tagging;
    /** @type {Worth | null} what is being looked at */
    this.at = null;
    this.blind = false;
  }

  /** @returns {true} */
  next() {
    const { tagging } = this;
    const { byId } = tagging.desk.sequence;
    const left = tagging.seen.worth.filter((one) => byId.has(one.of));
    const place = left.findIndex((one) => one.of === this.at?.of && one.question === this.at.question);
    const after = left.findIndex((one) => one.from_ms > (this.at?.from_ms ?? -1));
    const next = place >= 0 ? left[place + 1] : left[after];
    this.at = next ?? null;
    if (!next) {
      tagging.deck.over(null);
      tagging.tell(left.length ? `that was the last; ${left.length} left, W begins again` : "nothing left that is worth a second look");
      return true;
    }
    tagging.picked = next.of;
    if (next.question) tagging.desk.reopen(next.of, next.question);
    else tagging.desk.hand = null;
    this.#show();
    tagging.tell(`${next.why} ${left.length} to go`);
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
    return this.at?.of === id ? this.at.why : "";
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
