// Another book of the same game, read beside one's own: its marks as sentences, single ones taken over by Enter. What is taken
// over is an entry of one's own, that names the mark it was copied from; taking back reaches it like any other.
// `speed` comes with it where nobody moved the mark since, so that reaction offsets hold.
import { Sequence } from "../marks/sequence.js";
import { Book } from "../marks/resolve.js";
import { KEY, cap } from "../keys/own.js";
import { ask, urlOf } from "../outbox/server.js";
import { clock, el, say } from "./dom.js";

/** @typedef {import("../marks/sequence.js").Row} Row */
/** @typedef {import("./tagging.js").Tagging} Tagging */

export class OtherBook {
  /**
   * @param {HTMLDialogElement} dialog
   * @param {Tagging} tagging
   * @param {{game: string, book: string}} where
   */
  constructor(dialog, tagging, { game, book }) {
    this.dialog = dialog;
    this.tagging = tagging;
    this.game = game;
    this.book = book;
    this.name = "";
    /** @type {Book} */
    this.read = new Book();
    /** @type {Row[]} */
    this.rows = [];
    this.told = el("p", { role: "status", class: "soft" });
    this.list = el("div", { class: "lines", role: "group" });
    dialog.addEventListener("keydown", (event) => this.#key(event));
  }

  /** Show the book after the one shown last; the first one when none was. */
  async open() {
    const { tagging } = this;
    const books = await this.#books();
    if (books === null) return tagging.tell("the server is away: another book can be read when it is back");
    if (!books.length) return tagging.tell("this game has no other book to take marks from");
    await this.#show(books.includes(this.name) ? this.name : books[0], books);
  }

  /** @returns {Promise<string[] | null>} */
  async #books() {
    const found = await ask(urlOf(this.game, "books.json")).catch(() => null);
    return found && found.books.filter((/** @type {string} */ name) => name !== this.book);
  }

  /** @param {string} name @param {string[]} books */
  async #show(name, books) {
    const { tagging, dialog } = this;
    const found = await ask(urlOf(this.game, "entries", { book: name, since: 0 })).catch(() => null);
    if (!found) return tagging.tell("the server is away: another book can be read when it is back");
    this.name = name;
    this.read = new Book(found.entries);
    const sequence = new Sequence(tagging.desk.language, tagging.desk.sequence.offsets);
    sequence.fill(this.read.marks());
    this.rows = sequence.rows.filter((row) => !row.mark.removed);
    const next = books[(books.indexOf(name) + 1) % books.length];
    dialog.setAttribute("aria-label", `${name}’s book`);
    dialog.replaceChildren(
      el(
        "header",
        {},
        el("h2", {}, `${name}’s book`),
        next !== name && el("button", { class: "plain", onclick: () => void this.#show(next, books) }, `${next}’s book`),
        el("button", { class: "plain", onclick: () => dialog.close() }, "Close"),
      ),
      el("p", { class: "soft" }, `${cap("lineBefore")} ${cap("nextLine")} go through it and move the film, ${cap("enter")} takes a mark over into yours, ${cap("leave")} goes back.`),
      this.told,
      this.list,
    );
    say(this.told, this.rows.length ? "" : "Nothing is marked in it yet.");
    this.#draw();
    if (!dialog.open) dialog.showModal();
    this.#focus(this.#nearest());
  }

  /** Ids of the marks that stand here as taken over. */
  #taken() {
    return new Set(this.tagging.desk.sequence.rows.map((row) => row.mark.copied_from).filter(Boolean));
  }

  #draw() {
    const taken = this.#taken();
    this.list.replaceChildren(
      ...this.rows.map((row, place) =>
        el(
          "button",
          { class: "line-of", "data-place": place, onclick: () => this.#take(place), onfocus: () => this.#go(place) },
          el("time", {}, clock(row.at)),
          el("span", {}, `${row.text}.`),
          taken.has(row.mark.id) ? el("b", {}, "taken over") : el("span", { class: "soft" }, row.mark.by),
        ),
      ),
    );
  }

  /** @param {number} place */
  #focus(place) {
    const node = this.list.children[Math.max(0, Math.min(this.rows.length - 1, place))];
    if (node instanceof HTMLElement) node.focus();
  }

  /** The last line at or before the film's frame. */
  #nearest() {
    const now = this.tagging.deck.gameMs;
    return this.rows.filter((row) => row.at <= now).length - 1;
  }

  /** @param {number} place */
  #go(place) {
    this.tagging.deck.hold();
    void this.tagging.deck.goTo(this.rows[place].at);
  }

  /** @param {number} place */
  #take(place) {
    const { mark, text } = this.rows[place];
    if (this.#taken().has(mark.id)) return say(this.told, "that mark is in your book already");
    const made = this.read.byId.get(mark.id);
    const stands = made?.film === mark.film && made.at_ms === mark.at_ms; // put elsewhere by hand, nobody was late
    this.tagging.copy(mark, stands ? (made.speed ?? 0) : 0);
    say(this.told, `taken over: ${text}; ${cap("takeBack")} in your book takes it back`);
    this.#draw();
    this.#focus(place);
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (event.key !== KEY.lineBefore && event.key !== KEY.nextLine) return;
    const at = Number(/** @type {HTMLElement} */ (document.activeElement)?.dataset.place ?? this.#nearest());
    event.preventDefault();
    this.#focus(at + (event.key === KEY.lineBefore ? -1 : 1));
  }
}
