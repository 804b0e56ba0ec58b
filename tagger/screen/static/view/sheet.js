// The sheet of all keys, made from the vocabulary.
import { CAMERA_KEYS } from "./camera.js";
import { FILM_KEYS } from "./filmkeys.js";
import { WALK_KEYS } from "./walk.js";
import { capOf, el } from "./dom.js";

/** @typedef {import("../language.js").Language} Language */
/** @typedef {{key: string, name: string}} Cap */

const HAND_KEYS = [
  { key: "Enter", name: "take what is offered, else skip the question" },
  { key: "Shift+Enter", name: "skip the question, whatever is offered" },
  { key: "Escape", name: "leave the questions" },
  { key: "Backspace", name: "take back" },
  { key: "Shift+Backspace", name: "bring back" },
  { key: "?", name: "this sheet" },
];

/**
 * @param {HTMLDialogElement} dialog
 * @param {Language} language
 */
export function fillSheet(dialog, language) {
  const marks = language.data.kinds.filter((kind) => kind.keys.length);
  const asked = marks.filter((kind) => kind.questions.some((question) => question.choices?.length));
  dialog.replaceChildren(
    el("header", {}, el("h2", {}, "All keys"), el("button", { class: "plain", onclick: () => dialog.close() }, "Close")),
    el(
      "div",
      { class: "columns" },
      part("Film", [...FILM_KEYS, ...CAMERA_KEYS]),
      part("The hand", HAND_KEYS),
      part("Walking through what happened", WALK_KEYS),
      part("Marks", marks.flatMap((kind) => kind.keys)),
      ...asked.map((kind) => answers(kind)),
    ),
  );
}

/** @param {string} title @param {Cap[]} caps */
function part(title, caps) {
  return el("section", {}, el("h3", {}, title), ...caps.map(line));
}

/** @param {Cap} cap */
function line({ key, name }) {
  return el("p", {}, el("kbd", {}, capOf(key)), name);
}

/** A list's places, before its other answers. @param {import("../language.js").Question} question @returns {Cap[]} */
function places(question) {
  return question.type === "look" ? [{ key: "1", name: "its first look, 2 its second, and so on" }] : [];
}

/** @param {import("../language.js").Kind} kind */
function answers(kind) {
  const title = `After ${kind.name}`;
  const parts = kind.questions
    .filter((question) => question.choices?.length)
    .flatMap((question) => [el("p", { class: "soft" }, question.ask), ...[...places(question), ...(question.choices ?? [])].map(line)]);
  return el("section", {}, el("h3", {}, title), ...parts);
}
