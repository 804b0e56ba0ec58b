// Folders of this computer as the server lists them. Everything here is a name and a token; no path is ever known.
import { el, say } from "/screen/view/dom.js";
import { ask } from "/screen/outbox/server.js";

/** @typedef {{token: string, name: string, size?: string, changed?: string}} Entry */
/** @typedef {{here: Entry, above: Entry[], folders: Entry[], films: Entry[], n_other: number, n_more: number}} Folder */

export class ListingView {
  /**
   * @param {{places: HTMLElement, crumbs: HTMLElement, list: HTMLElement, told: HTMLElement}} parts
   * @param {{has: (token: string) => boolean, put: (entry: Entry, chosen: boolean) => void}} chosen
   */
  constructor(parts, chosen) {
    this.parts = parts;
    this.chosen = chosen;
    /** @type {Folder | null} */
    this.folder = null;
    /** @type {Entry[]} */
    this.places = [];
    /** @type {Map<string, HTMLInputElement>} */
    this.boxes = new Map();
  }

  async begin() {
    try {
      this.places = (await ask("/films/places.json")).places;
    } catch (fault) {
      return say(this.parts.told, told(fault));
    }
    this.#drawPlaces();
    if (this.places.length) await this.open(this.places[0].token);
  }

  /** @param {string} token */
  async open(token) {
    try {
      this.folder = await ask(`/films/folder/${token}.json`);
    } catch (fault) {
      return say(this.parts.told, told(fault));
    }
    say(this.parts.told, "");
    this.draw();
    this.parts.list.scrollTop = 0;
  }

  draw() {
    const { folder } = this;
    if (!folder) return;
    const { crumbs, list } = this.parts;
    const step = (/** @type {Entry} */ one) => el("button", { type: "button", class: "word", onclick: () => this.open(one.token) }, one.name);
    crumbs.replaceChildren(...folder.above.flatMap((one) => [step(one), " › "]), el("b", {}, folder.here.name));
    this.boxes.clear();
    const films = folder.films.map((one) => this.#film(one));
    const folders = folder.folders.map((one) =>
      el("button", { type: "button", onclick: () => this.open(one.token) }, el("span", { class: "name" }, one.name)),
    );
    const nothing = folder.films.length + folder.folders.length ? null : el("p", {}, "Nothing in this folder is film by its name.");
    list.replaceChildren(...folders, ...films, ...(nothing ? [nothing] : []));
    const words = [];
    if (folder.n_other) words.push(`${folder.n_other} other ${folder.n_other === 1 ? "file" : "files"} not shown`);
    if (folder.n_more) words.push(`${folder.n_more} more that did not fit; sort them into folders`);
    say(this.parts.told, words.join("; "));
    this.#drawPlaces();
  }

  /** Tick what is chosen, and nothing else. */
  tick() {
    for (const [token, box] of this.boxes) box.checked = this.chosen.has(token);
  }

  /** @param {Entry} one */
  #film(one) {
    const box = el("input", { type: "checkbox", "aria-label": one.name });
    box.checked = this.chosen.has(one.token);
    this.boxes.set(one.token, box);
    box.addEventListener("change", () => this.chosen.put(one, box.checked));
    return el(
      "label",
      {},
      box,
      el("span", { class: "name" }, one.name),
      el("span", { class: "soft when" }, one.changed ?? ""),
      el("span", { class: "soft" }, one.size ?? ""),
    );
  }

  #drawPlaces() {
    const here = [this.folder?.here.token, ...(this.folder?.above ?? []).map((one) => one.token)];
    const on = here.find((token) => this.places.some((place) => place.token === token));
    this.parts.places.replaceChildren(
      ...this.places.map((one) =>
        el("button", { type: "button", class: one.token === on ? "on" : "", onclick: () => this.open(one.token) }, one.name),
      ),
    );
  }
}

/** @param {unknown} fault */
export function told(fault) {
  return fault instanceof Error ? fault.message : String(fault);
}
