// Key strokes to marks: the interpreter of the keyboard. The twin of strokes.py, whose text says the rules; both pass
// the cases of cases.json.
import { OR, entered, merged } from "./between.js";
import { fits } from "./context.js";
import { questionOf } from "./language.js";
import { following, LISTS, listed, nextQuestion, offers } from "./questions.js";
import { canFollow, isOffer, refusedMark } from "./offers.js";

/** @typedef {import("./language.js").Language} Language */
/** @typedef {import("./language.js").Answers} Answers */
/** @typedef {import("./language.js").Value} Value */
/** @typedef {import("./language.js").Context} Context */
/**
 * The mark whose questions are open: answers so far, context before it, question open, digits typed, questions said
 * ("?" before one that was skipped), whether it is an old mark, keys that wait (one that the question refused, all after it).
 * @typedef {{kind: string, answers: Answers, context: Context, question: string, typed: string, said: string[],
 *   old: boolean, held: string[]}} Hand
 */
/**
 * @typedef {{does: "mark", kind: string, answers: Answers} | {does: "answer", question: string, value: Value}
 *   | {does: "undo"} | {does: "redo"}} Act
 */
/**
 * `closed`: the hand that had its last question with this stroke; `takenUp` says with which next stroke it is at hand again.
 * @typedef {{hand: Hand | null, acts: Act[], again: boolean, refusal: string, closed?: Hand}} Pressed
 */

/** @type {Record<string, number>} */
const MOST_DIGITS = { player: 2, clock: 4 };

/**
 * Open a mark's questions, a new mark's or an old one's; null when nothing is to be asked.
 * @param {Language} language
 * @param {Context} context before the mark
 * @param {string} kind
 * @param {Answers} answers
 * @param {string} [question] the one to open; the first one when left out
 * @param {boolean} [old] a mark made earlier
 * @returns {Hand | null}
 */
export function openHand(language, context, kind, answers, question = "", old = false) {
  const hand = { kind, answers: { ...answers }, context: { ...context }, question, typed: "", said: [], old, held: [] };
  const code = question || nextQuestion(language, hand);
  return code ? { ...hand, question: code } : null;
}

/**
 * One key stroke; never throws for a key.
 * @param {Language} language
 * @param {Context} context at the film's present time
 * @param {Hand | null} hand
 * @param {string} stroke
 * @returns {Pressed}
 */
export function press(language, context, hand, stroke) {
  if (hand?.held.length) return held(hand, stroke);
  if (hand && typeOf(language, hand) === "text") return pressText(language, hand, stroke);
  if (stroke === "Backspace") return takeBack(language, hand);
  if (stroke === "Shift+Backspace") return pressed(null, [{ does: "redo" }]);
  if (stroke === "Escape") return hand ? pressed(null) : refused(null, "no question is open");
  const missing = hand?.typed && !isDigit(stroke) ? lacks(language, hand) : "";
  if (missing) return refused(hand, missing);
  if (stroke === OR) return or(language, hand);
  if (stroke === "Enter") return enter(language, context, hand);
  if (stroke === "Shift+Enter") {
    if (!hand) return refused(null, "no question is open");
    return hand.typed ? enter(language, context, hand) : skipped(language, hand);
  }
  if (hand) {
    const answered = isDigit(stroke) ? digit(language, hand, stroke) : letter(language, hand, stroke);
    if (answered) return answered;
  }
  const made = markKey(language, context, stroke);
  if (made.refusal && hand) return holding(hand, stroke, `${made.refusal}; the question stays open`);
  if (hand?.typed) return { ...pressed(null, [said(hand.question, typedValue(language, hand))]), again: true };
  return made;
}

/**
 * @param {Hand | null} hand
 * @param {Act[]} [acts]
 * @returns {Pressed}
 */
const pressed = (hand, acts = []) => ({ hand, acts, again: false, refusal: "" });

/**
 * @param {Hand | null} hand
 * @param {string} refusal
 * @returns {Pressed}
 */
const refused = (hand, refusal) => ({ hand, acts: [], again: false, refusal });

/** @type {(hand: Hand, stroke: string, refusal: string) => Pressed} */
const holding = (hand, stroke, refusal) => refused({ ...hand, held: [stroke] }, refusal);

/** @type {(hand: Hand, stroke: string) => Pressed} */
function held(hand, stroke) {
  if (stroke === "Escape") return pressed({ ...hand, held: [] });
  if (stroke === "Backspace") return pressed({ ...hand, held: hand.held.slice(0, -1) });
  return refused({ ...hand, held: [...hand.held, stroke] }, "this key waits with those before it");
}

/** @type {(question: string, value: Value) => Act} */
const said = (question, value) => ({ does: "answer", question, value });

