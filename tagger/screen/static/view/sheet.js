// The sheet of all keys, made from the vocabulary: grouped, each mark with its definition and its questions, and found
// again by typing. The keys are those of the language, so that the season's own stand there; the page's own say themselves.
import { example } from "./examples.js";
import { shape } from "./timeline.js";
import { capOf } from "../keys/own.js";
import { el } from "./dom.js";

/** @typedef {import("../marks/language.js").Language} Language */
/** @typedef {import("../marks/language.js").Kind} Kind */
/** @typedef {import("../marks/language.js").Question} Question */
/** @typedef {{key: string, name: string}} Cap */

const BLOCKS = /** @type {const} */ (["Film", "Questions", "The log"]);
/** @type {[string, (kind: Kind) => boolean][]} where a mark stands, the first that fits */
const GROUPS = [
  ["Marks with the ball", (kind) => "ball" in kind.needs || kind.run === "of_set" || kind.does === "possession"],
  ["Marks of the game", (kind) => "period" in kind.needs],
  ["Marks at any time", () => true],
];

/**
 * @param {HTMLDialogElement} dialog
 * @param {Language} language
 * @param {import("../keys/handlers.js").Handlers} keys the page's own
 */
export function fillSheet(dialog, language, keys) {
  const left = new Set(language.data.kinds.filter((kind) => kind.keys.length));
  const marks = GROUPS.map(([title, fits]) => {
    const its = [...left].filter(fits);
    for (const kind of its) left.delete(kind);
    return group(title, its.map((kind) => markOf(language, kind)));
  });
  const find = el("input", { type: "search", placeholder: "Find: a key or a word", "aria-label": "Find a key or a word", autofocus: true });
  const none = el("p", { class: "soft", role: "status", hidden: true }, "No key has that word.");
  const found = el(
    "div",
    { class: "sheet" },
    ...marks,
    group("The film, the questions, the log", [
      ...BLOCKS.map((title) => block(title, keys.said(title))),
      el("section", {}, el("h4", {}, "On the strip: how a possession ended"), ...language.data.shapes.map(drawn)),
    ]),
  );
  find.addEventListener("input", () => (none.hidden = narrow(found, find.value)));
  dialog.addEventListener("close", () => {
    find.value = "";
    none.hidden = narrow(found, "");
  });
  dialog.replaceChildren(
    el("header", {}, el("h2", {}, "All keys"), find, el("button", { class: "plain", onclick: () => dialog.close() }, "Close")),
    el("p", { class: "soft" }, "In the drawn examples circles attack, diamonds defend, the small dot is the ball; the goal is on top."),
    none,
    found,
  );
}

/**
 * Show only what a word or a key stands in; all where there is no word.
 * @param {HTMLElement} found
 * @param {string} text
 * @returns {boolean} whether anything is left
 */
function narrow(found, text) {
  const wanted = text.trim().toLowerCase();
  const held = text.trim();
  const fits = (/** @type {Element} */ line) =>
    !wanted || /** @type {HTMLElement} */ (line).dataset.key === held || (held.length > 1 && (line.textContent ?? "").toLowerCase().includes(wanted));
  let any = false;
  for (const part of found.querySelectorAll("section")) {
    const head = part.querySelector("h4");
    const whole = head !== null && fits(head);
    let kept = whole;
    for (const line of part.querySelectorAll("p")) {
      const shown = whole || fits(line);
      line.hidden = !shown && !line.matches(".key, .about");
      kept ||= shown;
    }
    part.hidden = !kept;
    any ||= kept;
  }
  for (const one of found.querySelectorAll(".group")) {
    /** @type {HTMLElement} */ (one).hidden = !one.querySelector("section:not([hidden])");
  }
  return any;
}

/** @param {string} title @param {HTMLElement[]} parts */
const group = (title, parts) => el("div", { class: "group" }, el("h3", {}, title), el("div", { class: "columns" }, ...parts));

/** @param {string} title @param {Cap[]} caps */
const block = (title, caps) => el("section", {}, el("h4", {}, title), ...caps.map((cap) => line(cap)));

/** @param {Cap} cap @param {string} [kind] */
function line({ key, name }, kind = "") {
  return el("p", { class: kind || false, "data-key": key }, el("kbd", {}, capOf(key)), name);
}

/** @param {Language} language @param {Kind} kind */
function markOf(language, kind) {
  const one = kind.keys.length === 1;
  return el(
    "section",
    {},
    el("h4", one ? { "data-key": kind.keys[0].key } : {}, ...(one ? [el("kbd", {}, capOf(kind.keys[0].key))] : []), kind.name[0].toUpperCase() + kind.name.slice(1)),
    kind.about && el("p", { class: "about" }, kind.about),
    example(kind.code, kind.name),
    ...(one ? [] : kind.keys.map((key) => line(key, "key"))),
    ...kind.keys.flatMap((key) => (key.about ? [seen(`${kind.code}.${key.code}`, key)] : [])),
    ...kind.questions.filter((question) => question.choices?.length || question.type in GIVEN).map((question) => asked(language, kind.code, question)),
  );
}

const GIVEN = /** @type {Record<string, string>} */ ({ look: "in the playbook’s order", checkpoint: "in the playbook’s order", player: "his number" });

/** A question and its answers, in one running line. @param {Language} language @param {string} kind @param {Question} question */
function asked(language, kind, question) {
  const digits = question.type === "player" ? ["0", "9"] : language.data.list_keys;
  /** @type {import("../marks/language.js").Choice[]} */
  const places = question.type in GIVEN ? [{ key: `${digits[0]}–${digits[digits.length - 1]}`, code: "", name: GIVEN[question.type] }] : [];
  const answers = [...places, ...(question.choices ?? []).filter((choice) => choice.key)];
  return el(
    "p",
    { class: "asked" },
    el("span", { class: "soft" }, `${question.ask} `),
    ...answers.flatMap(({ key, name }) => [el("span", { class: "one" }, el("kbd", {}, capOf(key)), name), " "]),
    question.about && el("small", {}, question.about),
    ...answers.flatMap((answer) => (answer.about ? [seen(`${kind}.${question.code}.${answer.code}`, answer)] : [])),
  );
}

/** What is seen where something is so, drawn beside it. @param {string} code @param {{name: string, about?: string}} what */
function seen(code, { name, about = "" }) {
  return el("span", { class: "seen" }, example(code, name), el("span", {}, el("b", {}, `${name}: `), about));
}

/** @param {{code: string, name: string}} one */
function drawn({ code, name }) {
  const canvas = el("canvas", { width: 24, height: 24, class: "shape", role: "img", "aria-label": `shape: ${name}` });
  const brush = canvas.getContext("2d");
  if (brush) {
    brush.scale(2, 2);
    brush.lineWidth = 1.6;
    brush.strokeStyle = brush.fillStyle = getComputedStyle(document.body).getPropertyValue("--ink");
    shape(brush, code, 6, 6);
  }
  return el("p", {}, canvas, name);
}
