// One video element that plays stretches of films: exact at the beginning, held at the end.

/** @typedef {import("./playlist.js").Piece} Piece */

const OVER_S = 0.05;
const FIRST_FRAME_MS = 10000; // a tab in the background shows no frame; by then its clock is taken to begin with 0

export class Player {
  /**
   * @param {HTMLVideoElement} video
   * @param {() => void} onEnd the piece in hand is over
   * @param {() => void} onChange played, held, moved on
   */
  constructor(video, onEnd, onChange) {
    this.video = video;
    this.onEnd = onEnd;
    /** @type {Piece | null} */
    this.piece = null;
    this.film = "";
    /** The browser's time of the film's first frame. */
    this.base_s = 0;
    this.turn = 0;
    this.fault = "";
    for (const name of ["play", "pause", "waiting", "playing", "seeked"]) video.addEventListener(name, onChange);
    video.addEventListener("timeupdate", () => this.#watch(video.currentTime));
    video.addEventListener("ended", () => this.#watch(Infinity));
    video.addEventListener("error", () => {
      this.fault = "This film can’t be played here.";
      onChange();
    });
    this.#frames();
  }

  get playing() {
    return !this.video.paused && !this.video.ended;
  }

  /** Seconds into the piece. */
  get at_s() {
    return this.piece ? Math.max(0, this.video.currentTime - this.base_s - this.piece.start_s) : 0;
  }

  /** Play a piece from its first frame. @param {Piece} piece @param {boolean} run */
  async show(piece, run) {
    const turn = ++this.turn;
    this.fault = "";
    this.video.pause();
    this.piece = null;
    if (this.film !== piece.film) {
      this.film = piece.film;
      this.base_s = await this.#load(piece.film);
      if (turn !== this.turn) return;
    }
    await this.#seek(this.base_s + piece.start_s + 0.001);
    if (turn !== this.turn) return;
    this.piece = piece;
    if (run) await this.video.play().catch(() => undefined);
  }

  toggle() {
    if (this.playing) this.video.pause();
    else void this.video.play().catch(() => undefined);
  }

  /** Let go of the film, so that nothing is held open. */
  clear() {
    this.turn++;
    this.piece = null;
    this.film = "";
    this.video.removeAttribute("src");
    this.video.load();
  }

  /** The browser's time of a film's first frame: many a camera's clock runs before it. @param {string} film @returns {Promise<number>} */
  #load(film) {
    const { video } = this;
    return new Promise((done) => {
      const from = (/** @type {number} */ base_s) => {
        clearTimeout(late);
        video.removeEventListener("loadedmetadata", ask);
        video.removeEventListener("error", none);
        done(base_s);
      };
      const none = () => from(0);
      const ask = () => { // not before: the film on screen until now may still show a frame of its own
        if (!("requestVideoFrameCallback" in video)) return none();
        video.requestVideoFrameCallback((_, { mediaTime }) => from(mediaTime));
      };
      const late = setTimeout(none, FIRST_FRAME_MS);
      video.addEventListener("loadedmetadata", ask);
      video.addEventListener("error", none);
      video.src = film;
    });
  }

  /** @param {number} to_s @returns {Promise<void>} */
  #seek(to_s) {
    const { video } = this;
    return new Promise((done) => {
      video.addEventListener("seeked", () => done(), { once: true });
      video.addEventListener("error", () => done(), { once: true });
      video.currentTime = to_s;
    });
  }

  #frames() {
    const { video } = this;
    if (!("requestVideoFrameCallback" in video)) return;
    /** @param {number} _ @param {{mediaTime: number}} frame */
    const each = (_, { mediaTime }) => {
      video.requestVideoFrameCallback(each); // first: a frame that is shown meanwhile is told too
      this.#watch(mediaTime);
    };
    video.requestVideoFrameCallback(each);
  }

  /** @param {number} at_s */
  #watch(at_s) {
    if (!this.piece || !this.playing || at_s < this.base_s + this.piece.end_s) {
      if (!(this.piece && at_s === Infinity)) return;
    }
    const { turn } = this;
    const end_s = this.base_s + this.piece.end_s;
    this.piece = null;
    this.video.pause();
    this.onEnd();
    const over = this.turn === turn && at_s !== Infinity && at_s > end_s + OVER_S;
    if (over) this.video.currentTime = end_s - 0.001; // a busy machine saw the end late: held is where the piece ends
  }
}
