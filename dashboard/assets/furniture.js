// What stands in the film tray: its buttons, and a line for each clip.
import { KEY, capOf } from "/screen/keys/own.js";
import { el } from "/screen/view/dom.js";
import { lengthOf } from "./playlist.js";

/** @typedef {import("./playlist.js").Clip} Clip */

const OWN = { tagging: "e", star: "s", earlier: KEY.earlier, later: KEY.later };
const SAID = [
  [[KEY.play], "play, hold"],
  [[KEY.backwards, KEY.hold, KEY.forwards], "backwards, hold, forwards"],
  [[KEY.frameBack, KEY.frameOn], "a frame"],
  [[KEY.jumpBack, KEY.jumpOn], "five seconds"],
  [[KEY.again], "the last four seconds again"],
  [[KEY.pace], "half, quarter speed"],
  [[KEY.lineBefore, KEY.nextLine], "clip before, next clip"],
  [[OWN.tagging], "open in tagging"],
  [[OWN.star], "into the list, or out"],
  [[OWN.earlier, OWN.later], "up or down in a list"],
  [[KEY.leave], "back to the page"],
  [[KEY.sheet], "these keys"],
];

/** What each key does in the tray, by the tagging page’s own keys. @type {Record<string, string>} */
export const DOES = {
  [KEY.play]: "toggle", [KEY.backwards]: "backwards", [KEY.hold]: "hold", [KEY.forwards]: "forwards",
  [KEY.frameBack]: "frameBack", [KEY.frameOn]: "frameOn", [KEY.jumpBack]: "jumpBack", [KEY.jumpOn]: "jumpOn",
  [KEY.again]: "again", [KEY.pace]: "pace", [KEY.lineBefore]: "back", [KEY.nextLine]: "on",
  [OWN.tagging]: "tagging", [OWN.star]: "star", [OWN.earlier]: "earlier", [OWN.later]: "later", [KEY.leave]: "leave", [KEY.sheet]: "keys",
};

/** The tray, empty. */
export function furnished() {
  const button = (/** @type {string} */ does, /** @type {string} */ text, /** @type {string | false} */ label = false) =>
    el("button", { type: "button", "data-does": does, "aria-label": label }, text);
  const seconds = (/** @type {string} */ name, /** @type {string} */ word) =>
    el("span", { class: "seconds", role: "group", "aria-label": `seconds ${word}` },
      `${word} `, button(`${name}Less`, "−", `a second less ${word}`), el("output", { "data-more": name }), button(`${name}More`, "+", `a second more ${word}`));
  const fold = button("fold", "Fold");
  fold.setAttribute("aria-expanded", "true");
  return el("div", { class: "card", tabindex: "-1", role: "region", "aria-label": "Film" },
    el("div", { class: "screen" },
      ...[0, 1].map(() => el("video", { playsinline: true, preload: "auto" })), el("p", { class: "empty" })),
    el("p", { class: "what", role: "status" }),
    el("div", { class: "hand" },
      button("back", "‹", "clip before"), button("toggle", "Play"), button("on", "›", "next clip"), button("pace", "1×", "1× speed"),
      button("wide", "⤢", "whole screen"), fold, el("span", { class: "soft at" })),
    el("ol"),
    el("div", { class: "foot" },
      seconds("before", "before"), seconds("after", "after"),
      el("a", { "data-does": "tagging", href: "#" }, "open in tagging"), button("send", "copy the address of this clip"), button("keys", "keys", "keys of the film"),
      el("label", {}, "★ goes into ", el("input", { class: "name", list: "clip-lists", value: "Tuesday", maxlength: "40", autocomplete: "off" })),
      el("datalist", { id: "clip-lists" }), button("open", "open this list")),
    el("label", { class: "note", hidden: true }, "Note on this clip ", el("input", { maxlength: "300", autocomplete: "off" })),
    el("p", { class: "keys", hidden: true }, ...SAID.flatMap(([keys, says]) => [
      el("span", {}, ...[...keys].map((key) => el("kbd", {}, capOf(key))), ` ${says}`), " "])));
}

/** @param {Clip} clip @param {number} number @param {boolean} starred @param {string} note */
export function lineOf(clip, number, starred, note) {
  const part = (/** @type {string} */ name, /** @type {string | Node} */ inside) => el("span", { class: name }, inside);
  const shape = clip.shape ? el("i", { class: `end ${clip.shape}`, title: clip.ended, role: "img", "aria-label": clip.ended }) : "";
  const said = note ? `${clip.what} · ${note}` : clip.what;
  return el("li", { draggable: "true" },
    el("button", { type: "button", class: "star", "data-star": String(number), "aria-pressed": String(starred), "aria-label": "in the list" }, starred ? "★" : "☆"),
    el("button", { type: "button", "data-clip": String(number), title: clip.label },
      part("shape", shape), part("foe", clip.opponent), part("clock", clip.clock), part("deed", said), part("long", `${Math.round(lengthOf(clip))} s`)));
}
