// The files that were chosen, in their order, with what the server says of each at a glance.
import { el } from "/screen/view/dom.js";
import { ask } from "/screen/outbox/server.js";
import { told } from "./listing.js";

/** @typedef {import("./listing.js").Entry} Entry */
/** @typedef {{entry: Entry, what: string, how: string, why: string, need: number, known: boolean}} Pick */

export class Chosen {
  /** @param {HTMLElement} list @param {() => void} onChange */
  constructor(list, onChange) {
    this.list = list;
    this.onChange = onChange;
    /** @type {Pick[]} */
    this.picks = [];
  }

  /** @param {string} token */
  has(token) {
    return this.picks.some((pick) => pick.entry.token === token);
  }

  /** @param {Entry} entry @param {boolean} chosen */
  put(entry, chosen) {
    this.picks = this.picks.filter((pick) => pick.entry.token !== entry.token);
    if (chosen) {
      const pick = { entry, what: "looking …", how: "", why: "", need: 0, known: false };
      this.picks.push(pick);
      void this.#look(pick);
    }
    this.draw();
  }

  clear() {
    this.picks = [];
    this.draw();
  }

  get tokens() {
    return this.picks.map((pick) => pick.entry.token);
  }

  /** Whether nothing chosen is known to be no film. */
  get sound() {
    return this.picks.length > 0 && this.picks.every((pick) => !pick.why);
  }

  /** @param {Pick} pick */
  async #look(pick) {
    try {
      const seen = await ask(`/films/glance/${pick.entry.token}.json`);
      Object.assign(pick, { what: seen.what ?? "", how: seen.how ?? "", why: seen.why ?? "", need: seen.need ?? 0 });
    } catch (fault) {
      Object.assign(pick, { what: "", why: told(fault) });
    }
    pick.known = true;
    this.draw();
  }

  draw() {
    this.list.replaceChildren(...this.picks.map((pick, place) => this.#row(pick, place)));
    this.onChange();
  }

  /** @param {Pick} pick @param {number} place */
  #row(pick, place) {
    const { name } = pick.entry;
    const act = (/** @type {string} */ text, /** @type {string} */ label, /** @type {() => void} */ does) =>
      el("button", { type: "button", "aria-label": label, title: label, onclick: does }, text);
    const up = place > 0 && act("↑", `${name}: earlier`, () => this.#move(place, -1));
    const down = place < this.picks.length - 1 && act("↓", `${name}: later`, () => this.#move(place, 1));
    const off = act("×", `${name}: leave out`, () => this.leaveOut(pick));
    return el(
      "li",
      {},
      el("span", { class: "n" }, String(place + 1)),
      el("b", {}, name),
      el("span", { class: "moves" }, up, down, off),
      pick.why ? el("small", { class: "bad" }, pick.why) : el("small", {}, pick.what),
      pick.how ? el("small", {}, pick.how) : null,
    );
  }

  /** @param {Pick} pick */
  leaveOut(pick) {
    this.put(pick.entry, false);
  }

  /** @param {number} place @param {number} by */
  #move(place, by) {
    const [pick] = this.picks.splice(place, 1);
    this.picks.splice(place + by, 0, pick);
    this.moved = true;
    this.draw();
  }

  /** Whether somebody put them into an order. */
  moved = false;
}
