// Two sets' runs on two films beside each other: both reach the screen at the same moment, or one plays after the other.
import { KEY, capOf } from "/screen/keys/own.js";
import { el } from "/screen/view/dom.js";
import { fetched } from "./fetched.js";
import { DOES } from "./furniture.js";
import { PACES, Player } from "./player.js";
import { filmWords, keptWords } from "./playlist.js";

/** @typedef {import("./playlist.js").Clip} Clip */
/** @typedef {import("./playlist.js").Piece} Piece */

const BREATH_MS = 700; // between one pair and the next
const CLOSE_S = 0.012; // nearer than this, half a frame of 40 a second, the two are together
const FAR_S = 0.4; // further, one of them goes there at once
const PULL = 0.25; // how much quicker or slower a film runs to catch up, at most
/** @type {[string[], string][]} */
const SAID = [[[KEY.play], "play, hold"], [[KEY.lineBefore, KEY.nextLine], "pair before, next pair"], [[KEY.frameBack, KEY.frameOn], "a frame of both"], [[KEY.pace], "half, quarter speed"]];
/** Of what keys do in the tray, what they do here too. */
const HERE = new Set(["toggle", "hold", "back", "on", "frameBack", "frameOn", "pace"]);

/** One of the two: a film, what it shows, and its set's runs. */
class Pane {
  /** @param {HTMLElement} half @param {() => void} onEnd @param {() => void} onChange */
  constructor(half, onEnd, onChange) {
    this.ids = (half.dataset.ids ?? "").split(" ").filter(Boolean);
    this.name = half.dataset.name ?? "";
    this.said = el("p", { class: "soft", role: "status" });
    const videos = [0, 1].map(() => el("video", { playsinline: true, preload: "auto" }));
    this.figure = el("div", { class: "pane" }, el("b", {}, this.name), el("div", { class: "screen" }, ...videos), this.said);
    this.player = new Player(videos, onEnd, onChange);
    /** @type {Clip[]} */
    this.clips = [];
    this.over = false;
  }

  async fill() {
    try {
      const answer = await fetched({ what: this.name, table: "runs", ids: this.ids }, { before: 0, after: 0 });
      this.clips = answer.clips;
      this.said.textContent = `${filmWords(answer)}.${keptWords(answer)}`;
    } catch (fault) {
      this.said.textContent = fault instanceof Error ? fault.message : String(fault);
    }
  }

  /** The run of a pair: the shorter list begins anew. @param {number} pair */
  clip(pair) {
    return this.clips[pair % this.clips.length];
  }

  /** The part of it that holds its screen, and how far into that the screen comes. @param {number} pair @returns {{piece: Piece, screen_s: number | null}} */
  part(pair) {
    const { pieces, screen } = this.clip(pair);
    return screen ? { piece: pieces[screen.piece], screen_s: screen.at_s - pieces[screen.piece].start_s } : { piece: pieces[0], screen_s: null };
  }

  /** @param {number} pair @param {string} note */
  say(pair, note) {
    const clip = this.clip(pair);
    const parts = clip.pieces.length > 1 ? " It lies in two films: one of them is shown." : "";
    this.said.textContent = `${(pair % this.clips.length) + 1} of ${this.clips.length}: ${clip.opponent}, ${clip.clock}${clip.what && ` · ${clip.what}`}.${note}${parts}`;
  }
}

class BothFilms {
  /** @param {HTMLElement} root what holds the two halves */
  constructor(root) {
    this.root = root;
    this.pair = 0;
    this.turn = 0;
    this.running = false;
    this.inTurn = false;
    /** Whose turn it is where one plays after the other. */
    this.whose = 0;
    const button = (/** @type {string} */ does, /** @type {string} */ text, /** @type {string | false} */ label = false) =>
      el("button", { type: "button", "data-both-does": does, "aria-label": label }, text);
    this.hand = el("div", { class: "hand" },
      button("back", "‹", "pair before"), button("toggle", "Play"), button("on", "›", "next pair"), button("pace", "1×", "1× speed"),
      button("order", "one after the other"), el("span", { class: "soft at" }),
      el("span", { class: "soft keys" }, ...SAID.flatMap(([keys, says]) => [...[...keys].map((key) => el("kbd", {}, capOf(key))), ` ${says} `])));
    const halves = /** @type {HTMLElement[]} */ ([...root.querySelectorAll(".half")]);
    this.panes = halves.map((half, place) => new Pane(half, () => this.#ended(place), () => this.#draw()));
    this.films = el("div", { class: "panes" }, ...this.panes.map((pane) => pane.figure));
    root.before(this.hand, this.films);
    const act = (/** @type {Event} */ event) => {
      const does = /** @type {HTMLElement} */ (event.target).closest("[data-both-does]")?.getAttribute("data-both-does");
      if (does) this.do(does);
      else if (event.target instanceof HTMLVideoElement) this.do("toggle");
    };
    this.hand.addEventListener("click", act);
    this.films.addEventListener("click", act);
    for (const part of [this.hand, this.films]) part.addEventListener("keydown", (event) => this.#key(event));
    void this.#begin();
  }

  async #begin() {
    await Promise.all(this.panes.map((pane) => pane.fill()));
    this.ready = this.panes.every((pane) => pane.clips.length > 0);
    if (!this.ready) return this.#draw();
    await this.#show(0, true);
  }

  get n() {
    return Math.max(...this.panes.map((pane) => pane.clips.length));
  }

  /** Stand on a pair, each so far before its screen as the other, and play. @param {number} pair @param {boolean} run */
  async #show(pair, run) {
    const turn = ++this.turn;
    this.pair = (pair + this.n) % this.n;
    this.whose = 0;
    this.running = false;
    const parts = this.panes.map((pane) => pane.part(this.pair));
    const leads = parts.map(({ screen_s }) => screen_s);
    const together = leads.every((lead) => lead !== null);
    const lead = together ? Math.min(.../** @type {number[]} */ (leads)) : 0;
    this.root.dataset.aligned = String(together);
    await Promise.all(this.panes.map(({ player }, place) => {
      const { piece, screen_s } = parts[place];
      const start_s = together && !this.inTurn ? piece.start_s + (screen_s ?? 0) - lead : piece.start_s;
      return player.show({ ...piece, start_s }, false);
    }));
    if (turn !== this.turn) return;
    for (const pane of this.panes) {
      pane.over = false;
      pane.say(this.pair, together ? "" : pane.part(this.pair).screen_s === null ? " No screen is marked in it: it plays from its beginning." : "");
    }
    if (run) this.#run();
    else this.#draw();
  }

  #run() {
    this.running = true;
    document.dispatchEvent(new CustomEvent("floorbook:hold", { detail: this }));
    for (const [place, { player, over }] of this.panes.entries()) {
      if (!over && !player.playing && (!this.inTurn || place === this.whose)) player.toggle();
    }
    const { turn } = this;
    const tick = () => {
      if (!this.running || turn !== this.turn || !this.root.isConnected) return;
      const tray = document.querySelector("#dock video.on");
      if (tray instanceof HTMLVideoElement && !tray.paused) return this.hold(); // one or the other
      if (!this.inTurn) this.#keepTogether();
      requestAnimationFrame(tick);
    };
    tick();
    this.#draw();
  }

