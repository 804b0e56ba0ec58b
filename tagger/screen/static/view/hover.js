// Hovering over the line of time shows the moment under the pointer: its picture, when it is, whose ball, how that ended, the score.
import { clockAt } from "../marks/gameclock.js";
import { endOf } from "../marks/groups.js";
import { clock, el } from "./dom.js";

/** @typedef {import("../film/onscreen.js").Film} Film */
/** @typedef {import("./timeline.js").TimelineView} TimelineView */

const REST_MS = 120; // how long the pointer rests before a picture is asked for
const WIDTH_PX = 240;

export class HoverView {
  /**
   * @param {HTMLElement} element
   * @param {TimelineView} timeline
   * @param {() => Film[]} films
   * @param {(ms: number) => string} say what is known of a game time
   */
  constructor(element, timeline, films, say) {
    this.say = say;
    this.element = element;
    this.films = films;
    this.picture = el("img", { alt: "", width: WIDTH_PX, hidden: true });
    this.time = el("span");
    this.timer = 0;
    element.append(this.picture, this.time);
    timeline.canvas.addEventListener("pointermove", (event) => {
      if (event.pointerType === "mouse") this.show(timeline.timeAt(event.offsetX), event.offsetX, timeline.canvas.clientWidth);
    });
    timeline.canvas.addEventListener("pointerleave", () => this.hide());
    document.addEventListener("pointermove", ({ target }) => target !== timeline.canvas && this.hide()); // one that left unseen, as by a key
    for (const leaves of ["keydown", "blur"]) window.addEventListener(leaves, () => this.hide());
  }

  /** @param {number} ms @param {number} x px @param {number} width px of the line of time */
  show(ms, x, width) {
    this.element.hidden = false;
    this.element.style.left = `${Math.max(0, Math.min(width - WIDTH_PX, x - WIDTH_PX / 2))}px`;
    this.time.textContent = [clock(ms), this.say(ms)].filter(Boolean).join(" · ");
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => {
      const film = this.films().filter((one) => one.state === "ready" && one.offset_ms <= ms).at(-1);
      this.picture.hidden = !film;
      if (!film) return;
      const at = Math.round(Math.min(ms - film.offset_ms, film.duration_ms) / 500) * 500;
      this.picture.src = `/film/${encodeURIComponent(film.id)}/still/${at}.jpg?width=${WIDTH_PX}`;
    }, REST_MS);
  }

  hide() {
    if (this.element.hidden) return;
    clearTimeout(this.timer);
    this.element.hidden = true;
    this.picture.hidden = true;
  }
}

const TEAMS = /** @type {Record<string, string>} */ ({ ours: "our ball", theirs: "their ball" });

/**
 * What is known of a game time: the clock, whose ball and how that ended, the score before it.
 * @param {import("../marks/language.js").Language} language
 * @param {import("../marks/folded.js").Folded} folded
 * @param {import("../marks/groups.js").Group[]} groups
 * @param {number} ms
 */
export function wordsAt(language, folded, groups, ms) {
  const now = clockAt(folded, ms);
  const left = now && now.left !== null ? `${clock(now.left * 1000)} left in period ${now.period}` : "";
  const group = groups.filter((one) => one.from <= ms).at(-1);
  const on = group?.team && (group.to === null || ms <= group.to) ? group : undefined;
  const ball = on && [TEAMS[on.team], endOf(language, on)?.name].filter(Boolean).join(": ");
  const score = group && (group.score && group.to !== null && ms > group.to ? group.score : group.before).join("–");
  return [left, ball, score].filter(Boolean).join(" · ");
}
