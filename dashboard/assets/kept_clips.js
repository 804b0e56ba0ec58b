// Clips that somebody put aside, in lists under names of his own: kept in this browser, for one season. No page, no film.

/** @typedef {{table: string, id: string, note: string}} Kept */

const MOST = 500; // as the server takes

export class KeptClips {
  /** @param {Storage} storage @param {string} season */
  constructor(storage, season) {
    this.storage = storage;
    this.key = `floorbook.clips.${season}`;
  }

  /** @returns {Record<string, Kept[]>} */
  get #all() {
    try {
      return JSON.parse(this.storage.getItem(this.key) ?? "{}");
    } catch {
      return {};
    }
  }

  get names() {
    return Object.keys(this.#all);
  }

  /** @param {string} name @returns {Kept[]} */
  of(name) {
    return this.#all[name] ?? [];
  }

  /** @param {string} name @param {string} id */
  has(name, id) {
    return this.of(name).some((one) => one.id === id);
  }

  /** In, or out again. @param {string} name @param {{table: string, id: string}} clip @returns {boolean} whether it is in it now */
  turn(name, { table, id }) {
    const held = this.of(name);
    const within = held.some((one) => one.id === id);
    this.#put(name, within ? held.filter((one) => one.id !== id) : [...held, { table, id, note: "" }].slice(0, MOST));
    return !within;
  }

  /** @param {string} name @param {string} id @param {number} to which place */
  move(name, id, to) {
    const held = this.of(name);
    const one = held.find((each) => each.id === id);
    if (!one) return;
    const rest = held.filter((each) => each !== one);
    rest.splice(Math.max(0, Math.min(rest.length, to)), 0, one);
    this.#put(name, rest);
  }

  /** @param {string} name @param {string} id @param {string} note */
  note(name, id, note) {
    this.#put(name, this.of(name).map((one) => (one.id === id ? { ...one, note } : one)));
  }

  /** @param {string} name @param {Kept[]} clips */
  #put(name, clips) {
    const all = this.#all;
    if (clips.length) all[name] = clips;
    else delete all[name];
    this.storage.setItem(this.key, JSON.stringify(all));
  }
}
