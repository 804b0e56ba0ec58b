// Which marks can follow, which of them is offered, which keys mean something now, and why another key does not.
import { fits, named } from "./context.js";
import { kindThat, questionOf } from "./language.js";
import { following, listed, neededIn, offers } from "./questions.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./language.js").Context} Context */
/** @typedef {import("./language.js").Kind} Kind */
/** @typedef {import("./language.js").MarkKey} MarkKey */
/** @typedef {import("./strokes.js").Hand} Hand */
/** @typedef {{key: string, name: string, offer: boolean, code: string}} Option */

/**
 * @param {Language} language
 * @param {Context} context
 * @returns {{kind: Kind, key: MarkKey}[]}
 */
export function canFollow(language, context) {
  return language.data.kinds
    .filter((kind) => isTagged(language, context, kind) && fits(kind.needs, context))
    .flatMap((kind) => kind.keys.filter((key) => fits(key.needs ?? {}, context)).map((key) => ({ kind, key })));
}

/**
 * Whether a kind is tagged here at all: by the detail, or because the stated question needs it.
 * @param {Language} language
 * @param {Context} context
 * @param {Kind} kind
 */
export function isTagged(language, context, kind) {
  return (language.levels.get(kind.level) ?? 0) <= (language.levels.get(context.level) ?? 0) || neededIn(context).includes(kind.code);
}

/**
 * Whether Enter makes this mark: never one that the stated question does not need.
 * @param {Context} context
 * @param {string} kind
 * @param {MarkKey} key
 */
export function isOffer(context, kind, key) {
  if (context.asked && !neededIn(context).includes(kind)) return false;
  const [offered, team] = (context.offer ?? "").split(":");
  return offered !== "" && offered === kind && (!team || key.answers?.team === team);
}

/**
 * The keys that mean something now: the open question's answers, or the marks that can follow; where a stated question
 * narrows what is tagged, only those that it needs. `code` is the choice's or the kind's.
 * @param {Language} language
 * @param {Context} context
 * @param {Hand | null} hand
 * @returns {Option[]}
 */
export function options(language, context, hand) {
  if (!hand) {
    const needed = neededIn(context);
    const shown = canFollow(language, context).filter(({ kind }) => !needed.length || needed.includes(kind.code));
    return shown.map(({ kind, key }) => ({
      key: key.key,
      name: key.name,
      offer: isOffer(context, kind.code, key),
      code: kind.code,
    }));
  }
  const question = questionOf(language, hand.kind, hand.question);
  if (!question) return [];
  const found = [...listed(language, hand.context, question), ...(question.choices ?? [])].map((choice) => ({
    key: choice.key,
    name: choice.name,
    offer: false,
    code: choice.code,
  }));
  const offered = hand.typed ? [] : offers(language, hand).map(([code, value]) => words(language, hand.kind, code, value));
  const whole = offered.length > 1 ? language.data.together[question.together ?? ""] : "";
  const name = (whole ? `${whole}: ${offered.join(" · ")}` : offered.join(" · ")) + (offered.length ? without(language, hand) : "");
  return offered.length ? [{ key: "Enter", name, offer: true, code: "" }, ...found] : found;
}

/** Of a set's five, whom Enter would not fill in, and why not. @type {(language: Language, hand: Hand) => string} */
function without(language, hand) {
  const group = questionOf(language, hand.kind, hand.question)?.together;
  if (group !== "five") return "";
  const filled = Object.fromEntries(offers(language, hand));
  const left = following(language, hand, true).find(({ code, together }) => together === group && !(code in filled));
  if (!left) return "";
  const known = (left.offer ?? []).map((source) => hand.context[named(source.slice(1), hand.answers, hand.context)]).find(Boolean);
  return `; ${left.name ?? left.code} ${known ? `not: ${known} is there already` : "is not known from before"}`;
}

/** An offered answer as the strip shows it. @type {(language: Language, kind: string, code: string, value: string) => string} */
const words = (language, kind, code, value) =>
  questionOf(language, kind, code)?.choices?.find((choice) => choice.code === value)?.name ?? value;

/**
 * Why a key makes no mark here; empty when it does.
 * @param {Language} language
 * @param {Context} context
 * @param {string} stroke
 * @param {{kind: Kind, key: MarkKey} | undefined} found the pair that fits
 */
export function refusedMark(language, context, stroke, found) {
  const pairs = language.keys.get(stroke);
  if (!pairs) return `${onKeyboard(stroke)} is no key here`;
  if (!found) return whyNot(language, context, pairs[0]);
  const tagged = found.kind.any_detail || isTagged(language, context, found.kind);
  const change = kindThat(language, "detail")?.keys[0]?.key;
  return tagged ? "" : `${found.key.name} is not tagged at this detail; ${onKeyboard(change ?? "")} changes what is tagged`;
}

/**
 * @param {Language} language
 * @param {Context} context
 * @param {{kind: Kind, key: MarkKey}} pair
 */
function whyNot(language, context, { kind, key }) {
  const accepted = options(language, context, null).map((option) => onKeyboard(option.key)).join(" ");
  const needs = { ...kind.needs, ...key.needs };
  const missing = Object.entries(needs).find(([name, allowed]) => !fits({ [name]: allowed }, context))?.[0];
  /** @type {Record<string, string>} */
  const why = {
    period: context.period === "open" ? "the period is open" : "the period is not open",
    ball: { theirs: "the ball is theirs", ours: "the ball is ours" }[context.ball] ?? "nobody has the ball",
    look_set: "no set was named",
    screened: "no screen was set before",
    settled: "this possession settled before",
  };
  if (context.period === "closed") why.ball = "the period is not open";
  return `${key.name} does not fit: ${why[missing ?? ""] ?? "it cannot follow"}. Here: ${accepted}`;
}

/** A key as a person finds it on the keyboard: a capital is the letter with Shift. @param {string} key */
export const onKeyboard = (key) => (/^[A-Z]$/.test(key) ? `⇧${key}` : key);
