// What the film keys do. Says whether a stroke was one.
import { JUMP_MS } from "../film/deck.js";

/** @typedef {import("../film/deck.js").FilmDeck} FilmDeck */

/** @type {Record<string, (deck: FilmDeck) => void>} */
const KEYS = {
  " ": (deck) => deck.toggle(),
  j: (deck) => deck.shuttle(-1),
  k: (deck) => deck.hold(),
  l: (deck) => deck.shuttle(1),
  z: (deck) => deck.replay(),
  Z: (deck) => deck.slower(),
  ",": (deck) => deck.step(-1),
  ".": (deck) => deck.step(1),
  ArrowLeft: (deck) => void deck.jump(-JUMP_MS),
  ArrowRight: (deck) => void deck.jump(JUMP_MS),
};
const REPEATING = new Set([",", ".", "ArrowLeft", "ArrowRight"]);

/**
 * @param {FilmDeck} deck
 * @param {string} stroke
 * @param {boolean} repeat
 */
export function filmKey(deck, stroke, repeat) {
  const act = KEYS[stroke];
  if (!act) return false;
  if (deck.ready && (!repeat || REPEATING.has(stroke))) act(deck);
  return true;
}

/** Every film key with what it does, for the sheet of all keys. */
export const FILM_KEYS = [
  { key: " ", name: "play, hold" },
  { key: "j", name: "backwards, faster each time" },
  { key: "k", name: "hold" },
  { key: "l", name: "forwards, faster each time" },
  { key: ",", name: "one frame back" },
  { key: ".", name: "one frame on" },
  { key: "ArrowLeft", name: "five seconds back" },
  { key: "ArrowRight", name: "five seconds on" },
  { key: "z", name: "the last four seconds again, at half speed" },
  { key: "Z", name: "play at half, quarter, full speed" },
];
