// The prompt strip: what the hand is at, and one quiet row of the keys that mean something now. Each can be tapped.
import { capOf } from "../keys/own.js";
import { el, say } from "./dom.js";

/** @typedef {import("../marks/offers.js").Option} Option */
/**
 * `strokes`: what a tap presses, the key when left out; `rare`: shown smaller, on a line of their own.
 * @typedef {{key: string, name: string, offer?: boolean, strokes?: string[], rare?: boolean}} Cap
 */

/** `waits`: keys that wait because the open question refused the first. @typedef {{lead: string, ask: string, typed: string, hint: string, about: string, waits?: string}} Words */

export class CapsView {
  /**
   * @param {HTMLElement} said the line above the row
   * @param {HTMLElement} row
   * @param {HTMLElement} about the line below it: what the open question means
   * @param {(stroke: string) => void} onStroke
   */
  constructor(said, row, about, onStroke) {
    this.said = said;
    this.row = row;
    this.about = about;
    this.onStroke = onStroke;
    this.key = "";
  }

  /**
   * @param {Words} words
   * @param {Cap[]} caps
   */
  draw({ lead, ask, typed, hint, about, waits = "" }, caps) {
    const key = JSON.stringify([lead, ask, typed, hint, about, waits, caps]);
    if (key === this.key) return;
    this.key = key;
    this.about.replaceChildren(...[waits && el("span", { class: "waits" }, waits), about && el("span", {}, about), hint && el("span", { class: "hint" }, hint)].filter(Boolean));
    this.about.hidden = !about && !hint && !waits;
    this.said.replaceChildren(
      ...[lead && el("b", {}, lead), lead && " ", ask, typed && el("span", { class: "typed" }, ` ${typed}`)].filter(Boolean),
    );
    const usual = caps.filter((cap) => !cap.rare);
    const rare = caps.filter((cap) => cap.rare).map((cap) => this.#cap(cap));
    this.row.replaceChildren(...usual.map((cap) => this.#cap(cap)), ...(rare.length ? [el("span", { class: "rares" }, ...rare)] : []));
  }

  /** @param {Cap} cap */
  #cap({ key, name, offer = false, strokes = [key], rare = false }) {
    return el(
      "button",
      {
        class: offer ? "k offer" : rare ? "k rare" : key ? "k" : "k rest",
        tabindex: -1,
        "data-key": key,
        onpointerdown: (event) => event.preventDefault(),
        onclick: () => strokes.forEach((stroke) => this.onStroke(stroke)),
      },
      key && el("kbd", {}, capOf(key)),
      name,
    );
  }
}

/**
 * What the page says for a moment, and to a screen reader.
 * @param {HTMLElement} element
 * @param {string} text
 */
export function tell(element, text) {
  say(element, text);
  element.classList.toggle("on", text !== "");
}
