// Another camera on the same play: looking through it at the moment on screen, and tying it to the game's film.
import { cap } from "../keys/own.js";
import { ask, urlOf } from "../outbox/server.js";
import { byId, clock, say } from "./dom.js";

/** @typedef {import("../film/deck.js").FilmDeck} FilmDeck */
/** @typedef {import("../film/deck.js").Moment} Moment */

/** Tying moves other people's marks too, so it is the laptop's. */
const isGuest = () => document.body.dataset.guest === "yes";
const AT_THE_LAPTOP = "cameras are tied at the computer where floorbook runs";

export class CameraView {
  /**
   * @param {FilmDeck} deck
   * @param {string} game
   * @param {(text: string) => void} tell
   * @param {() => void} onTied everything lies anew
   */
  constructor(deck, game, tell, onTied) {
    this.deck = deck;
    this.game = game;
    this.tell = tell;
    this.onTied = onTied;
    /** The moment of the game's own film that was on screen before. @type {Moment & {gameMs: number} | null} */
    this.left = null;
    this.words = byId("camera");
    this.button = byId("other-camera");
  }

  /** Whether it may tie cameras. */
  get mayTie() {
    return !isGuest();
  }

  draw() {
    const { deck } = this;
    this.button.hidden = !deck.cameras.length;
    const away = deck.camera !== "";
    this.words.hidden = !away;
    document.body.classList.toggle("elsewhere", away);
    if (!away) return;
    const at = this.left ? `${clock(this.left.gameMs)}.${String(Math.floor((this.left.gameMs % 1000) / 10)).padStart(2, "0")}` : "";
    const free = deck.onScreen.film?.tied === false && at !== "";
    if (free && isGuest()) return say(this.words, `${deck.camera}, not tied yet; ${AT_THE_LAPTOP}`);
    say(this.words, free ? `${deck.camera}, not tied yet: find what the game’s film showed at ${at}, then ${cap("tie")}` : deck.camera);
  }

  /** The next camera on the moment on screen; after the last one the game's own film. */
  async next() {
    const { deck } = this;
    if (!deck.ready) return;
    if (!deck.cameras.length) {
      return this.tell("this game has one camera; another one’s film comes in on the page of film, or with --camera NAME");
    }
    const moment = { ...deck.now, gameMs: deck.gameMs };
    if (deck.camera === "") this.left = moment;
    const names = ["", ...deck.cameras];
    const from = names.indexOf(deck.camera);
    for (let step = 1; step <= names.length; step += 1) {
      const name = names[(from + step) % names.length];
      if (name === deck.camera) return;
      const loose = name === "" && deck.onScreen.film?.tied === false;
      const at = loose && this.left ? this.left.gameMs : moment.gameMs;
      if (await deck.through(name, at)) return this.draw();
      this.tell(`${name || "the game’s film"} does not show this moment`);
    }
  }

  /** Say that the picture on screen and the one of the game's film that was left show the same moment. */
  async tie() {
    const { deck, left } = this;
    if (isGuest()) return this.tell(AT_THE_LAPTOP);
    if (deck.camera === "" || !left) return this.tell(`hold the game’s film at a moment that both show, then ${cap("otherCamera")} goes to the other camera`);
    const now = deck.now;
    const body = JSON.stringify({ film: now.film, at_ms: now.at_ms, of_film: left.film, of_ms: left.at_ms });
    try {
      await ask(urlOf(this.game, "tie"), { method: "POST", headers: { "Content-Type": "application/json" }, body });
    } catch (fault) {
      return this.tell(fault instanceof Error ? fault.message : String(fault));
    }
    this.onTied();
  }
}
