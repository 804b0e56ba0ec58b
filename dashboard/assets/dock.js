// Every page: what its numbers play goes to the film tray, and the tray stays while pages change.
import { readAddress } from "./address.js";
import { Tray } from "./tray.js";

/** @typedef {import("./address.js").Asked} Asked */

const MOST_SUGGESTED = 200; // rows; a page's own suggestion is a handful of clips

/** @type {Tray | null} */
let tray = null;
/** What was put into each plain part of the page. @type {WeakMap<Element, string>} */
const texts = new WeakMap();

/** What had the keys last. @type {Element | null} */
let keys = null;

function mounted() {
  const root = document.getElementById("dock");
  if (root && !tray) tray = new Tray(root, numberOf);
  return tray;
}

/** What a number plays. @param {HTMLElement} number @returns {Asked} */
function askedBy({ dataset: { table, ids = "", player, what = "" } }) {
  return player ? { what, player } : { what, table, ids: ids.split(" ") };
}

/** Where the page says a number, by its words and rows. @param {Asked & {clip?: string}} asked @returns {HTMLElement | null} */
function numberOf({ what, table, player, rows, clip }) {
  if (rows) return null; // a list is no number's
  const said = [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("main .plays"))];
  const alike = said.filter(({ dataset }) => dataset.what === what && (player ? dataset.player === player : dataset.table === table));
  return alike.find(({ dataset }) => player || !clip || dataset.ids?.split(" ").includes(clip)) ?? null;
}

/** The film that the address tells of, else what the page itself has to show first. */
function filmed() {
  const film = mounted();
  if (!film) return;
  const wanted = readAddress(location.hash);
  if (wanted && (wanted.what !== film.told?.what || wanted.clip !== film.told.clip)) {
    const number = numberOf(wanted);
    film.more = wanted.more;
    mark(number);
    return void film.play(number ? askedBy(number) : wanted, { clip: wanted.clip });
  }
  film.note();
  const numbers = [.../** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("main .plays"))];
  const counts = numbers.filter((one) => !one.closest("[data-marks]")); // a figure's mark is a single run
  const first = [...counts, ...numbers].map(askedBy).find(({ ids }) => ids && ids.length <= MOST_SUGGESTED);
  film.suggest(first ?? null, numbers.length > 0);
}

/** @param {HTMLElement | null} number the one that plays */
function mark(number) {
  for (const one of document.querySelectorAll(".plays.on")) one.classList.remove("on");
  number?.classList.add("on");
}

function filled() {
  mounted();
  for (const plain of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-html]"))) {
    const text = plain.dataset.html ?? "";
    if (texts.get(plain) !== text) plain.innerHTML = text;
    texts.set(plain, text);
  }
  const heading = document.querySelector("main h1");
  document.title = heading ? `${heading.textContent} · floorbook` : "floorbook";
  for (const way of document.querySelectorAll("header nav a")) {
    if (way.classList.contains("on")) way.setAttribute("aria-current", "page");
    else way.removeAttribute("aria-current");
  }
  if (keys && !keys.isConnected && heading) document.querySelector("main")?.focus({ preventScroll: true }); // what they were on is gone
  if (location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
  if (heading) filmed();
}

document.addEventListener("floorbook:hold", () => mounted()?.player.hold()); // other films of the page play
document.addEventListener("focusin", (event) => (keys = /** @type {Element} */ (event.target)));
document.addEventListener("floorbook:page", filled);
if (document.querySelector("[data-html]")) filled(); // the page may have come before this script did

document.addEventListener("floorbook:play", (event) => {
  const { table, ids, what } = /** @type {CustomEvent} */ (event).detail;
  void mounted()?.press({ table, ids: ids.split(" "), what }, null);
});

document.addEventListener("click", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const way = /** @type {HTMLAnchorElement | null} */ (target.closest("a[data-way]"));
  if (way && !event.ctrlKey && !event.metaKey && !event.shiftKey && event.button === 0) {
    event.preventDefault(); // the film plays on: the page is changed, not left
    history.pushState({}, "", way.href);
    dispatchEvent(new CustomEvent("_dashprivate_pushstate"));
    scrollTo(0, 0);
  }
  const button = /** @type {HTMLElement | null} */ (target.closest(".plays"));
  if (button) {
    mark(button);
    void mounted()?.press(askedBy(button), button);
  }
  for (const open of document.querySelectorAll("details.choice[open]")) {
    if (!open.contains(target)) open.removeAttribute("open");
  }
});

document.addEventListener("keydown", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  if ((event.key === "Enter" || event.key === " ") && target.matches?.(".plays[role=button]")) {
    event.preventDefault();
    target.dispatchEvent(new MouseEvent("click", { bubbles: true }));
  }
  if (event.key !== "Escape") return;
  for (const open of document.querySelectorAll("details.choice[open]")) {
    open.removeAttribute("open");
    /** @type {HTMLElement | null} */ (open.querySelector("summary"))?.focus();
  }
});
