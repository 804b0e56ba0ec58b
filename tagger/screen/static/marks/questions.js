// Which question is asked when, and what is offered as its answer. Twin of the same rules in strokes.py.
import { holds, named } from "./context.js";
import { questionOf } from "./language.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./language.js").Context} Context */
/** @typedef {import("./language.js").Question} Question */
/** @typedef {import("./language.js").Choice} Choice */
/** @typedef {import("./strokes.js").Hand} Hand */

export const LISTS = new Set(["set", "look", "checkpoint"]);
const NO_KEYS = new Set(["place"]); // what no key answers is not asked: a place on the floor, until it can be pointed at

/**
 * Questions that may be asked now, from the open one on (itself too when `own`): of a new mark those that are not
 * answered and not beyond the detail, or of a kind that the stated question needs those that it needs; of one made
 * earlier all of them.
 * @param {Language} language
 * @param {Hand} hand
 * @param {boolean} own
 * @returns {Question[]}
 */
export function following(language, hand, own) {
  /** @type {Question[]} */
  const found = [];
  let here = hand.question === "";
  for (const question of language.kinds.get(hand.kind)?.questions ?? []) {
    if (question.code === hand.question) {
      here = true;
      if (own) found.push(question);
    } else if (here && !NO_KEYS.has(question.type) && (hand.old || (!(question.code in hand.answers) && question.type !== "set"))) {
      const asked = hand.old || isAsked(language, hand.context, hand.kind, question);
      if (asked && holds(question.when ?? {}, hand.answers, hand.context)) found.push(question);
    }
  }
  return found;
}

/**
 * Whether a question is asked of a new mark: by the detail, or by the kind's own where that is more; of a kind that the stated question needs, by that alone.
 * @param {Language} language
 * @param {Context} context before the mark
 * @param {string} kind
 * @param {Question} question
 */
export function isAsked(language, context, kind, question) {
  const needed = neededIn(context);
  if (needed.includes(kind)) return needed.includes(`${kind}.${question.code}`);
  const level = (/** @type {string | undefined} */ code) => language.levels.get(code ?? "") ?? 0;
  return level(question.level) <= Math.max(level(context.level), level(language.kinds.get(kind)?.level));
}

/**
 * What the stated question needs, where it narrows what is tagged; empty where nothing does.
 * @param {Context} context
 */
export const neededIn = (context) => (context.asked ? context.asked.split(" ") : []);

/**
 * Code of the question after the open one, or empty.
 * @param {Language} language
 * @param {Hand} hand
 */
export function nextQuestion(language, hand) {
  return following(language, hand, false)[0]?.code ?? "";
}

/**
 * The sets, or looks or checkpoints of the set at hand, each with its digit.
 * @param {Language} language
 * @param {Context} context before the mark
 * @param {Question} question
 * @returns {Choice[]}
 */
export function listed(language, context, question) {
  if (question.type === "set") {
    return language.data.sets.filter((play) => play.key).map(({ code, name, key }) => ({ code, name, key }));
  }
  if (!LISTS.has(question.type)) return [];
  const play = language.sets.get(context.look_set ?? "");
  const items = play ? (question.type === "look" ? play.looks : play.checkpoints) : [];
  const keys = language.data.list_keys;
  return items.slice(0, keys.length).map((item, place) => ({ ...item, key: keys[place] }));
}

/**
 * The answer that Enter would take for the open question: a player's number, one of its choices, or empty.
 * @param {Language} language
 * @param {Hand} hand
 */
export function offer(language, hand) {
  if (hand.question in hand.answers) return "";
  const question = questionOf(language, hand.kind, hand.question);
  if (question?.offer_when && !holds(question.offer_when, hand.answers, hand.context)) return "";
  const taken = Object.entries(hand.answers)
    .filter(([name]) => name !== hand.question)
    .map(([, value]) => value);
  for (const source of question?.offer ?? []) {
    const value = hand.context[named(source.slice(1), hand.answers, hand.context)];
    if (value && (question?.type === "player" ? !taken.includes(value) : isChoice(question, value))) return value;
  }
  return "";
}

/** @type {(question: Question | undefined, value: string) => boolean} */
const isChoice = (question, value) => (question?.choices ?? []).some((choice) => choice.code === value);

/**
 * All that Enter would take: the open question's offer, and those of the questions that belong together with it.
 * @param {Language} language
 * @param {Hand} hand
 * @returns {[string, string][]} question and answer, in the order in which they are asked
 */
export function offers(language, hand) {
  /** @type {[string, string][]} */
  const found = [];
  const group = questionOf(language, hand.kind, hand.question)?.together;
  for (let value = offer(language, hand); value; value = offer(language, hand)) {
    found.push([hand.question, value]);
    hand = { ...hand, answers: { ...hand.answers, [hand.question]: value } };
    const onward = nextQuestion(language, hand);
    if (!group || !onward || questionOf(language, hand.kind, onward)?.together !== group) break;
    hand = { ...hand, question: onward };
  }
  return found;
}
