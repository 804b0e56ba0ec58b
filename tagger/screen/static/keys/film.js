// What the keys of the film do: the film's own, and those of the game's other cameras.
import { JUMP_MS } from "../film/deck.js";
import { KEY } from "./own.js";

/** @typedef {import("../film/deck.js").FilmDeck} FilmDeck */
/** @typedef {import("./handlers.js").Handler} Handler */

/**
 * @param {FilmDeck} deck
 * @param {() => void} onMoved a person moved the film
 * @returns {Handler[]}
 */
export function filmKeys(deck, onMoved) {
  /** @type {(key: string, says: string, act: () => void, repeats?: boolean) => Handler} */
  const moves = (key, says, act, repeats = false) => ({
    keys: [key],
    says,
    block: "Film",
    apart: true,
    repeats,
    does: () => {
      if (deck.ready) act();
      onMoved();
    },
  });
  return [
    moves(KEY.play, "play, hold", () => deck.toggle()),
    moves(KEY.backwards, "backwards, faster each time", () => deck.shuttle(-1)),
    moves(KEY.hold, "hold", () => deck.hold()),
    moves(KEY.forwards, "forwards, faster each time", () => deck.shuttle(1)),
    moves(KEY.frameBack, "one frame back", () => deck.step(-1), true),
    moves(KEY.frameOn, "one frame on", () => deck.step(1), true),
    moves(KEY.jumpBack, "five seconds back", () => void deck.jump(-JUMP_MS), true),
    moves(KEY.jumpOn, "five seconds on", () => void deck.jump(JUMP_MS), true),
    moves(KEY.again, "the last four seconds again, at half speed", () => deck.replay()),
    moves(KEY.pace, "play at half, quarter, full speed", () => deck.slower()),
  ];
}

/**
 * @param {{next: () => void, tie: () => void, mayTie: boolean}} camera
 * @returns {Handler[]}
 */
export function cameraKeys(camera) {
  return [
    { keys: [KEY.otherCamera], says: "the other camera, and back", block: "Film", apart: true, does: () => camera.next() },
    {
      keys: [KEY.tie],
      says: camera.mayTie ? "both cameras show this moment: tie them" : "",
      block: "Film",
      apart: true,
      does: () => camera.tie(),
    },
  ];
}
