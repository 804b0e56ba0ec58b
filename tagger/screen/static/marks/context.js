// What the marks so far mean for the next key. The twin of context.py: both pass the cases of cases.json.

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./language.js").Answers} Answers */
/** @typedef {import("./language.js").Context} Context */
/** @typedef {import("./language.js").Conditions} Conditions */

/** @type {Record<string, string>} */
const OTHER = { ours: "theirs", theirs: "ours" };
const SOMEBODY = "somebody"; // one of ours who was erased
const NO_NAME = new Set(["none", "unseen", SOMEBODY]); // name nothing to go on with: never remembered, never offered

/**
 * The context before the first mark.
 * @param {Language} language
 * @returns {Context}
 */
export function start(language) {
  return { ...language.data.context };
}

/**
 * The context after one mark; the given one is not changed.
 * @param {Language} language
 * @param {Context} context
 * @param {string} kind
 * @param {Answers} answers
 * @returns {Context}
 */
export function after(language, context, kind, answers) {
  const made = { ...context };
  for (const effect of language.kinds.get(kind)?.effects ?? []) {
    if (!holds(effect.if ?? {}, answers, context)) continue;
    for (const [name, value] of Object.entries(effect.put)) {
      const place = named(name, answers, context);
      if (place) made[place] = filled(value, answers, context);
    }
  }
  return made;
}

/**
 * Whether every condition is met: `name` looks at an answer, `@name` at the context.
 * @param {Conditions} conditions
 * @param {Answers} answers
 * @param {Context} context
 */
export function holds(conditions, answers, context) {
  return Object.entries(conditions).every(([name, allowed]) =>
    isAllowed((name.startsWith("@") ? context[name.slice(1)] : answers[name]) ?? null, allowed, context),
  );
}

/**
 * Whether a kind with these needs can follow here.
 * @param {Record<string, string[]>} needs
 * @param {Context} context
 */
export function fits(needs, context) {
  return Object.entries(needs).every(([name, allowed]) => isAllowed(context[name] || null, allowed, context));
}

/**
 * A name in the context whose parts may be filled in: `$set` by the mark's answer, `@set` by the context; empty when a
 * part is not known.
 * @param {string} name parts with "/" between, as setter/@set/@side: what is remembered for each set and side
 * @param {Answers} answers
 * @param {Context} context
 */
export function named(name, answers, context) {
  if (!name.includes("/")) return name;
  const parts = [];
  for (const part of name.split("/")) {
    const found = part[0] === "$" ? answers[part.slice(1)] : part[0] === "@" ? context[part.slice(1)] : part;
    if (typeof found !== "string" || !found || NO_NAME.has(found)) return "";
    parts.push(found);
  }
  return parts.join("/");
}

/**
 * Whether two contexts say the same.
 * @param {Context} one
 * @param {Context} other
 */
export function same(one, other) {
  for (const name in one) if (one[name] !== other[name]) return false;
  for (const name in other) if (!(name in one)) return false;
  return true;
}

/**
 * @param {import("./language.js").Value} value
 * @param {(string | null)[]} allowed
 * @param {Context} context
 */
function isAllowed(value, allowed, context) {
  return allowed.some((one) => {
    if (one === "*") return value !== null && value !== undefined && value !== "";
    if (one === "#") return typeof value === "string" && (/^\d+$/.test(value) || value === SOMEBODY);
    if (one === "$other") return value !== null && value === OTHER[context.ball];
    if (one?.startsWith("@")) return value !== null && value === context[one.slice(1)];
    return value === one;
  });
}

/**
 * @param {string} value
 * @param {Answers} answers
 * @param {Context} context
 */
function filled(value, answers, context) {
  const place = value.indexOf("$");
  if (place < 0) return value;
  const name = value.slice(place + 1);
  const found = name === "other" ? OTHER[context.ball] : answers[name];
  if (typeof found !== "string" || !found || NO_NAME.has(found)) return "";
  return value.slice(0, place) + found;
}
