// One film in a video element, by frames: which one is on screen, and going to another one exactly.
import { Frames } from "./frames.js";

/** @typedef {{kind: string, state: string, share: number, left_s: number | null, why: string}} Coming a file being made */
/**
 * @typedef {{id: string, name: string, offset_ms: number, duration_ms: number, n_frames: number, state: string,
 *   version: string, until_ms: number, damage: {kind: string, start_ms: number, end_ms: number, line: string}[],
 *   coming: Coming | null, camera: string, tied: boolean}} Film `version` is the word for the file that plays, `until_ms` how much of the film it holds,
 *   `camera` which other camera it is from (empty: the game's own film), `tied` whether its place in the game is known
 */

const NO_PICTURE_MS = 300; // a seek that shows no picture by then (a tab in the background) counts as done

export class OnScreen {
  /**
   * @param {HTMLVideoElement} video
   * @param {() => void} onFrame called when another frame is on screen
   */
  constructor(video, onFrame) {
    this.video = video;
    this.onFrame = onFrame;
    /** @type {Film | null} */
    this.film = null;
    /** @type {Frames | null} */
    this.frames = null;
    /** Frame on screen. */
    this.frame = 0;
    /** Media time of the first frame, seconds. @type {number | null} */
    this.base = null;
    /** @type {number | null} */
    this.aim = null;
    this.waiting = false;
    this.late = 0;
    video.addEventListener("seeked", () => this.#seeked());
    this.#watch();
  }

  /**
   * Show another film; resolves when its first frame is on screen.
   * @param {Film} film
   * @param {Frames} frames
   */
  async load(film, frames) {
    this.film = film;
    this.frames = null;
    this.frame = 0;
    this.base = null;
    this.aim = null;
    this.waiting = false;
    const { video } = this;
    video.addEventListener("loadstart", () => (this.frames = frames), { once: true });
    video.src = `/film/${encodeURIComponent(film.id)}${frames.version ? `?v=${frames.version}` : ""}`;
    await new Promise((resolve, reject) => {
      video.addEventListener("loadeddata", resolve, { once: true });
      video.addEventListener("error", () => reject(new Error(unplayable(video))), { once: true });
    });
    if (!video.videoWidth) throw new Error("the browser plays the sound of this film but no picture");
    const end = performance.now() + NO_PICTURE_MS;
    while (this.base === null && performance.now() < end) await new Promise((resolve) => setTimeout(resolve, 5));
    if (this.base === null) this.base = 0;
  }

  /** Film time of the frame on screen, ms. */
  get atMs() {
    return this.frames?.atMs(this.frame) ?? 0;
  }

  /** The frame on screen, or the one on its way there. */
  get target() {
    return this.aim ?? this.frame;
  }

  /** @param {number} frame */
  goTo(frame) {
    if (!this.frames || this.base === null) return;
    this.aim = Math.max(0, Math.min(this.frames.n - 1, frame));
    if (!this.waiting) this.#seek();
  }

  #seek() {
    if (this.aim === null || !this.frames) return;
    this.waiting = true;
    this.asked = this.aim;
    this.video.currentTime = (this.base ?? 0) + this.frames.middle(this.aim);
  }

  #seeked() {
    this.waiting = false;
    if (this.aim !== null && this.aim !== this.asked) return this.#seek();
    clearTimeout(this.late);
    const { aim } = this;
    this.late = window.setTimeout(() => this.#arrived(aim ?? this.frame), NO_PICTURE_MS);
    if (this.aim === this.frame) this.#arrived(this.frame);
  }

  /** @param {number} frame */
  #arrived(frame) {
    if (this.aim === frame || !this.waiting) {
      this.aim = null;
      clearTimeout(this.late);
    }
    if (frame === this.frame) return;
    this.frame = frame;
    this.onFrame();
  }

  #watch() {
    this.video.requestVideoFrameCallback((_, { mediaTime }) => {
      this.#watch();
      if (!this.frames) return;
      if (this.base === null) {
        this.base = mediaTime;
        this.frame = 0;
        return this.onFrame();
      }
      this.#arrived(this.frames.nearest(mediaTime - this.base));
    });
  }
}

/** @param {HTMLVideoElement} video */
function unplayable(video) {
  return video.error?.code === 4 ? "the browser cannot play this film" : "the film could not be read to here";
}
