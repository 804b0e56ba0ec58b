// The season's games and how their film stands.
import { el } from "/screen/view/dom.js";

/**
 * @typedef {{id: string, name: string, length: string, gap: string, state: string, original: string, says: string, damage: string[],
 *   may_lighten: boolean, camera: string}} Film
 */
/** @typedef {{id: string, title: string, day: string, date: string, films: Film[]}} Game */

/** @param {HTMLElement} place @param {Game[]} games @param {(film: string) => void} lighten */
export function drawGames(place, games, lighten) {
  if (!games.length) return place.replaceChildren(el("p", { class: "soft" }, "No games yet; the first film makes the first one."));
  place.replaceChildren(...games.map((game) => gameRow(game, lighten)));
}

/** @param {Game} game @param {(film: string) => void} lighten */
function gameRow(game, lighten) {
  const ready = game.films.some((film) => film.state === "ready");
  const tag = ready && el("a", { href: `/tag/${encodeURIComponent(game.id)}` }, "tag it");
  const films = game.films.map((film) => filmRow(film, lighten));
  const none = el("li", {}, el("small", {}, "no film"));
  return el(
    "div",
    { class: "game" },
    el("div", {}, el("b", {}, game.title), el("span", { class: "soft" }, game.day, ready ? " · " : ""), tag),
    el("ul", {}, ...(films.length ? films : [none])),
  );
}

/** @param {Film} film @param {(film: string) => void} lighten */
function filmRow(film, lighten) {
  const bad = film.original === "away" || film.original === "changed";
  const light =
    film.may_lighten &&
    el("button", { type: "button", class: "word", "aria-label": `${film.name}: make a light copy`, onclick: () => lighten(film.id) }, "make a light copy");
  return el(
    "li",
    { "data-film": film.id },
    film.gap ? el("small", {}, film.gap) : null,
    film.camera ? el("small", {}, film.camera) : null,
    el("b", {}, film.name),
    ` ${film.length}`,
    el("small", { class: bad ? "bad" : "" }, film.says, light ? "; " : "", light),
    ...film.damage.map((line) => el("small", { class: "bad" }, `damaged: ${line}`)),
  );
}
