// The film tray: what any number of any page plays, one clip after the other. It stays while pages change.
import { ClipList } from "./clip_list.js";
import { DOES, furnished } from "./furniture.js";
import { addressOf, bounded } from "./address.js";
import { fetched } from "./fetched.js";
import { PACES, Player } from "./player.js";
import { after, filmWords, keptWords, minutes } from "./playlist.js";

/** @typedef {import("./playlist.js").Answer} Answer */
/** @typedef {import("./address.js").Asked} Asked */
/** @typedef {import("./address.js").Told} Told */
/** `clip`: which clip to begin with; `run`: whether it plays at once; `idle`: what the page itself suggests.
 * @typedef {{clip?: string, run?: boolean, idle?: boolean}} How */

const LIST = "★ ";
const ORDERING = new Set(["earlier", "later"]);
const SWIPE_PX = 50;
const JUMP_S = 5;
const NARROW = matchMedia("(max-width: 900px) and (not ((orientation: landscape) and (max-height: 560px)))");
const EMPTY = "Every underlined number plays here: exactly what it was counted from, one after the other.";
const NOTHING = "Nothing on this page has film yet.";
/** @type {Answer} */
const NONE = { n: 0, clips: [], away: [], gone: 0, kept_back: 0, film: true, tag: false, season: "" };

export class Tray {
  /** @param {HTMLElement} root @param {(asked: Asked) => HTMLElement | null} numberOf where the page says a number */
  constructor(root, numberOf) {
    root.replaceChildren(furnished());
    this.root = root;
    this.numberOf = numberOf;
    this.card = this.#part(".card");
    this.player = new Player([...root.querySelectorAll("video")], () => this.#next(), () => this.#draw());
    this.lines = new ClipList(root, (from, to) => this.#order(from, to));
    this.answer = NONE;
    /** @type {Asked | null} */
    this.asked = null;
    this.more = { before: 0, after: 0 };
    /** Whether a person asked for what is in it. */
    this.taken = false;
    /** @type {import("./playlist.js").Spot} */
    this.spot = { clip: 0, piece: 0 };
    this.turn = 0;
    /** Where the keys were before. @type {HTMLElement | null} */
    this.from = null;
    for (const video of root.querySelectorAll("video")) video.addEventListener("timeupdate", () => this.#draw());
    root.addEventListener("click", (event) => this.#clicked(event));
    this.card.addEventListener("keydown", (event) => this.#key(event));
    this.#swiped(this.#part(".screen"));
    this.#draw();
  }

  /** What stands in the address of what plays; null where nobody asked for anything. @returns {Told | null} */
  get told() {
    const clip = this.answer.clips[this.spot.clip];
    return this.asked && this.taken ? { ...this.asked, clip: clip?.id ?? "", more: this.more } : null;
  }

  /** A person pressed a number: it plays, and the keys go to the film. @param {Asked} asked @param {HTMLElement | null} from */
  press(asked, from) {
    this.from = from;
    this.card.focus({ preventScroll: true });
    return this.play(asked, { run: true });
  }

  /** @param {Asked} asked @param {How} [how] */
  async play(asked, { clip = "", run = false, idle = false } = {}) {
    const turn = ++this.turn;
    if (!idle) {
      this.taken = true;
      this.#fold(false);
      this.#part(".what").textContent = `${asked.what} …`;
    }
    /** @type {Answer} */
    let answer;
    try {
      answer = await fetched(asked, this.more);
    } catch (fault) {
      if (turn === this.turn && !idle) this.#part(".what").textContent = fault instanceof Error ? fault.message : String(fault);
      return;
    }
    if (turn !== this.turn) return;
    this.asked = asked;
    this.answer = answer;
    this.root.classList.toggle("idle", idle);
    this.#list(idle ? `To begin with: ${asked.what}` : asked.what);
    const first = Math.max(0, answer.clips.findIndex((one) => one.id === clip));
    if (answer.clips.length === 0) this.player.clear();
    else if (idle && NARROW.matches) this.spot = { clip: 0, piece: 0 };
    else this.#show(first, 0, run);
    this.#draw();
  }

  /** What a page suggests, as long as nobody asked for anything. @param {Asked | null} asked @param {boolean} some whether anything there plays */
  suggest(asked, some) {
    if (this.taken) return;
    this.#part(".empty").textContent = some ? EMPTY : NOTHING;
    if (asked) return void this.play(asked, { idle: true });
    this.turn++;
    this.asked = null;
    this.answer = NONE;
    this.player.clear();
    this.#list("");
    this.#draw();
  }

  /** What plays stands in the address of whatever page is shown. */
  note() {
    const { told } = this;
    if (told) history.replaceState(history.state, "", addressOf(told, this.numberOf(told) === null));
  }

  /** @param {string} name */
  #part(name) {
    return /** @type {HTMLElement} */ (this.root.querySelector(name));
  }

  /** @param {string} what */
  #list(what) {
    const { answer } = this;
    const away = answer.away.length ? ` ${answer.away.join(", ")}: not where it was.` : "";
    const gone = answer.gone ? ` ${answer.gone} changed since this page was made; load it anew.` : "";
    this.#part(".what").textContent = what && `${what} · ${filmWords(answer)}.${keptWords(answer)}${away}${gone}`;
    const list = this.#part("ol");
    if (list.contains(document.activeElement)) this.card.focus({ preventScroll: true });
    this.lines.fill(answer.clips, answer.season, this.asked?.rows ? what.replace(LIST, "") : "");
    this.root.classList.toggle("on", answer.clips.length > 0);
  }

  /** @param {number} clip @param {number} piece @param {boolean} run */
  #show(clip, piece, run) {
    const { clips } = this.answer;
    this.spot = { clip, piece };
    const next = after(clips, this.spot);
    void this.player.show(clips[clip].pieces[piece], run).then(() => {
      this.player.prepare(next && clips === this.answer.clips && this.spot.clip === clip ? clips[next.clip].pieces[next.piece] : null);
      this.#draw();
    });
    this.lines.mark(clip);
    this.root.dataset.clip = String(clip);
    const tagging = /** @type {HTMLAnchorElement} */ (this.#part("a[data-does=tagging]"));
    tagging.href = `/tag/${encodeURIComponent(clips[clip].game)}?at=${clips[clip].at_ms}`;
    tagging.hidden = !this.answer.tag;
    this.note();
  }

  #next() {
    const next = after(this.answer.clips, this.spot);
    if (next) this.#show(next.clip, next.piece, true);
    else this.#draw();
  }

  /** A person does something with what was only suggested: it is his. */
  #take() {
    this.taken = true;
    this.root.classList.remove("idle");
    this.#fold(false);
  }

  /** @param {MouseEvent} event */
  #clicked(event) {
    const target = /** @type {HTMLElement} */ (event.target);
    const button = /** @type {HTMLElement | null} */ (target.closest("button"));
    if (target instanceof HTMLVideoElement && this.answer.clips.length) this.#do("toggle");
    else if (button?.dataset.star) this.lines.star(Number(button.dataset.star));
    else if (button?.dataset.clip) {
      this.#take();
      this.#show(Number(button.dataset.clip), 0, true);
    } else if (button) this.#do(button.dataset.does ?? "");
  }

