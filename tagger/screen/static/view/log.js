// The log: what happened, in sentences, by possession, each line with film time and, where it is known, the game clock.
// Each sentence leads the film to its mark.
import { clockAt } from "../marks/gameclock.js";
import { groups } from "../marks/groups.js";
import { clock, el, say } from "./dom.js";

/** @typedef {import("../marks/language.js").Language} Language */
/** @typedef {import("../marks/sequence.js").Row} Row */
/** @typedef {import("../marks/groups.js").Group} Group */
/** @typedef {{code: string, text: string, of: string}} Problem */
/** @typedef {{go: (id: string) => void, answer: (id: string) => void}} Actions */

const ROOM_PX = 14; // above and below the sentence at hand
const TEAMS = { ours: "Ours", theirs: "Theirs" };

export class LogView {
  /**
   * @param {HTMLElement} element
   * @param {Language} language
   * @param {string} by whose marks go without saying
   * @param {Actions} actions
   */
  constructor(element, language, by, actions) {
    this.by = by;
    this.element = element;
    this.language = language;
    /** @type {{group: Group, key: string, node: HTMLElement}[]} */
    this.shown = [];
    /** @type {Map<string, Problem[]>} */
    this.problems = new Map();
    /** @type {import("../marks/folded.js").Folded | null} */
    this.folded = null;
    this.nowId = "";
    this.pickedId = "";
    this.asked = 0;
    /** @type {Map<string, HTMLElement>} mark id → its sentence */
    this.nodes = new Map();
    /** @type {(Element | null | undefined)[]} the possession and the sentence that stand out */
    this.marked = [];
    element.addEventListener("click", (event) => this.#clicked(event, actions.go));
    element.addEventListener("dblclick", (event) => this.#clicked(event, actions.answer));
  }

  /** @param {MouseEvent} event @param {(id: string) => void} act */
  #clicked(event, act) {
    const mark = /** @type {HTMLElement} */ (event.target).closest(".m");
    if (mark instanceof HTMLElement && mark.dataset.id) act(mark.dataset.id);
  }

  /** All groups as they stand. @type {Group[]} */
  get groups() {
    return this.shown.map((one) => one.group);
  }

  /**
   * @param {Row[]} rows
   * @param {number} from the first place whose row may differ
   */
  draw(rows, from) {
    const old = this.shown;
    const wanted = groups(this.language, rows, this.groups, from);
    let head = 0;
    while (head < wanted.length && head < old.length && this.#same(old[head], wanted[head])) head++;
    let tail = 0;
    const room = Math.min(wanted.length, old.length) - head;
    while (tail < room && this.#same(old[old.length - 1 - tail], wanted[wanted.length - 1 - tail])) tail++;
    const fresh = wanted.slice(head, wanted.length - tail).map((group) => this.#made(group));
    for (const one of old.slice(head, old.length - tail)) one.node.remove();
    const before = old[old.length - tail]?.node ?? null;
    for (const one of fresh) this.element.insertBefore(one.node, tail ? before : null);
    const kept = [...old.slice(0, head), ...fresh, ...old.slice(old.length - tail)];
    this.shown = kept.map((one, place) => (one.group === wanted[place] ? one : { ...one, group: wanted[place] }));
    if (!fresh.length) return;
    this.#mark();
    this.#soon(); // the newest sentence may be of a line that has grown
  }

  /**
   * What the server's fold sees: what is to be looked at, at its mark, and the game clock of every line.
   * @param {import("../marks/folded.js").Folded} folded
   */
  takeFolded(folded) {
    this.folded = folded;
    this.problems = new Map();
    for (const one of folded.problems) this.problems.set(one.of, [...(this.problems.get(one.of) ?? []), one]);
    this.shown = this.shown.map((shown) => {
      if (shown.key === this.#keyOf(shown.group)) return shown;
      const made = this.#made(shown.group);
      shown.node.replaceWith(made.node);
      return made;
    });
    let known = false;
    for (const { group, node } of this.shown) {
      const cells = node.getElementsByClassName("clock");
      group.lines.forEach(([first], place) => {
        const left = this.#leftAt(first.at);
        known ||= left !== "";
        if (cells[place]) say(/** @type {HTMLElement} */ (cells[place]), left);
      });
    }
    this.element.parentElement?.parentElement?.classList.toggle("clocked", known);
    this.#mark();
    if (!this.pickedId) this.#soon(); // the lines may have moved
  }

  /** What the game clock says at a game time; empty where that is not known. @param {number} ms */
  #leftAt(ms) {
    const left = this.folded && clockAt(this.folded, ms)?.left;
    return typeof left === "number" ? clock(left * 1000) : "";
  }

  /**
   * Say where the film is and which mark the hand or the walk is at.
   * @param {string} nowId the last mark at or before the film's frame
   * @param {string} pickedId
   */
  at(nowId, pickedId) {
    if (nowId === this.nowId && pickedId === this.pickedId) return;
    const moved = pickedId ? pickedId !== this.pickedId : nowId !== this.nowId;
    this.nowId = nowId;
    this.pickedId = pickedId;
    this.#mark();
    if (moved) this.#soon();
  }

  #soon() {
    this.asked ||= requestAnimationFrame(() => this.#reveal());
  }

  /** Bring the sentence at hand into view; twice, since what was out of view gets its true height only then. @param {boolean} [again] */
  #reveal(again = false) {
    this.asked = 0;
    const box = this.element.parentElement;
    const node = this.#nodeOf(this.pickedId || this.nowId);
    if (!box) return;
    if (!node) box.scrollTop = 0;
    else if (this.element.lastElementChild?.contains(node) && node === this.#lastNode()) box.scrollTop = box.scrollHeight;
    else {
      const [around, one] = [box.getBoundingClientRect(), node.getBoundingClientRect()];
      if (one.top < around.top + ROOM_PX) box.scrollTop -= around.top + ROOM_PX - one.top;
      else if (one.bottom > around.bottom - ROOM_PX) box.scrollTop += one.bottom - around.bottom + ROOM_PX;
    } // by hand: the page itself, with film and keys, stays where it is
    if (!again) this.asked = requestAnimationFrame(() => this.#reveal(true));
  }

  /** The newest sentence. */
  #lastNode() {
    const id = this.shown.at(-1)?.group.rows.at(-1)?.mark.id;
    return id === undefined ? null : this.#nodeOf(id);
  }

  #mark() {
    this.marked[0]?.classList.remove("now");
    this.marked[1]?.removeAttribute("aria-current");
    const sentence = this.#nodeOf(this.pickedId || this.nowId);
    this.marked = [sentence?.closest(".pos"), this.pickedId ? sentence : null];
    this.marked[0]?.classList.add("now");
    this.marked[1]?.setAttribute("aria-current", "true");
  }

  /** @param {string} id @returns {HTMLElement | null} */
  #nodeOf(id) {
    const node = this.nodes.get(id);
    return node?.isConnected ? node : null;
  }

  /** @param {{group: Group, key: string}} shown @param {Group} group */
  #same({ group: old, key }, group) {
    if (old === group) return true;
    return old.rows.length === group.rows.length && old.rows.every((row, place) => row === group.rows[place]) &&
      key === this.#keyOf(group);
  }

  /** @param {Group} group */
  #keyOf({ rows, score }) {
    const problems = rows.flatMap((row) => this.problems.get(row.mark.id)?.map((one) => one.text) ?? []);
    return [score?.join("–") ?? "", ...problems].join("\n");
  }

