// What is said where film is still being made playable or is not there, and the watch on what the server makes of it.
import { ask, urlOf } from "../outbox/server.js";

/** @typedef {import("../film/onscreen.js").Film} Film */
/** @typedef {import("../film/changeover.js").ChangeOver} ChangeOver */

const EVERY_MS = 3000;
const SELDOM_MS = 15000;

/**
 * Why there is no film to look at; empty when there is.
 * @param {Film[]} films
 */
export function whyNone(films) {
  if (!films.length) return "This game has no film yet. Bring it in on the page of film, or with: floorbook film";
  if (films.some((film) => film.state === "ready")) return "";
  const making = films.find((film) => film.state === "waiting");
  if (making) return `${making.name} is being made playable${howFar(making)}. Tagging can begin when its beginning is done.`;
  const gone = films.find((film) => film.state === "away" || film.state === "changed");
  if (!gone) return "This game has marks but no film.";
  const how = gone.state === "away" ? "The film is not where it was" : "Another file lies where the film was";
  return `${how}: ${gone.name}. Put the card or disk in, or find it again on the page of film.`;
}

/** @param {Film} film */
function howFar({ coming }) {
  if (!coming) return "";
  if (coming.state === "failed") return ` and could not be: ${coming.why}`;
  if (coming.state === "paused") return ", which rests: resume it on the page of film";
  const left = coming.left_s === null ? "" : `, about ${inWords(coming.left_s)} left`;
  return coming.share > 0 ? `: ${Math.floor(coming.share * 100)} %${left}` : "";
}

/** @param {number} seconds */
function inWords(seconds) {
  return seconds < 90 ? `${Math.ceil(seconds)} s` : `${Math.ceil(seconds / 60)} min`;
}

/**
 * Ask for the films again and again, often while something is being made.
 * @param {string} game
 * @param {Film[]} films as known
 * @param {(films: Film[]) => void} take
 */
export function watchFilms(game, films, take) {
  let known = films;
  const later = () => {
    const soon = known.some((film) => film.state === "waiting" || (film.coming && film.coming.state !== "failed"));
    window.setTimeout(askNow, soon ? EVERY_MS : SELDOM_MS);
  };
  const askNow = async () => {
    if (!document.hidden) {
      const found = await ask(urlOf(game, "films.json")).catch(() => null);
      if (found) {
        known = found.films;
        take(known);
      }
    }
    later();
  };
  if (known.length) later();
}