/** @type {(stroke: string) => boolean} */
const isDigit = (stroke) => stroke.length === 1 && stroke >= "0" && stroke <= "9";

/** @type {(language: Language, hand: Hand) => string} */
const typeOf = (language, hand) => questionOf(language, hand.kind, hand.question)?.type ?? "choice";

/** Why what is typed is no answer yet; empty where it is one. @type {(language: Language, hand: Hand) => string} */
function lacks(language, hand) {
  if (typeOf(language, hand) === "clock" && Number(hand.typed.slice(-2)) >= 60) {
    return "a minute has 60 seconds; Backspace takes the last digit back";
  }
  const [one, other] = hand.typed.split(OR);
  if (other === "") return "and which other one? Backspace takes the “or” back";
  return one === other ? "the same one twice; Backspace takes it back" : "";
}

/**
 * The question that a set's digit answered, of which “or” begins the other set; empty where there is none, or the two are said.
 * @param {Language} language
 * @param {Hand | null} hand
 */
export function unsureSet(language, hand) {
  if (!hand || hand.typed) return "";
  const questions = language.kinds.get(hand.kind)?.questions ?? [];
  return questions.find(({ code, type, two }) => type === "set" && two && hand.answers[code])?.code ?? "";
}

/**
 * The hand with which a stroke is to be pressed where no question is open: a Backspace takes back the last answer and asks again,
 * “or” says a second set.
 * @param {Language} language
 * @param {Hand | null} closed that had its last question with the stroke before
 * @param {string} stroke
 */
export const takenUp = (language, closed, stroke) =>
  stroke === "Backspace" || (stroke === OR && unsureSet(language, closed)) ? closed : null;

/** Whether “or” means something: a number is typed, or a set was said. @param {Language} language @param {Hand} hand */
export function takesOr(language, hand) {
  if (hand.held.length) return false;
  return unsureSet(language, hand) !== "" || Boolean(questionOf(language, hand.kind, hand.question)?.two && hand.typed && !hand.typed.includes(OR));
}

/** @type {(language: Language, hand: Hand | null) => Pressed} */
function or(language, hand) {
  const why = "“or” follows a number that is being typed, or a set’s digit";
  if (!hand) return refused(null, why);
  if (!takesOr(language, hand)) return holding(hand, OR, why);
  const code = unsureSet(language, hand);
  return pressed(code ? { ...hand, question: code, typed: `${hand.answers[code]}${OR}` } : { ...hand, typed: hand.typed + OR });
}

/** @type {(language: Language, hand: Hand) => Value} */
function typedValue(language, hand) {
  if (typeOf(language, hand) !== "clock") return hand.typed;
  return Number(hand.typed.slice(0, -2)) * 60 + Number(hand.typed.slice(-2));
}

/** @type {(language: Language, hand: Hand, question: string, value: Value, before?: Act[]) => Pressed} */
function answered(language, hand, question, value, before = []) {
  const done = [...hand.said, ...(before.length ? [hand.question] : []), question];
  const onward = { ...hand, answers: withAnswer(language, hand, question, value), question, typed: "", said: done };
  return onwards(language, onward, [...before, said(question, value)]);
}

/** @type {(language: Language, hand: Hand, code: string, value: Value) => Answers} */
const withAnswer = (language, hand, code, value) => merged(hand.answers, entered(questionOf(language, hand.kind, code), code, value));

/** @type {(language: Language, hand: Hand, stroke: string) => Pressed | null} */
function letter(language, hand, stroke) {
  /** @type {Act[]} */
  let before = [];
  let soFar = hand;
  if (hand.typed) {
    const value = typedValue(language, hand);
    before = [said(hand.question, value)];
    soFar = { ...hand, answers: withAnswer(language, hand, hand.question, value) };
  }
  const forward = typeOf(language, hand) in MOST_DIGITS;
  for (const question of following(language, soFar, !hand.typed)) {
    if (question.code !== hand.question && !forward) break;
    for (const choice of question.choices ?? []) {
      if (choice.key === stroke) return answered(language, soFar, question.code, choice.code, before);
    }
  }
  return null;
}

/** @type {(language: Language, hand: Hand, stroke: string) => Pressed | null} */
function digit(language, hand, stroke) {
  const type = typeOf(language, hand);
  if (LISTS.has(type)) {
    const question = questionOf(language, hand.kind, hand.question);
    const choice = question && listed(language, hand.context, question).find((one) => one.key === stroke);
    if (choice && hand.typed === `${choice.code}${OR}`) {
      return holding(hand, stroke, `${choice.name} is the one already; the other set’s digit`);
    }
    if (choice) return answered(language, hand, hand.question, hand.typed + choice.code);
    return holding(hand, stroke, `the list has no ${stroke}`);
  }
  const most = MOST_DIGITS[type];
  if (most) {
    if (hand.typed.slice(hand.typed.lastIndexOf(OR) + 1).length >= most) return holding(hand, stroke, `${most} digits at most`);
    return pressed({ ...hand, typed: hand.typed + stroke });
  }
  const later = following(language, hand, false).some((question) => question.type in MOST_DIGITS);
  return later ? holding(hand, stroke, "no number is asked here") : null;
}

