// Films that are begun and not whole; at the laptop they can be cleared.
import { el } from "/screen/view/dom.js";

/** @typedef {{id: string, what: string, size: string, there: string, share: number, coming: boolean}} Coming */

/**
 * @param {HTMLElement} list
 * @param {Coming[]} coming
 * @param {(one: Coming) => void} [clear]
 */
export function drawComing(list, coming, clear) {
  const text = JSON.stringify(coming);
  if (list.dataset.drawn === text) return;
  list.dataset.drawn = text;
  list.replaceChildren(
    ...coming.map((one) => {
      const track = el("span", { class: "track", role: "progressbar", "aria-valuemin": 0, "aria-valuemax": 100, "aria-valuenow": Math.round(one.share * 100), "aria-label": one.what }, el("i"));
      track.style.setProperty("--share", `${one.share * 100}%`);
      const stands = one.coming ? "coming in" : "begun; choose the same file again on its device to go on";
      return el(
        "li",
        { class: one.coming ? "" : "resting" },
        el("span", {}, el("b", {}, one.what), el("br"), el("small", { class: "soft" }, stands)),
        el("span", { class: "how" }, track, el("small", {}, `${one.there} of ${one.size}`)),
        el("span", { class: "acts" }, ...(clear ? [el("button", { type: "button", "aria-label": `${one.what}: clear what has come`, onclick: () => clear(one) }, "Clear")] : [])),
      );
    }),
  );
}
