// Plays stretches of films on two video elements: one is seen, the other stands ready on what comes next.
import { Screen } from "./screen.js";

/** @typedef {import("./playlist.js").Piece} Piece */

/** What a speed is called. */
export const PACES = new Map([[1, "1×"], [0.5, "½×"], [0.25, "¼×"]]);
const OVER_S = 0.05;
const AGAIN_S = 4;
const FASTEST = 4;
const LOUDEST = 2; // faster than this the sound is noise

export class Player {
  /**
   * @param {HTMLVideoElement[]} videos two
   * @param {() => void} onEnd the piece in hand is over
   * @param {() => void} onChange played, held, moved on
   */
  constructor(videos, onEnd, onChange) {
    this.onEnd = onEnd;
    this.onChange = onChange;
    this.screens = videos.map((video, place) => new Screen(video, (at_s) => place === this.place && this.#watch(at_s), onChange));
    this.place = 0;
    /** @type {Piece | null} */
    this.piece = null;
    this.turn = 0;
    this.pace = 1;
    /** @type {{to_s: number, on: boolean} | null} the last seconds shown again: until when, and whether it plays on then */
    this.again = null;
    this.backwards = 0;
    this.#see(0);
  }

  get screen() {
    return this.screens[this.place];
  }

  get video() {
    return this.screen.video;
  }

  get playing() {
    return this.screen.playing || this.backwards < 0;
  }

  get fault() {
    return this.screen.fault;
  }

  /** Seconds into the piece. */
  get at_s() {
    return this.piece ? Math.max(0, this.screen.at_s - this.piece.start_s) : 0;
  }

  /** Play a piece from its first frame; what is seen stays until that is there. @param {Piece} piece @param {boolean} run */
  async show(piece, run) {
    const turn = ++this.turn;
    this.#plain();
    this.video.pause();
    this.piece = null;
    const other = this.screens[1 - this.place];
    const place = same(other.stands, piece) || this.screen.film !== piece.film ? 1 - this.place : this.place;
    const screen = this.screens[place];
    if (!same(screen.stands, piece) || place === this.place) {
      await screen.ready(piece);
      if (turn !== this.turn) return;
    }
    screen.stands = null; // it moves on from there
    this.#see(place);
    this.piece = piece;
    if (run) await this.#run(this.pace);
    else this.onChange();
  }

  /** Have a piece stand ready behind what is seen. @param {Piece | null} piece */
  prepare(piece) {
    const other = this.screens[1 - this.place];
    if (piece && !same(other.stands, piece)) void other.ready(piece);
  }

  toggle() {
    if (this.playing) this.hold();
    else void this.#run(this.pace);
  }

  hold() {
    this.#plain();
    this.video.pause();
    this.onChange();
  }

  /** Faster that way each time. @param {1 | -1} way */
  shuttle(way) {
    const speed = this.backwards || (this.screen.playing ? this.video.playbackRate : 0);
    const to = Math.sign(speed) === way && Math.abs(speed) >= 1 ? Math.min(FASTEST, Math.abs(speed) * 2) : 1;
    this.#plain();
    if (way > 0) return void this.#run(to);
    this.video.pause();
    this.backwards = -to;
    this.#back(this.at_s, performance.now(), -to);
  }

  /** @param {1 | -1} way */
  step(way) {
    this.#plain();
    void this.screen.step(way).then(() => this.onChange());
  }

  /** Within the piece. @param {number} seconds */
  jump(seconds) {
    const { piece } = this;
    if (!piece) return;
    this.again = null;
    void this.screen.seek(Math.min(piece.end_s - 0.1, Math.max(piece.start_s, this.screen.at_s + seconds)));
  }

  /** The last four seconds at half speed, then on as before. */
  replay() {
    const { piece } = this;
    const to_s = this.again?.to_s ?? this.screen.at_s;
    const on = this.again?.on ?? this.screen.playing;
    if (!piece) return;
    this.#plain();
    const again = { to_s, on };
    this.again = again;
    void this.screen.seek(Math.max(piece.start_s, to_s - AGAIN_S)).then(() => (this.again === again ? this.#run(0.5) : undefined));
  }

  /** Full, half, quarter speed in turn. */
  slower() {
    this.pace = this.pace === 1 ? 0.5 : this.pace === 0.5 ? 0.25 : 1;
    this.video.playbackRate = this.pace;
    this.onChange();
  }

  /** Let go of the films, so that nothing is held open. */
  clear() {
    this.turn++;
    this.piece = null;
    this.#plain();
    for (const screen of this.screens) screen.clear();
  }

  #plain() {
    this.again = null;
    this.backwards = 0;
  }

  /** @param {number} rate */
  async #run(rate) {
    this.backwards = 0;
    this.video.playbackRate = rate;
    this.video.muted = rate > LOUDEST;
    await this.video.play().catch(() => undefined);
  }

  /** @param {number} place */
  #see(place) {
    this.place = place;
    for (const [number, { video }] of this.screens.entries()) {
      video.classList.toggle("on", number === place);
      if (number !== place) video.pause();
    }
  }

  /** Backwards by seeking, as fast as pictures come. @param {number} from_s into the piece @param {number} since @param {number} rate */
  #back(from_s, since, rate) {
    const { piece, turn } = this;
    const tick = () => {
      if (this.backwards !== rate || turn !== this.turn || !piece) return;
      const to_s = from_s + (rate * (performance.now() - since)) / 1000;
      if (!this.video.seeking) void this.screen.seek(piece.start_s + Math.max(0, to_s));
      if (to_s <= 0) return this.hold();
      requestAnimationFrame(tick);
    };
    tick();
  }

  /** @param {number} at_s the browser's */
  #watch(at_s) {
    const { piece, screen } = this;
    if (!piece) return;
    const base_s = screen.base_s;
    if (this.again && screen.playing && at_s >= base_s + this.again.to_s) {
      const { on } = this.again;
      this.again = null;
      return on ? void this.#run(this.pace) : this.hold();
    }
    if (at_s !== Infinity && !(screen.playing && at_s >= base_s + piece.end_s)) return;
    const { turn } = this;
    const end_s = base_s + piece.end_s;
    this.piece = null;
    screen.video.pause();
    this.onEnd();
    const over = this.turn === turn && at_s !== Infinity && at_s > end_s + OVER_S;
    if (over) screen.video.currentTime = end_s - 0.001; // a busy machine saw the end late: held is where the piece ends
  }
}

/** @param {Piece | null} one @param {Piece} other */
const same = (one, other) => one?.film === other.film && one.start_s === other.start_s;
