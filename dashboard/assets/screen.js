// One video element that stands on a frame of a film or plays from it: exact at the beginning.
import { Frames } from "/screen/film/frames.js";

/** @typedef {import("./playlist.js").Piece} Piece */

const FIRST_FRAME_MS = 10000; // a tab in the background shows no frame; by then its clock is taken to begin with 0
const FRAME_S = 1 / 30;

/** The browser's time of a film's first frame, by the film's address: many a camera's clock runs before it. @type {Map<string, number>} */
const bases = new Map();
/** @type {Map<string, Promise<Frames | null>>} */
const times = new Map();

export class Screen {
  /**
   * @param {HTMLVideoElement} video
   * @param {(at_s: number) => void} onFrame a frame is shown, seconds of the browser's; Infinity at the film's end
   * @param {() => void} onChange played, held, moved on
   */
  constructor(video, onFrame, onChange) {
    this.video = video;
    this.film = "";
    this.base_s = 0;
    /** The browser's time of the frame on screen. */
    this.shown_s = 0;
    /** The piece that it stood ready for last. @type {Piece | null} */
    this.stands = null;
    this.turn = 0;
    this.fault = "";
    for (const name of ["play", "pause", "waiting", "playing", "seeked"]) video.addEventListener(name, onChange);
    video.addEventListener("timeupdate", () => onFrame(video.currentTime));
    video.addEventListener("ended", () => onFrame(Infinity));
    video.addEventListener("error", () => {
      if (!video.hasAttribute("src")) return;
      this.fault = "This film can’t be played here.";
      onChange();
    });
    this.#frames(onFrame);
  }

  get playing() {
    return !this.video.paused && !this.video.ended;
  }

  /** Seconds of the film, from its first frame. */
  get at_s() {
    return this.video.currentTime - this.base_s;
  }

  /** Stand on a piece's first frame. @param {Piece} piece @returns {Promise<boolean>} false where something else was asked for since */
  async ready(piece) {
    const turn = ++this.turn;
    this.fault = "";
    this.stands = null;
    this.video.pause();
    if (this.film !== piece.film) {
      this.film = piece.film;
      const { base, there } = this.#load(piece);
      this.base_s = await base;
      if (turn !== this.turn) return false;
      if (there) await there; // it went there while it was loaded
      else await this.seek(piece.start_s);
    } else await this.seek(piece.start_s);
    if (turn !== this.turn) return false;
    this.stands = piece;
    return true;
  }

  /** Let go of the film, so that nothing is held open. */
  clear() {
    this.turn++;
    this.film = "";
    this.stands = null;
    this.video.removeAttribute("src");
    this.video.load();
  }

  /** Go to a time of the film. @param {number} to_s @returns {Promise<void>} */
  seek(to_s) {
    const { video } = this;
    return new Promise((done) => {
      video.addEventListener("seeked", () => done(), { once: true });
      video.addEventListener("error", () => done(), { once: true });
      video.currentTime = this.base_s + to_s + 0.001;
    });
  }

  /** One frame on or back, held. @param {1 | -1} way */
  async step(way) {
    this.video.pause();
    const { film } = this;
    const frames = await framesOf(film);
    if (film !== this.film) return;
    if (!frames) return this.seek(this.shown_s - this.base_s + way * FRAME_S);
    const to_s = frames.middle(frames.nearest(this.shown_s - this.base_s) + way);
    this.shown_s = this.base_s + frames.starts[frames.nearest(to_s)] * (frames.numerator / frames.denominator); // keys come quicker
    return this.seek(to_s);
  }

  /** Where its first frame is known, the film begins at the piece at once. @param {Piece} piece */
  #load(piece) {
    const { video } = this;
    const known = bases.get(piece.film);
    if (known !== undefined) {
      video.src = piece.film;
      return { base: Promise.resolve(known), there: this.#seekOn(known + piece.start_s) };
    }
    /** @type {Promise<number>} */
    const base = new Promise((done) => {
      const from = (/** @type {number} */ base_s, sure = false) => {
        clearTimeout(late);
        video.removeEventListener("loadstart", ask);
        video.removeEventListener("error", none);
        if (sure) bases.set(piece.film, base_s);
        done(base_s);
      };
      const none = () => from(0);
      const ask = () => { // not before: the film on screen until now may still show a frame; not later: a busy page misses the first
        if (!("requestVideoFrameCallback" in video)) return none();
        video.requestVideoFrameCallback((_, { mediaTime }) => from(mediaTime, true));
      };
      const late = setTimeout(none, FIRST_FRAME_MS);
      video.addEventListener("loadstart", ask);
      video.addEventListener("error", none);
      video.src = piece.film;
    });
    return { base, there: null };
  }

  /** @param {number} browser_s @returns {Promise<void>} */
  #seekOn(browser_s) {
    const { video } = this;
    return new Promise((done) => {
      video.addEventListener("error", () => done(), { once: true });
      video.addEventListener("loadedmetadata", () => {
        video.addEventListener("seeked", () => done(), { once: true });
        video.currentTime = browser_s + 0.001;
      }, { once: true });
    });
  }

  /** @param {(at_s: number) => void} onFrame */
  #frames(onFrame) {
    const { video } = this;
    if (!("requestVideoFrameCallback" in video)) return;
    /** @param {number} _ @param {{mediaTime: number}} frame */
    const each = (_, { mediaTime }) => {
      video.requestVideoFrameCallback(each); // first: a frame that is shown meanwhile is told too
      this.shown_s = mediaTime;
      onFrame(mediaTime);
    };
    video.requestVideoFrameCallback(each);
  }
}

/** When the frames of a film are; null where that is not to be had. @param {string} film */
function framesOf(film) {
  let held = times.get(film);
  if (!held) {
    held = fetch(film.replace("?", "/frames?"))
      .then(async (answer) => (answer.ok ? new Frames(await answer.json()) : null))
      .catch(() => null);
    times.set(film, held);
  }
  return held;
}