  /** @param {string} does */
  #do(does) {
    const { player } = this;
    const { clips } = this.answer;
    if (does === "leave") return this.#leave();
    if (does === "fold") return this.#fold(!this.root.classList.contains("folded"));
    if (does === "wide") return void (document.fullscreenElement ? document.exitFullscreen() : this.card.requestFullscreen?.());
    if (does === "keys") return void (this.#part(".keys").hidden = !this.#part(".keys").hidden);
    if (does === "open") return void this.#open();
    if (clips.length === 0) return;
    if (does === "star") return this.lines.star(this.spot.clip);
    if (ORDERING.has(does)) return this.#order(this.spot.clip, this.spot.clip + (does === "earlier" ? -1 : 1));
    this.#take();
    if (does === "send") return void this.#send();
    if (does === "tagging") return this.answer.tag ? /** @type {HTMLElement} */ (this.#part("a[data-does=tagging]")).click() : undefined;
    const seconds = does.match(/^(before|after)(More|Less)$/);
    if (seconds) return this.#widen(/** @type {"before" | "after"} */ (seconds[1]), seconds[2] === "More" ? 1 : -1);
    if (does === "back") this.#show(Math.max(0, this.spot.clip - (player.at_s > 2 ? 0 : 1)), 0, true);
    else if (does === "on") this.#beside(1);
    else if (does === "toggle" && !player.piece) this.#show(this.spot.clip, 0, true);
    else MOVES[does]?.(player);
    this.#draw();
  }

  /** The clip before or after, if there is one. @param {1 | -1} way */
  #beside(way) {
    const to = this.spot.clip + way;
    if (this.answer.clips[to]) this.#show(to, 0, true);
  }

