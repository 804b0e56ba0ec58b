// The lines of clips in the tray, with the star of each; an opened list can be put in order, and has notes.
import { el } from "/screen/view/dom.js";
import { lineOf } from "./furniture.js";
import { KeptClips } from "./kept_clips.js";

/** @typedef {import("./playlist.js").Clip} Clip */

export class ClipList {
  /** @param {HTMLElement} root the tray @param {(from: number, to: number) => void} onOrder a person puts a clip elsewhere */
  constructor(root, onOrder) {
    this.root = root;
    this.list = /** @type {HTMLElement} */ (root.querySelector("ol"));
    this.name = /** @type {HTMLInputElement} */ (root.querySelector("input.name"));
    this.note = /** @type {HTMLInputElement} */ (root.querySelector(".note input"));
    /** @type {KeptClips | null} */
    this.kept = null;
    /** The list that is shown; empty where it is a number's clips. */
    this.opened = "";
    /** @type {Clip[]} */
    this.clips = [];
    this.at = 0;
    this.name.addEventListener("input", () => this.draw());
    this.note.addEventListener("change", () => {
      this.kept?.note(this.opened, this.clips[this.at].id, this.note.value.trim());
      this.draw();
    });
    this.#dragged(onOrder);
  }

  /** What the star puts clips into. */
  get into() {
    return this.opened || this.name.value.trim() || "Tuesday";
  }

  /** What is in the named list, to be played. @returns {string[][]} */
  get rows() {
    return this.kept?.of(this.into).map(({ table, id }) => [table, id]) ?? [];
  }

  /** @param {Clip[]} clips @param {string} season @param {string} opened */
  fill(clips, season, opened) {
    if (season && !this.kept) this.kept = new KeptClips(localStorage, season);
    this.clips = clips;
    this.opened = opened;
    this.draw();
  }

  /** @param {number} at the clip that plays */
  mark(at) {
    this.at = at;
    for (const [number, line] of [...this.list.children].entries()) {
      line.classList.toggle("on", number === at);
      line.querySelector("[data-clip]")?.setAttribute("aria-current", String(number === at));
      if (number === at) this.list.scrollTop = /** @type {HTMLElement} */ (line).offsetTop - this.list.offsetTop - 40;
    }
    this.note.value = this.#noteOf(this.clips[at]);
  }

  /** In or out of the list. @param {number} number */
  star(number) {
    const clip = this.clips[number];
    if (clip) this.kept?.turn(this.into, clip);
    this.draw();
  }

  draw() {
    const { kept, into } = this;
    const held = /** @type {HTMLElement | null} */ (document.activeElement?.closest("#dock ol button"));
    const { star, clip } = held?.dataset ?? {};
    this.list.replaceChildren(...this.clips.map((one, number) => lineOf(one, number, kept?.has(into, one.id) ?? false, this.#noteOf(one))));
    this.mark(this.at);
    const again = star ? `[data-star="${star}"]` : `[data-clip="${clip}"]`;
    if (held) (/** @type {HTMLElement | null} */ (this.list.querySelector(again)) ?? /** @type {HTMLElement} */ (this.root.firstElementChild)).focus({ preventScroll: true });
    const open = /** @type {HTMLElement} */ (this.root.querySelector("[data-does=open]"));
    open.textContent = `open “${into}”, ${this.rows.length}`;
    open.hidden = this.rows.length === 0;
    /** @type {HTMLElement} */ (this.root.querySelector(".note")).hidden = !this.opened;
    this.root.querySelector("datalist")?.replaceChildren(...(kept?.names ?? []).map((name) => el("option", { value: name })));
  }

  /** @param {Clip | undefined} clip */
  #noteOf(clip) {
    return (this.opened && clip && this.kept?.of(this.opened).find((one) => one.id === clip.id)?.note) || "";
  }

  /** @param {(from: number, to: number) => void} onOrder */
  #dragged(onOrder) {
    const place = (/** @type {Event} */ event) => [...this.list.children].indexOf(/** @type {Element} */ (/** @type {Element} */ (event.target).closest("li")));
    let from = -1;
    this.list.addEventListener("dragstart", (event) => {
      from = this.opened ? place(event) : -1;
      if (from < 0) event.preventDefault();
    });
    this.list.addEventListener("dragover", (event) => from >= 0 && event.preventDefault());
    this.list.addEventListener("drop", (event) => {
      const to = place(event);
      if (from >= 0 && to >= 0) onOrder(from, to);
      from = -1;
    });
  }
}