/** @type {(language: Language, context: Context, hand: Hand | null) => Pressed} */
function enter(language, context, hand) {
  if (!hand) {
    for (const { kind, key } of canFollow(language, context)) {
      if (isOffer(context, kind.code, key)) return made(language, context, kind, key);
    }
    return refused(null, "nothing is offered here");
  }
  if (hand.typed) return answered(language, hand, hand.question, typedValue(language, hand));
  const offered = offers(language, hand);
  return offered.length ? taken(language, hand, offered) : skipped(language, hand);
}

/** All that is offered together; it is taken back one by one. @type {(language: Language, hand: Hand, offered: [string, string][]) => Pressed} */
function taken(language, hand, offered) {
  const firsts = offered.slice(0, -1);
  const [last, value] = offered[offered.length - 1];
  const names = firsts.map(([question]) => question);
  const onward = { ...hand, answers: { ...hand.answers, ...Object.fromEntries(firsts) }, said: [...hand.said, ...names] };
  const done = answered(language, onward, last, value);
  return { ...done, acts: [...firsts.map(([question, answer]) => said(question, answer)), ...done.acts] };
}

/** @type {(language: Language, hand: Hand) => Pressed} */
function skipped(language, hand) {
  return onwards(language, { ...hand, said: [...hand.said, `?${hand.question}`] });
}

/** @type {(language: Language, hand: Hand, acts?: Act[]) => Pressed} */
function onwards(language, hand, acts = []) {
  const code = nextQuestion(language, hand);
  return code ? pressed({ ...hand, question: code }, acts) : { ...pressed(null, acts), closed: hand };
}

/** @type {(language: Language, hand: Hand | null) => Pressed} */
function takeBack(language, hand) {
  if (hand?.typed) return untyped(language, hand);
  const last = hand?.said.at(-1);
  if (!hand || last === undefined) return pressed(null, hand?.old ? [] : [{ does: "undo" }]);
  const back = { ...hand, said: hand.said.slice(0, -1) };
  if (last.startsWith("?")) return pressed({ ...back, question: last.slice(1) });
  return pressed({ ...back, answers: merged(hand.answers, { [last]: null }), question: last }, [{ does: "undo" }]);
}

/** @type {(language: Language, hand: Hand) => Pressed} */
function untyped(language, hand) {
  if (!LISTS.has(typeOf(language, hand))) return pressed({ ...hand, typed: hand.typed.slice(0, -1) });
  const bare = { ...hand, typed: "" }; // the “or” after a set, which stays as it was
  const code = nextQuestion(language, bare);
  return pressed(code ? { ...bare, question: code } : null);
}

/** @type {(language: Language, hand: Hand, stroke: string) => Pressed} */
function pressText(language, hand, stroke) {
  if (stroke.startsWith("=") && stroke.length > 1) return answered(language, hand, hand.question, stroke.slice(1));
  if (stroke === "Enter" || stroke === "=") return skipped(language, hand);
  if (stroke === "Escape") return pressed(null);
  if (stroke === "Backspace") return takeBack(language, hand);
  return refused(hand, "a text is being written; Enter ends it");
}

/** @type {(language: Language, context: Context, stroke: string) => Pressed} */
function markKey(language, context, stroke) {
  const found = language.keys.get(stroke)?.find(({ kind, key }) => fits({ ...kind.needs, ...key.needs }, context));
  const refusal = refusedMark(language, context, stroke, found);
  return found && !refusal ? made(language, context, found.kind, found.key) : refused(null, refusal);
}

/** @type {(language: Language, context: Context, kind: import("./language.js").Kind, key: import("./language.js").MarkKey) => Pressed} */
function made(language, context, kind, key) {
  /** @type {Answers} an answer that begins with @ is the context's, left out where that is not known */
  const answers = {};
  for (const [name, value] of Object.entries(key.answers ?? {})) {
    const told = value.startsWith("@") ? context[value.slice(1)] : value;
    if (told) answers[name] = told;
  }
  const hand = openHand(language, context, kind.code, answers);
  const bare = { kind: kind.code, answers, context, question: "", typed: "", said: [], old: false, held: [] };
  const done = pressed(hand, [{ does: "mark", kind: kind.code, answers }]);
  return !hand && unsureSet(language, bare) ? { ...done, closed: bare } : done;
}
