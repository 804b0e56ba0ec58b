// The line of time under the film: the game's time from left to right, our possessions above the line, theirs below, a shape
// where each ended, and where the film is; under it what is known of the film itself.
import { Band } from "./band.js";

/** @typedef {import("../marks/groups.js").Group} Group */

const OURS_Y = 16;
const THEIRS_Y = 30;
const MIDDLE_Y = 23;
const BAND_Y = 46;
const HEIGHT = 50;
const NEAR_PX = 3;

export class TimelineView {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {(gameMs: number) => void} onGo
   */
  constructor(canvas, onGo) {
    this.canvas = canvas;
    this.lengthMs = 1;
    /** @type {Group[]} */
    this.groups = [];
    this.nowMs = 0;
    this.width = 0;
    this.asked = 0;
    /** @type {Map<string, string>} colours of the room, asked for once */
    this.colours = new Map();
    this.band = new Band();
    canvas.addEventListener("pointermove", (event) => {
      const text = this.band.say(this.timeAt(event.offsetX), (NEAR_PX / Math.max(1, this.width)) * this.lengthMs);
      if (canvas.title !== text) canvas.title = text;
    });
    canvas.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      onGo(this.timeAt(event.offsetX));
    });
    new ResizeObserver(([{ contentRect }]) => {
      this.width = contentRect.width;
      this.#paint();
    }).observe(canvas);
  }

  /** @param {number} x px from the left */
  timeAt(x) {
    return Math.max(0, Math.min(this.lengthMs, (x / Math.max(1, this.width)) * this.lengthMs));
  }

  /** Paint with the page's next picture. */
  paint() {
    this.asked ||= requestAnimationFrame(() => this.#paint());
  }

  #paint() {
    this.asked = 0;
    const { canvas, width } = this;
    const scale = window.devicePixelRatio || 1;
    if (canvas.width !== Math.round(width * scale)) canvas.width = Math.round(width * scale);
    if (canvas.height !== Math.round(HEIGHT * scale)) canvas.height = Math.round(HEIGHT * scale);
    const brush = canvas.getContext("2d");
    if (!brush) return;
    const colour = (/** @type {string} */ name) => this.#colour(name);
    const x = (/** @type {number} */ ms) => (ms / this.lengthMs) * width;
    brush.setTransform(scale, 0, 0, scale, 0, 0);
    brush.clearRect(0, 0, width, HEIGHT);
    brush.fillStyle = colour("line");
    brush.fillRect(0, MIDDLE_Y, width, 1);
    this.band.paint(brush, x, colour, BAND_Y);
    const size = sizeOf(width, this.groups);
    brush.lineWidth = size < 1 ? 1.2 : 1.6;
    brush.strokeStyle = colour("ink");
    for (const group of this.groups) {
      const end = x(group.to ?? Math.max(this.nowMs, group.from));
      if (!group.team) continue;
      const ours = group.team === "ours";
      brush.fillStyle = colour(ours ? "ours" : "theirs");
      brush.fillRect(x(group.from), (ours ? OURS_Y : THEIRS_Y) - 2.5, Math.max(2, end - x(group.from) - 1), 5);
      brush.fillStyle = colour("ink");
      if (group.to !== null) shape(brush, group.shape, end, ours ? 8 : 39, size);
    }
    brush.fillStyle = colour("accent");
    brush.fillRect(Math.min(width - 2, x(this.nowMs)), 0, 2, HEIGHT);
  }

  /** @param {string} name */
  #colour(name) {
    let held = this.colours.get(name);
    if (held === undefined) {
      held = getComputedStyle(this.canvas).getPropertyValue(`--${name}`);
      this.colours.set(name, held);
    }
    return held;
  }
}

/** How large shapes are drawn so that those of a whole game stand beside each other. @param {number} width px @param {Group[]} groups */
function sizeOf(width, groups) {
  const most = Math.max(1, ...["ours", "theirs"].map((team) => groups.filter((group) => group.team === team).length));
  return Math.max(0.6, Math.min(1, width / most / 12));
}

/**
 * @param {CanvasRenderingContext2D} brush
 * @param {string} name
 * @param {number} x px, the shape's middle
 * @param {number} y px, the shape's middle
 * @param {number} [size] 1 as on its own
 */
export function shape(brush, name, x, y, size = 1) {
  const [small, large] = [3 * size, 4 * size];
  brush.beginPath();
  if (name === "dot" || name === "ring") brush.arc(x, y, large, 0, 2 * Math.PI);
  else if (name === "cross") lines(brush, x - small, y - small, x + small, y + small, x + small, y - small, x - small, y + small);
  else if (name === "triangle") lines(brush, x - large, y + small, x, y - large, x, y - large, x + large, y + small, x + large, y + small, x - large, y + small);
  else if (name === "square") brush.rect(x - 3.5 * size, y - 3.5 * size, 7 * size, 7 * size);
  else if (name === "bar") lines(brush, x, y - 5, x, y + 5);
  if (name === "dot") brush.fill();
  brush.stroke();
}

/** @param {CanvasRenderingContext2D} brush @param {...number} ends x and y of both ends of each line */
function lines(brush, ...ends) {
  for (let at = 0; at < ends.length; at += 4) {
    brush.moveTo(ends[at], ends[at + 1]);
    brush.lineTo(ends[at + 2], ends[at + 3]);
  }
}