  /** More or less of every clip. @param {"before" | "after"} where @param {1 | -1} by */
  #widen(where, by) {
    this.more = { ...this.more, [where]: bounded(this.more[where] + by) };
    if (this.asked) void this.play(this.asked, { clip: this.answer.clips[this.spot.clip]?.id, run: true });
    this.#draw();
  }

  /** The clips of a list. */
  #open() {
    const { into, rows } = this.lines;
    if (rows.length) void this.play({ what: `${LIST}${into}`, rows }, { run: true });
  }

  /** A clip of an opened list goes to another place; what plays plays on. @param {number} from @param {number} to */
  #order(from, to) {
    const { clips } = this.answer;
    const { opened, kept } = this.lines;
    if (!opened || !kept?.has(opened, clips[from]?.id) || !clips[to] || !this.asked) return; // another's list is as it was sent
    const playing = clips[this.spot.clip];
    const order = kept.of(opened);
    kept.move(opened, clips[from].id, order.findIndex((one) => one.id === clips[to].id));
    clips.splice(to, 0, ...clips.splice(from, 1));
    this.spot = { ...this.spot, clip: clips.indexOf(playing) };
    this.root.dataset.clip = String(this.spot.clip);
    this.asked = { ...this.asked, rows: this.lines.rows };
    this.lines.at = this.spot.clip;
    this.lines.draw();
    this.note();
  }

  /** The keys go back to where they were. */
  #leave() {
    const { from } = this;
    const again = from?.isConnected ? from : this.asked && this.numberOf(this.asked);
    (again ?? document.querySelector("main"))?.focus();
  }

  async #send() {
    this.note();
    const copied = await navigator.clipboard?.writeText(location.href).then(() => true, () => false);
    this.#part(".what").textContent = copied ? "The address of this page and clip is copied: paste it wherever it is to go." : `Copy the address from the browser’s own line: ${location.href}`;
  }

  /** Away with the picture, or back; nothing plays unseen. @param {boolean} folded */
  #fold(folded) {
    if (folded) this.player.hold();
    this.root.classList.toggle("folded", folded);
    const button = this.#part("[data-does=fold]");
    button.textContent = folded ? "Unfold" : "Fold";
    button.setAttribute("aria-expanded", String(!folded));
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    const stroke = event.shiftKey && event.key.startsWith("Arrow") ? `Shift+${event.key}` : event.key;
    const writes = event.target instanceof HTMLInputElement;
    const does = writes && stroke !== "Escape" ? "" : DOES[stroke];
    if (!does || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.key === " " && /** @type {HTMLElement} */ (event.target).closest("button, a")) return;
    if (event.repeat && !["frameBack", "frameOn", "jumpBack", "jumpOn", "on"].includes(does)) return event.preventDefault();
    event.preventDefault();
    this.#do(does);
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

  #draw() {
    const { player, answer, spot } = this;
    this.#part("[data-does=toggle]").textContent = player.playing ? "Hold" : "Play";
    const pace = this.#part("[data-does=pace]");
    pace.textContent = PACES.get(player.pace) ?? "";
    pace.setAttribute("aria-label", `${pace.textContent} speed`);
    for (const name of /** @type {("before" | "after")[]} */ (["before", "after"])) {
      const by = this.more[name];
      this.#part(`[data-more=${name}]`).textContent = by === 0 ? "usual" : `${by > 0 ? "+" : "−"}${Math.abs(by)} s`;
    }
    const clip = answer.clips[spot.clip];
    this.#part(".at").textContent = player.fault || (clip ? `${spot.clip + 1} of ${answer.clips.length}, ${minutes(player.at_s)}` : "");
  }
}

/** @type {Record<string, (player: Player) => void>} */
const MOVES = {
  toggle: (player) => player.toggle(),
  hold: (player) => player.hold(),
  backwards: (player) => player.shuttle(-1),
  forwards: (player) => player.shuttle(1),
  frameBack: (player) => player.step(-1),
  frameOn: (player) => player.step(1),
  jumpBack: (player) => player.jump(-JUMP_S),
  jumpOn: (player) => player.jump(JUMP_S),
  again: (player) => player.replay(),
  pace: (player) => player.slower(),
};
