// Marks as sentences a coach would say, by the vocabulary's own words. The twin of sentences.py.
import { twoOf } from "./between.js";
import { holds } from "./context.js";
import { questionOf } from "./language.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./language.js").Answers} Answers */
/** @typedef {import("./language.js").Context} Context */

const SLOT = /\{([a-z0-9_.]+)(?:\|([^}]*))?\}/g;

/**
 * One mark as a sentence, without its full stop.
 * @param {Language} language
 * @param {string} kind
 * @param {Answers} answers
 * @param {Context} context before the mark
 */
export function sentence(language, kind, answers, context) {
  const held = language.kinds.get(kind);
  if (!held) return `A mark of the unknown kind “${kind}”`;
  let made = "";
  for (const part of held.say) {
    if (holds(part.when ?? {}, answers, context)) made += withAnswers(language, kind, part.text, answers, context);
  }
  const first = [...made][0] ?? "";
  return first.toUpperCase() + made.slice(first.length);
}

/**
 * A part with its answers put in; empty when one is missing that has no stand-in.
 * @param {Language} language
 * @param {string} kind
 * @param {string} text
 * @param {Answers} answers
 * @param {Context} context
 */
function withAnswers(language, kind, text, answers, context) {
  let missing = false;
  const made = text.replace(SLOT, (_, name, instead) => {
    const value = answers[name] ?? null;
    const two = twoOf(answers, name);
    if (two.length) return toldOfTwo(language, kind, name, two, context);
    if (value !== null) {
      const told = spoken(language, kind, name, value, context);
      missing ||= !told;
      return told;
    }
    if (instead === undefined) missing = true;
    return instead ?? "";
  });
  return missing ? "" : made;
}

/** An answer that is this or that, in words. @type {(language: Language, kind: string, question: string, two: string[], context: Context) => string} */
export function toldOfTwo(language, kind, question, two, context) {
  if (questionOf(language, kind, question)?.type === "player") return spoken(language, kind, question, two.join(" or "), context);
  return two.map((one) => spoken(language, kind, question, one, context)).join(" or ");
}

/**
 * One answer in words; the value itself where the vocabulary has no word for it.
 * @param {Language} language
 * @param {string} kind
 * @param {string} question
 * @param {import("./language.js").Value} value
 * @param {Context} context before the mark
 */
export function spoken(language, kind, question, value, context) {
  const held = questionOf(language, kind, question);
  if (!held) return String(value);
  const choice = [...(held.choices ?? []), ...(held.retired ?? [])].find((one) => one.code === value);
  if (choice) return choice.say ?? choice.name;
  if (held.type === "set") return language.sets.get(String(value))?.name ?? String(value);
  if (held.type === "look" || held.type === "checkpoint") {
    const play = language.sets.get(context.look_set ?? "");
    const items = play ? (held.type === "look" ? play.looks : play.checkpoints) : [];
    return items.find((item) => item.code === value)?.name ?? String(value);
  }
  if (held.type === "clock" && typeof value === "number") {
    return `${Math.floor(value / 60)}:${String(Math.floor(value) % 60).padStart(2, "0")}`;
  }
  return (held.say ?? "{}").replace("{}", () => String(value));
}
