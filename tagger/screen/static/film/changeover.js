// Another file comes to be played for a film: a light copy is ready, more of it is done, or a card is back. The frame on
// screen stays the same one. Held film changes over at once, playing film when it is held next; at once too where the
// file that plays is gone.

/** @typedef {import("./deck.js").FilmDeck} FilmDeck */
/** @typedef {import("./onscreen.js").Film} Film */

export class ChangeOver {
  /**
   * @param {FilmDeck} deck
   * @param {(video: HTMLVideoElement) => () => void} freeze keeps the picture in sight; what it gives lets go of it
   */
  constructor(deck, freeze) {
    this.deck = deck;
    this.freeze = freeze;
    this.under = false;
    /** Where the film was when a change did not work. @type {number | null} */
    this.lost = null;
  }

  /** Take in what the server says of the films now. @param {Film[]} films */
  take(films) {
    const { deck } = this;
    deck.films = films
      .filter((film) => film.state === "ready")
      .map((film) => {
        const held = deck.films.find((one) => one.id === film.id);
        if (held && held.version === film.version) return Object.assign(held, film);
        deck.frames.delete(film.id);
        return film;
      });
    this.ifDue();
  }

  /** Change over if there is another file to play and this is the moment. */
  ifDue() {
    const { deck } = this;
    const { film } = deck.onScreen;
    const fresh = deck.films.find((one) => one.id === film?.id);
    if (this.under || !film || !fresh || deck.again || deck.loop) return;
    const stale = fresh !== film;
    if (this.lost === null && (!stale || (deck.rate !== 0 && !film.version.startsWith("part")))) return;
    void this.#change(this.lost ?? deck.goal ?? deck.gameMs);
  }

  /** @param {number} at game ms */
  async #change(at) {
    const { deck } = this;
    this.under = true;
    const letGo = this.freeze(deck.video);
    try {
      if (this.lost !== null) deck.onScreen.film = null;
      await deck.goTo(at);
      await arrived(deck);
      this.lost = null;
    } catch {
      this.lost = at; // tried again when the server is asked next
    } finally {
      letGo();
      this.under = false;
    }
  }
}

const LONGEST_MS = 1500;

/** Until the frame that was gone to is on screen. @param {FilmDeck} deck */
async function arrived(deck) {
  const end = performance.now() + LONGEST_MS;
  while (deck.onScreen.aim !== null && performance.now() < end) await new Promise((resolve) => setTimeout(resolve, 10));
}

/** Lay the picture that a video element shows over it. @param {HTMLVideoElement} video */
export function freeze(video) {
  const over = document.createElement("canvas");
  over.width = video.videoWidth;
  over.height = video.videoHeight;
  over.className = "frozen";
  try {
    over.getContext("2d")?.drawImage(video, 0, 0);
    if (video.videoWidth) video.after(over);
  } catch {
    // nothing to show: the film's place stays as it is
  }
  return () => over.remove();
}
