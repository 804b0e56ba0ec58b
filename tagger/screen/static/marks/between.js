// Unsure between two: an answer that is this or that, kept as unsure and counted as neither. The twin of between.py, whose text
// says what is kept where.

/** @typedef {import("./language.js").Answers} Answers */
/** @typedef {import("./language.js").Question} Question */
/** @typedef {import("./language.js").Value} Value */

export const OR = "/"; // the key, and what stands between the two
const BESIDE = ".or";

/** What the two are kept under. @param {string} code the question's */
export const beside = (code) => `${code}${BESIDE}`;

/**
 * Between which two a question's answer lies; empty where it is answered with one thing, or not at all.
 * @param {Answers} answers
 * @param {string} code
 * @returns {string[]}
 */
export function twoOf(answers, code) {
  const found = answers[beside(code)];
  const parts = typeof found === "string" ? found.split(OR) : [];
  return parts.length === 2 && parts.every(Boolean) ? parts : [];
}

/**
 * What is entered as an answer: of two both, as "14/41".
 * @param {Question | undefined} question
 * @param {string} code
 * @param {Value} value
 * @returns {Answers}
 */
export function entered(question, code, value) {
  if (question?.two && typeof value === "string" && value.includes(OR)) {
    return { [code]: question.type === "player" ? "unseen" : null, [beside(code)]: value };
  }
  return { [code]: value };
}

/**
 * A mark's answers after another entry: what is answered anew lies between two no longer; null takes an answer away.
 * @param {Answers} answers
 * @param {Answers} [more]
 * @returns {Answers}
 */
export function merged(answers, more = {}) {
  const stale = new Set(Object.keys(more).map(beside));
  const made = { ...Object.fromEntries(Object.entries(answers).filter(([name]) => !stale.has(name))), ...more };
  return Object.fromEntries(Object.entries(made).filter(([, value]) => value !== null));
}
