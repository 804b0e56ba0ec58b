// The keys of a question at hand and of what was entered, and those around the marks. What a mark's own key does is said by
// the vocabulary, and stands with the mark.
import { KEY } from "./own.js";

/** @typedef {import("../view/tagging.js").Tagging} Tagging */
/** @typedef {import("./handlers.js").Handler} Handler */
/** @typedef {import("./handlers.js").AtHand} AtHand */

/**
 * @param {Tagging} tagging
 * @returns {Handler[]}
 */
export function markKeys(tagging) {
  const isPicked = () => tagging.desk.sequence.byId.has(tagging.picked);
  /** @type {(key: string, says: string, now?: (atHand: AtHand) => boolean, more?: Partial<Handler>) => Handler} */
  const enters = (key, says, now, more = {}) => ({ keys: [key], says, block: "Questions", now, does: (stroke) => tagging.mark(stroke), ...more });
  return [
    {
      keys: [KEY.place],
      says: "go to a film time, or to a period and its clock",
      block: "The log",
      apart: true,
      does: () => tagging.views.place.ask(),
    },
    {
      keys: [KEY.skip],
      says: "another book’s marks, to take single ones over",
      block: "The log",
      now: (atHand) => atHand === "line" || atHand === "none",
      does: () => void tagging.other?.open(),
    },
    enters(KEY.enter, "take what is offered, else skip the question", (atHand) => atHand === "hand" || atHand === "none"),
    enters(KEY.skip, "skip the question, whatever is offered", (atHand) => atHand === "hand"),
    enters(KEY.leave, "leave the questions", (atHand) => atHand === "hand" || !isPicked(), { harmless: true }),
    enters(KEY.or, "or: unsure between two numbers, or two sets; counted as neither, asked again", (atHand) => atHand !== "asked"),
    enters(KEY.takeBack, "take back", () => !tagging.second.goesBack, { repeats: true }),
    enters(KEY.bringBack, "bring back"),
    {
      keys: [KEY.turnHold],
      says: "the film holds while a question is open, or plays on",
      block: "Questions",
      apart: true,
      does: () => tagging.turnHold(),
    },
    { keys: [KEY.sheet], says: "this sheet", block: "Questions", apart: true, does: () => tagging.views.sheet.showModal() },
  ];
}

/** Whatever no other handler takes: a mark’s key, an answer’s, a digit. @param {Tagging} tagging @returns {Handler} */
export const restOfKeys = (tagging) => ({ keys: [], says: "", block: "Questions", does: (stroke) => tagging.mark(stroke) });
