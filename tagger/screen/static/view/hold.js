// Whether the film holds while a question is open and goes on by itself afterwards. Kept in this browser.

/** @typedef {import("../film/deck.js").FilmDeck} FilmDeck */

const KEPT = "floorbook hold";

export class Hold {
  /** @param {FilmDeck} deck */
  constructor(deck) {
    this.deck = deck;
    this.on = read() === "yes";
    /** Speed to go on with; 0 when this did not hold the film. */
    this.rate = 0;
  }

  /** Turn the setting over. @returns {string} what it is now */
  turn() {
    this.on = !this.on;
    try {
      localStorage.setItem(KEPT, this.on ? "yes" : "no");
    } catch {
      // a browser that keeps nothing: it holds for this page
    }
    return this.on ? "the film holds while a question is open" : "the film plays on while a question is open";
  }

  /** @param {boolean} open whether a question is open now */
  asked(open) {
    if (open && this.on && this.deck.rate > 0 && !this.deck.again) {
      this.rate = this.deck.rate;
      this.deck.hold();
    } else if (!open && this.rate > 0) {
      const { rate } = this;
      this.rate = 0;
      if (this.deck.again) this.deck.again.rate = rate; // when it has been shown again
      else this.deck.play(rate);
    }
  }

  /** The person moved the film: it stays as it was put. */
  forget() {
    if (!this.deck.again) this.rate = 0;
  }
}

function read() {
  try {
    return localStorage.getItem(KEPT);
  } catch {
    return null;
  }
}
