// What the prompt strip says and shows: the open question with its definition and its keys, or the marks that can follow.
import { OR, twoOf } from "../marks/between.js";
import { kindThat, questionOf } from "../marks/language.js";
import { options } from "../marks/offers.js";
import { spoken, toldOfTwo } from "../marks/sentences.js";
import { press, takesOr } from "../marks/strokes.js";
import { KEY, cap, capOf } from "../keys/own.js";
import { lastTyped, namesFor } from "./names.js";

/** @typedef {import("../marks/strokes.js").Hand} Hand */
/** @typedef {import("../marks/language.js").Language} Language */
/** @typedef {import("../marks/offers.js").Option} Option */
/** @typedef {import("./caps.js").Cap} Cap */
/** @typedef {import("./tagging.js").Tagging} Tagging */

const COARSE = matchMedia("(pointer: coarse)"); // fingers: digits are tapped
const BALLS = /** @type {Record<string, string>} */ ({ ours: "Our ball.", theirs: "Their ball." });
const DIGITS = /** @type {Record<string, string>} */ ({ player: "type a number", clock: "type minutes and seconds" });

/**
 * @param {Tagging} tagging
 * @returns {Cap[]}
 */
export function capsOf(tagging) {
  const { desk, deck, roster, picked, second } = tagging;
  const { language } = desk;
  const hand = desk.hand ?? second.waiting;
  const stands = hand && standing(language, hand);
  const found = hand ? options(language, hand.context, hand) : desk.options(deck.now);
  if (stands && !hand.typed) found.unshift({ key: KEY.enter, name: `keeps ${stands}`, offer: true, code: "" });
  if (!hand) {
    const row = picked ? desk.sequence.byId.get(picked) : undefined;
    const marks = inOrder(found, language).map((one) =>
      one.offer && !row ? { ...one, key: KEY.enter } : { ...one, offer: false, rare: isRare(one, language) },
    );
    if (!row) return marks;
    const first = second.caps();
    const firstKeys = first.map(({ key }) => key);
    const rest = marks.filter((one) => !firstKeys.includes(one.key) && !("rare" in one && one.rare));
    return [...first, ...logCaps(tagging, row.mark), ...rest];
  }
  if (hand.held.length) return [{ key: KEY.leave, name: "let go of what waits", offer: true }, { key: KEY.takeBack, name: "of the last one" }];
  if (!desk.hand) return [...found, { key: KEY.enter, name: "go on" }, ...second.caps()];
  /** @type {Cap[]} */
  const caps = hand.typed ? typedCaps(language, hand) : found;
  const named = namesFor(language, roster, hand).map(({ number, name }) => ({
    key: "",
    name: `${number} ${name}`.trim(),
    strokes: [...number.slice(lastTyped(hand).length), KEY.enter],
  }));
  const digits = COARSE.matches && (questionOf(language, hand.kind, hand.question)?.type ?? "") in DIGITS;
  const pad = digits ? [...[..."0123456789"].map((key) => ({ key, name: "" })), { key: KEY.enter, name: "" }] : [];
  const skips = COARSE.matches && found.some((one) => one.offer) && !hand.typed ? [{ key: KEY.skip, name: "skip" }] : [];
  const unsure = takesOr(language, hand) ? [{ key: KEY.or, name: "or, unsure between two" }] : [];
  return [...pad, ...caps, ...skips, ...unsure, ...named]; // the pad first, so that no digit moves from under a finger
}

/** The offered one first, then what play brings, then stoppages, then the rest. @param {Option[]} found @param {Language} language */
function inOrder(found, language) {
  const rare = (/** @type {Option} */ one) => {
    const needs = language.kinds.get(one.code)?.needs ?? {};
    const here = needs.ball || needs.look_set || needs.period?.includes("closed") ? -2 : needs.period ? -1 : 1;
    return one.offer ? -9 : here + (isRare(one, language) ? 3 : 0);
  };
  return [...found].sort((one, other) => rare(one) - rare(other));
}

/** Shown smaller: what is pressed with Shift, and what is no part of play. @param {Option} one @param {Language} language */
function isRare({ key, offer, code }, language) {
  if (offer || language.kinds.get(code)?.needs.period?.includes("closed")) return false;
  return /^[A-Z]$/.test(key) || !Object.keys(language.kinds.get(code)?.needs ?? {}).length;
}

/** What an answered question of a mark made earlier says now; empty where it says nothing. @param {Language} language @param {Hand} hand */
function standing(language, hand) {
  const two = hand.old ? twoOf(hand.answers, hand.question) : [];
  if (two.length) return toldOfTwo(language, hand.kind, hand.question, two, hand.context);
  const value = hand.old ? hand.answers[hand.question] : undefined;
  return value === undefined || value === null ? "" : spoken(language, hand.kind, hand.question, value, hand.context) || String(value);
}

/** What can be done with the line that is picked. @param {Tagging} tagging @param {import("../marks/resolve.js").Mark} mark @returns {Cap[]} */
function logCaps({ keys, desk }, { kind, removed }) {
  if (removed) return [{ key: KEY.strike, name: "restore it" }];
  const asks = (desk.language.kinds.get(kind)?.questions.length ?? 0) > 0;
  return keys.caps().filter(({ key }) => asks || key !== KEY.enter);
}

