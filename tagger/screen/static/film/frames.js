// When each frame of a film is shown. Times are whole units of the film's own time base, as the server counts them;
// milliseconds are rounded exactly as the server rounds them (nearest, a half up).

const NEAR_S = 0.02;

/** @typedef {{base: [number, number], steps: [number, number][], version?: string}} FrameTimes */

export class Frames {
  /** @param {FrameTimes} times */
  constructor({ base, steps, version = "" }) {
    /** The word for the file that these are the frames of, among those that can be played for the film. */
    this.version = version;
    const [numerator, denominator] = base;
    this.numerator = numerator;
    this.denominator = denominator;
    this.n = steps.reduce((n, [, count]) => n + count, 0);
    /** Start of each frame, and the end of the last, in units. */
    this.starts = new Float64Array(this.n + 1);
    let frame = 0;
    let at = 0;
    for (const [step, count] of steps) {
      for (let left = count; left > 0; left--) {
        at += step;
        this.starts[++frame] = at;
      }
    }
  }

  /** Film time of a frame, nearest integer ms. @param {number} frame */
  atMs(frame) {
    const units = this.starts[this.#inside(frame)] * this.numerator;
    const rest = units % this.denominator;
    const whole = (units - rest) / this.denominator;
    return whole * 1000 + Math.floor((rest * 2000 + this.denominator) / (2 * this.denominator));
  }

  /**
   * Seconds at the middle of a frame: where to seek to be sure of it. Of one that stands long, where the camera was
   * paused, near its beginning: a browser may take the rest for the key frame's that follows.
   * @param {number} frame
   */
  middle(frame) {
    const inside = this.#inside(frame);
    const unit = this.numerator / this.denominator;
    const half = (this.starts[inside + 1] - this.starts[inside]) / 2;
    return (this.starts[inside] + Math.min(half, NEAR_S / unit)) * unit;
  }

  /** The frame whose start is nearest to a time in seconds; of two, the earlier. @param {number} seconds */
  nearest(seconds) {
    const aim = seconds * (this.denominator / this.numerator);
    let lo = 0;
    let hi = this.n;
    while (lo < hi) {
      const middle = (lo + hi) >> 1;
      if (this.starts[middle] > aim) hi = middle;
      else lo = middle + 1;
    }
    const before = Math.max(0, lo - 1);
    const next = Math.min(this.n - 1, lo);
    return aim - this.starts[before] <= this.starts[next] - aim ? before : next;
  }

  /** The frame meant by a film time. @param {number} atMs */
  nearestMs(atMs) {
    return this.nearest(atMs / 1000);
  }

  /** @param {number} frame */
  #inside(frame) {
    return Math.max(0, Math.min(this.n - 1, frame));
  }
}
