// The docked film: what any number of any page plays, one clip after the other. It stays while pages change.
import { Player } from "./player.js";
import { after, filmWords, keptWords, lengthOf, minutes } from "./playlist.js";

/** @typedef {import("./playlist.js").Answer} Answer */
/** @typedef {{what: string, table?: string, ids?: string[], player?: string}} Asked */

const PACES = [1, 0.5, 0.25];
const SWIPE_PX = 50;
const EMPTY = "Every underlined number plays here: exactly what it was counted from, one after the other.";

class Dock {
  /** @param {HTMLElement} root */
  constructor(root) {
    root.innerHTML = `<div class="card" tabindex="-1" role="region" aria-label="Film">
      <div class="screen"><video playsinline preload="auto"></video><p class="empty">${EMPTY}</p></div>
      <p class="what" role="status"></p>
      <div class="hand"><button type="button" data-does="back" aria-label="clip before">‹</button>
        <button type="button" data-does="toggle">Play</button>
        <button type="button" data-does="on" aria-label="next clip">›</button>
        <button type="button" data-does="pace" aria-label="speed">1×</button>
        <button type="button" data-does="wide" aria-label="whole screen">⤢</button>
        <button type="button" data-does="fold" aria-expanded="true">Fold</button><span class="soft at"></span></div>
      <ol></ol></div>`;
    this.root = root;
    this.what = /** @type {HTMLElement} */ (root.querySelector(".what"));
    this.list = /** @type {HTMLElement} */ (root.querySelector("ol"));
    this.at = /** @type {HTMLElement} */ (root.querySelector(".at"));
    this.toggle = /** @type {HTMLElement} */ (root.querySelector("[data-does=toggle]"));
    this.pace = /** @type {HTMLElement} */ (root.querySelector("[data-does=pace]"));
    this.card = /** @type {HTMLElement} */ (root.querySelector(".card"));
    const video = /** @type {HTMLVideoElement} */ (root.querySelector("video"));
    this.player = new Player(video, () => this.#next(), () => this.#draw());
    video.addEventListener("timeupdate", () => this.#draw());
    /** @type {Answer} */
    this.answer = { n: 0, clips: [], away: [], gone: 0, kept_back: 0, film: true };
    /** @type {import("./playlist.js").Spot} */
    this.spot = { clip: 0, piece: 0 };
    root.addEventListener("click", (event) => this.#clicked(/** @type {HTMLElement} */ (event.target)));
    this.card.addEventListener("keydown", (event) => this.#key(event));
    this.asked = 0;
    this.#swiped(/** @type {HTMLElement} */ (root.querySelector(".screen")));
  }

  /** A finger drawn across the film goes to the clip before or after. @param {HTMLElement} screen */
  #swiped(screen) {
    /** @type {Touch | null} */
    let began = null;
    screen.addEventListener("touchstart", (event) => (began = event.touches.length === 1 ? event.touches[0] : null), { passive: true });
    screen.addEventListener("touchend", (event) => {
      const ended = event.changedTouches[0];
      const across = began ? ended.clientX - began.clientX : 0;
      const along = began ? Math.abs(ended.clientY - began.clientY) : 0;
      began = null;
      if (Math.abs(across) < SWIPE_PX || along > Math.abs(across) / 2) return;
      event.preventDefault(); // not a touch on the film as well
      this.#beside(across < 0 ? 1 : -1);
    });
  }

  /** The clip before or after, if there is one. @param {1 | -1} way */
  #beside(way) {
    const to = this.spot.clip + way;
    if (this.answer.clips[to]) this.#show(to, 0, true);
  }

  /** Away with the picture, or back; nothing plays unseen. @param {boolean} folded */
  #fold(folded) {
    if (folded) this.player.video.pause();
    this.root.classList.toggle("folded", folded);
    const button = /** @type {HTMLElement} */ (this.root.querySelector("[data-does=fold]"));
    button.textContent = folded ? "Unfold" : "Fold";
    button.setAttribute("aria-expanded", String(!folded));
  }

  /** @param {Asked} asked */
  async play(asked) {
    const turn = ++this.asked;
    this.#fold(false);
    this.what.textContent = `${asked.what} …`;
    /** @type {Answer} */
    let answer;
    try {
      answer = await fetched(asked);
    } catch (fault) {
      if (turn === this.asked) this.what.textContent = fault instanceof Error ? fault.message : String(fault);
      return;
    }
    if (turn !== this.asked) return;
    this.answer = answer;
    this.#list(asked.what);
    if (answer.clips.length > 0) this.#show(0, 0, true);
    else this.player.clear();
    this.#draw();
  }

  /** @param {string} what */
  #list(what) {
    const { answer } = this;
    const away = answer.away.length ? ` ${answer.away.join(", ")}: not where it was.` : "";
    const gone = answer.gone ? ` ${answer.gone} changed since this page was made; load it anew.` : "";
    this.what.textContent = `${what} · ${filmWords(answer)}.${keptWords(answer)}${away}${gone}`;
    this.list.replaceChildren(
      ...answer.clips.map((clip, number) => {
        const line = document.createElement("li");
        const button = document.createElement("button");
        button.type = "button";
        button.dataset.clip = String(number);
        for (const text of [String(number + 1), clip.label, minutes(lengthOf(clip))]) {
          const part = document.createElement("span");
          part.textContent = text;
          button.append(part);
        }
        line.append(button);
        return line;
      }),
    );
    this.root.classList.toggle("on", answer.clips.length > 0);
  }