  /** @param {Group} group */
  #made(group) {
    const team = group.team === "ours" || group.team === "theirs" ? TEAMS[group.team] : "";
    const node = el(
      "section",
      { class: `pos ${group.team || "neither"}` },
      ...group.lines.flatMap((line, place) => [
        el("time", {}, clock(line[0].at)),
        el("span", { class: "clock" }, this.#leftAt(line[0].at)),
        el("p", {}, ...this.#sentences(line, place ? "" : team)),
      ]),
      group.score && el("p", { class: "end" }, `Score ${group.score.join("–")}.`),
      ...group.rows.flatMap((row) => (this.problems.get(row.mark.id) ?? []).map((one) => el("p", { class: "q" }, `${one.text}.`))),
    );
    return { group, key: this.#keyOf(group), node };
  }

  /** @param {Row[]} rows @param {string} team the word that the first sentence begins with, said with its sign */
  #sentences(rows, team) {
    return rows.flatMap((row, place) => {
      const { id, removed } = row.mark;
      const says = place === 0 && team && row.text.startsWith(team);
      const text = `${says ? row.text.slice(team.length) : row.text}.`;
      const mark = el(
        "span",
        { class: `m${removed ? " out" : ""}${this.language.kinds.get(row.mark.kind)?.log === "ends" ? " ends" : ""}`, "data-id": id, role: "button", title: clock(row.at) },
        says && el("span", { class: "who" }, team),
        text,
        removed && el("span", { class: "soft" }, " removed"),
        row.mark.by !== this.by && row.mark.by !== rows[place + 1]?.mark.by && el("span", { class: "by" }, ` ${row.mark.by}`),
      );
      this.nodes.set(id, mark);
      return [mark, " "];
    });
  }
}
