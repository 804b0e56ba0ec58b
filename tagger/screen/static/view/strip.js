// The prompt strip: what the hand is at, and one quiet row of the keys that mean something now. Each can be tapped.
import { capOf, el, say } from "./dom.js";

/** @typedef {import("../offers.js").Option} Option */
/** @typedef {{key: string, name: string, offer?: boolean}} Cap */

export class StripView {
  /**
   * @param {HTMLElement} said the line above the row
   * @param {HTMLElement} row
   * @param {(stroke: string) => void} onStroke
   */
  constructor(said, row, onStroke) {
    this.said = said;
    this.row = row;
    this.onStroke = onStroke;
    this.key = "";
  }

  /**
   * @param {{lead: string, ask: string, typed: string, hint: string}} words
   * @param {Cap[]} caps
   */
  draw({ lead, ask, typed, hint }, caps) {
    const key = JSON.stringify([lead, ask, typed, hint, caps]);
    if (key === this.key) return;
    this.key = key;
    this.said.replaceChildren(
      ...[lead && el("b", {}, lead), lead && " ", ask, typed && el("span", { class: "typed" }, ` ${typed}`), hint && el("span", { class: "hint" }, hint)].filter(Boolean),
    );
    this.row.replaceChildren(...caps.map((cap) => this.#cap(cap)));
  }

  /** @param {Cap} cap */
  #cap({ key, name, offer = false }) {
    return el(
      "button",
      {
        class: offer ? "k offer" : "k",
        tabindex: -1,
        "data-key": key,
        onpointerdown: (event) => event.preventDefault(),
        onclick: () => this.onStroke(key),
      },
      el("kbd", {}, capOf(key)),
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
