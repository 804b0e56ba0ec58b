// Who of our players may be meant while a number is typed: the roster's numbers that begin with the digits so far.
// The other team has no roster here, so of its players nothing is offered.
import { OR } from "../marks/between.js";
import { questionOf } from "../marks/language.js";

/** @typedef {import("../marks/strokes.js").Hand} Hand */
/** @typedef {import("../marks/language.js").Language} Language */
/** @typedef {{number: string, name: string}} Player */

const MOST = 8;

/**
 * @param {Language} language
 * @param {Player[]} roster
 * @param {Hand} hand
 * @returns {Player[]} in order of their numbers; empty before the first digit
 */
export function namesFor(language, roster, hand) {
  const question = questionOf(language, hand.kind, hand.question);
  if (!hand.typed || question?.type !== "player" || !isOurs(question, hand)) return [];
  const typed = lastTyped(hand);
  const fit = roster.filter((player) => player.number.startsWith(typed));
  return fit.sort((one, other) => Number(one.number) - Number(other.number) || one.number.length - other.number.length).slice(0, MOST);
}

/** The digits of the number that is being typed: of two the second's. @param {Hand} hand */
export const lastTyped = ({ typed }) => typed.slice(typed.lastIndexOf(OR) + 1);

/**
 * Whether the open question asks for one of ours, as far as the marks say.
 * @param {import("../marks/language.js").Question} question
 * @param {Hand} hand
 */
function isOurs({ whose }, { answers, context }) {
  const side = answers.team ?? context.ball;
  return whose === "others" ? side === "theirs" : (whose ?? side) === "ours";
}