  /** What is behind runs a little quicker, until both show the same moment. */
  #keepTogether() {
    const [one, other] = this.panes.map(({ player }) => player);
    if (!one.piece || !other.piece || !one.playing || !other.playing) return;
    const behind = one.at_s - other.at_s;
    if (Math.abs(behind) > FAR_S) return other.jump(behind);
    const pull = Math.abs(behind) < CLOSE_S ? 0 : Math.max(-PULL, Math.min(PULL, behind * 3));
    other.video.playbackRate = other.pace * (1 + pull);
  }

  hold() {
    this.running = false;
    for (const { player } of this.panes) player.hold();
    this.#draw();
  }

  /** @param {number} place */
  #ended(place) {
    if (!this.running) return;
    this.panes[place].over = true;
    if (this.inTurn && place === 0) {
      this.whose = 1;
      return void (this.panes[1].player.playing || this.panes[1].player.toggle());
    }
    if (!this.panes.every((pane) => pane.over || (this.inTurn && pane === this.panes[0]))) return;
    const { turn } = this;
    setTimeout(() => {
      if (turn !== this.turn || !this.running) return;
      if (this.pair + 1 < this.n) void this.#show(this.pair + 1, true);
      else {
        this.running = false;
        this.#draw();
      }
    }, BREATH_MS);
  }

  /** @param {string} does */
  do(does) {
    if (!this.ready) return;
    if (does === "toggle") {
      if (this.running) this.hold();
      else if (this.panes.every((pane) => pane.over)) void this.#show(this.pair, true);
      else this.#run();
    } else if (does === "hold") this.hold();
    else if (does === "on") void this.#show(this.pair + 1, true);
    else if (does === "back") void this.#show(this.pair - 1, true);
    else if (does === "order") {
      this.inTurn = !this.inTurn;
      void this.#show(this.pair, true);
    } else if (does === "pace") for (const { player } of this.panes) player.slower();
    else {
      this.running = false;
      for (const { player } of this.panes) player.step(does === "frameBack" ? -1 : 1);
    }
    this.#draw();
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    const does = DOES[event.key];
    const target = /** @type {HTMLElement} */ (event.target);
    if (!HERE.has(does) || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key === " " && target.closest("button, a")) return;
    event.preventDefault();
    event.stopPropagation();
    this.do(does);
  }

  #draw() {
    const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (this.hand.querySelector(`[data-both-does=${name}]`));
    part("toggle").textContent = this.running ? "Hold" : "Play";
    part("order").textContent = this.inTurn ? "both at once" : "one after the other";
    const pace = PACES.get(this.panes[0].player.pace) ?? "";
    part("pace").textContent = pace;
    part("pace").setAttribute("aria-label", `${pace} speed`);
    const fault = this.panes.map(({ player }) => player.fault).find(Boolean);
    const at = /** @type {HTMLElement} */ (this.hand.querySelector(".at"));
    if (fault) at.textContent = fault;
    else if (this.ready) at.textContent = `pair ${this.pair + 1} of ${this.n}${this.root.dataset.aligned === "true" && !this.inTurn ? ", the screens at the same moment" : ""}`;
    else if (this.ready === false) at.textContent = "Both need film to be shown beside each other.";
  }

  clear() {
    this.turn++;
    this.running = false;
    for (const { player } of this.panes) player.clear();
  }
}

/** @type {BothFilms | null} */
let both = null;

document.addEventListener("click", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const asks = /** @type {HTMLElement | null} */ (target.closest("[data-both-films]"));
  if (!asks) return void (target.closest(".plays") && both?.hold()); // what is pressed plays in the tray
  const root = /** @type {HTMLElement | null} */ (asks.closest("section")?.querySelector(".two-sets"));
  if (!root) return;
  both?.clear();
  both = new BothFilms(root);
  asks.remove();
  /** @type {HTMLElement} */ (both.hand.querySelector("[data-both-does=toggle]")).focus({ preventScroll: true });
});
document.addEventListener("floorbook:page", () => {
  if (!both || both.root.isConnected) return;
  both.clear(); // another page, or other sets: nothing is held open
  both = null;
});
document.addEventListener("floorbook:hold", (event) => {
  if (/** @type {CustomEvent} */ (event).detail !== both) both?.hold();
});