/** @param {Language} language @param {Hand} hand @returns {Cap[]} */
function typedCaps(language, hand) {
  const { [hand.question]: _, ...answers } = hand.answers;
  const sets = hand.typed.endsWith(OR) ? options(language, hand.context, { ...hand, typed: "", answers }) : []; // the other set's digit
  if (hand.typed.endsWith(OR)) return sets.filter(({ offer, key, code }) => !offer && /^\d$/.test(key) && code + OR !== hand.typed);
  return [{ key: KEY.enter, name: typedWords(language, hand), offer: true }, ...afterTyped(language, hand)];
}

/** What is typed, in words: “14 or 41”, “Lantern or …”. @param {Language} language @param {Hand} hand */
function typedWords(language, hand) {
  if (!hand.typed.includes(OR)) return hand.typed;
  return toldOfTwo(language, hand.kind, hand.question, hand.typed.split(OR).map((one) => one || "…"), hand.context);
}

/** What can follow typed digits: the next question's letters. @param {Language} language @param {Hand} hand */
function afterTyped(language, hand) {
  const onward = press(language, hand.context, hand, KEY.enter).hand;
  return onward && !onward.typed ? options(language, hand.context, onward).filter((one) => !one.offer) : [];
}

/**
 * @param {Tagging} tagging
 * @param {import("../marks/language.js").Context} context at the frame on screen
 * @returns {import("./caps.js").Words}
 */
export function wordsOf(tagging, context) {
  const { desk, second, picked } = tagging;
  const { language } = desk;
  const hand = desk.hand ?? second.waiting;
  if (hand) return questionWords(tagging, hand);
  const more = capOf(kindThat(language, "detail")?.keys[0]?.key ?? "");
  const row = picked ? desk.sequence.byId.get(picked) : undefined;
  if (row) return { lead: `${row.text}.`, ask: second.asks(picked), typed: "", hint: "", about: "" };
  const lead = BALLS[context.ball] ?? (context.period === "open" ? "Nobody’s ball." : "No period is open.");
  const hint = context.asked ? `only what the question needs is shown; ${more} asks more, ${cap("sheet")} shows every key` : "";
  const about = context.asked && tagging.stated ? `“${tagging.stated}”` : "";
  const open = tagging.deck.atEnd && context.period === "open" ? capOf(kindThat(language, "period_end")?.keys[0]?.key ?? "") : "";
  const ask = open && `The film ends here: ${open} ends the period.`;
  return { lead, ask, typed: "", hint, about: open ? leftOpen(context, open) : about };
}

/**
 * What is open where the game's film ends, and what becomes of it.
 * @param {import("../marks/language.js").Context} context
 * @param {string} end the key that ends the period
 */
function leftOpen(context, end) {
  const [what, it] = context.ball in BALLS ? ["This possession and its period are", "both"] : ["The period is", "it"];
  return `${what} open. If the clock ran out, ${end} ends ${it}; if play went on, leave ${it} so.`;
}

/** @param {Tagging} tagging @param {Hand} hand */
function questionWords({ desk, second }, hand) {
  const { language } = desk;
  const question = questionOf(language, hand.kind, hand.question);
  const name = language.kinds.get(hand.kind)?.name ?? hand.kind;
  const played = "look_set" in (language.kinds.get(hand.kind)?.needs ?? {}) ? language.sets.get(hand.context.look_set)?.name : "";
  const ofRun = played ? ` of ${played}` : "";
  const offered = options(language, hand.context, hand).find((one) => one.offer)?.name;
  const lead = second.lead(hand);
  const waits = hand.held.length ? `${hand.held.map(capOf).join(" ")} ${hand.held.length > 1 ? "wait" : "waits"}: this question does not take ${capOf(hand.held[0])}. ${cap("leave")} lets go, and nothing of it was taken` : "";
  const ends = question && question.type in DIGITS ? `a next mark’s letter ends the questions, for a set’s digit first ${cap("leave")}` : "any next mark ends the questions";
  const stands = standing(language, hand);
  const enter = stands ? `now ${stands}: ${cap("enter")} keeps it` : offered ? `${cap("enter")} takes ${offered}, ${cap("skip")} skips` : `${cap("enter")} skips`;
  const hint = [DIGITS[question?.type ?? ""], ...(lead ? [`${cap("enter")} goes on`, `${cap("loop")} shows the whole run`] : [enter, ends])];
  return {
    lead: `${lead}${name[0].toUpperCase()}${name.slice(1)}${ofRun}:`,
    ask: question?.ask ?? "",
    typed: typedWords(language, hand),
    waits,
    hint: waits ? "" : hand.typed ? (hand.typed.endsWith(OR) ? `${cap("takeBack")} takes the “or” back` : `${cap("enter")} enters it`) : hint.filter(Boolean).join(", "),
    about: waits ? "" : (question?.about ?? ""),
  };
}