  /** @param {number} clip @param {number} piece @param {boolean} run */
  #show(clip, piece, run) {
    this.spot = { clip, piece };
    const wanted = this.answer.clips[clip].pieces[piece];
    void this.player.show(wanted, run).then(() => this.#draw());
    for (const [number, line] of [...this.list.children].entries()) {
      line.classList.toggle("on", number === clip);
      if (number === clip) this.list.scrollTop = /** @type {HTMLElement} */ (line).offsetTop - this.list.offsetTop - 40;
    }
    this.root.dataset.clip = String(clip);
  }

  #next() {
    const next = after(this.answer.clips, this.spot);
    if (next) this.#show(next.clip, next.piece, true);
    else this.#draw();
  }

  /** @param {HTMLElement} target */
  #clicked(target) {
    const { clips } = this.answer;
    const button = target.closest("button");
    if (!button) return void (target instanceof HTMLVideoElement && clips.length && this.#toggle());
    if (button.dataset.clip) return this.#show(Number(button.dataset.clip), 0, true);
    this.#do(button.dataset.does ?? "");
  }

  /** @param {string} does */
  #do(does) {
    const { clips } = this.answer;
    const { video } = this.player;
    if (does === "fold") return this.#fold(!this.root.classList.contains("folded"));
    if (does === "wide") return void (document.fullscreenElement ? document.exitFullscreen() : this.card.requestFullscreen?.());
    if (does === "pace") {
      video.defaultPlaybackRate = video.playbackRate = PACES[(PACES.indexOf(video.playbackRate) + 1) % PACES.length];
    }
    if (clips.length === 0) return;
    if (does !== "pace") this.#fold(false);
    if (does === "toggle") this.#toggle();
    if (does === "back") this.#show(this.player.at_s > 2 ? this.spot.clip : Math.max(0, this.spot.clip - 1), 0, true);
    if (does === "on") this.#show(Math.min(clips.length - 1, this.spot.clip + 1), 0, true);
    this.#draw();
  }

  #toggle() {
    if (this.player.piece) this.player.toggle();
    else this.#show(this.spot.clip, 0, true);
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    const does = { " ": "toggle", k: "toggle", ArrowLeft: "back", ArrowRight: "on" }[event.key];
    if (!does || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key === " " && event.target instanceof HTMLButtonElement) return;
    event.preventDefault();
    this.#do(does);
  }

  #draw() {
    const { player, answer, spot } = this;
    this.toggle.textContent = player.playing ? "Hold" : "Play";
    const pace = player.video.playbackRate;
    this.pace.textContent = pace === 1 ? "1×" : pace === 0.5 ? "½×" : "¼×";
    const clip = answer.clips[spot.clip];
    this.at.textContent = player.fault || (clip ? `${spot.clip + 1} of ${answer.clips.length}, ${minutes(player.at_s)}` : "");
  }
}

/** @param {Asked} asked @returns {Promise<Answer>} */
async function fetched({ table, ids, player }) {
  const answer = await fetch("/clips", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(player ? { player } : { table, ids }),
  }).catch(() => {
    throw new Error("floorbook does not answer; is it still running?");
  });
  const told = await answer.json();
  if (!answer.ok) throw new Error(told.error.text);
  return told;
}

/** @type {Dock | null} */
let dock = null;
/** What was put into each plain part of the page. @type {WeakMap<Element, string>} */
const texts = new WeakMap();

function mounted() {
  const root = document.getElementById("dock");
  if (root && !dock) dock = new Dock(root);
  return dock;
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
  if (location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
}

document.addEventListener("floorbook:page", filled);
if (document.querySelector("[data-html]")) filled(); // the page may have come before this script did

document.addEventListener("floorbook:play", (event) => {
  const { table, ids, what } = /** @type {CustomEvent} */ (event).detail;
  void mounted()?.play({ table, ids: ids.split(" "), what });
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
    for (const one of document.querySelectorAll(".plays.on")) one.classList.remove("on");
    button.classList.add("on");
    const { table, ids = "", player, what = "" } = button.dataset;
    void mounted()?.play({ table, ids: ids.split(" "), player, what });
  }
  for (const open of document.querySelectorAll("details.choice[open]")) {
    if (!open.contains(target)) open.removeAttribute("open");
  }
});

document.addEventListener("keydown", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  if ((event.key === "Enter" || event.key === " ") && target.matches?.("span.plays")) {
    event.preventDefault();
    target.click();
  }
  if (event.key !== "Escape") return;
  for (const open of document.querySelectorAll("details.choice[open]")) {
    open.removeAttribute("open");
    /** @type {HTMLElement | null} */ (open.querySelector("summary"))?.focus();
  }
});
