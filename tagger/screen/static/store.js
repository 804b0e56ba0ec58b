// The browser's own store for entries that are not on disk yet: IndexedDB, one database a season. Where the browser has
// none (a private window), entries wait in memory and `kept` says so.

/** @typedef {import("./resolve.js").Entry} Entry */
/** @typedef {{game: string, book: string, entry: Entry, refused: string}} Waiting */

const BOX = "waiting";

export class Store {
  /** @param {string} season */
  constructor(season) {
    this.name = `floorbook-${season}`;
    /** @type {IDBDatabase | null} */
    this.db = null;
    this.kept = true;
  }

  async open() {
    try {
      const request = indexedDB.open(this.name, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(BOX, { keyPath: "entry.id" });
      this.db = await done(request);
      this.db.onversionchange = () => this.db?.close();
    } catch {
      this.kept = false;
    }
  }

  /** Everything that waits, in the order of (n, id). @returns {Promise<Waiting[]>} */
  async all() {
    if (!this.db) return [];
    /** @type {Waiting[]} */
    const found = await done(this.db.transaction(BOX).objectStore(BOX).getAll());
    return found.sort((one, other) => one.entry.n - other.entry.n || (one.entry.id < other.entry.id ? -1 : 1));
  }

  /** @param {Waiting[]} fresh */
  put(fresh) {
    this.#change((box) => fresh.forEach((one) => box.put(one)));
  }

  /** Take out what is on disk; keep what was refused, with its reason. @param {Waiting[]} sent */
  settle(sent) {
    this.#change((box) => sent.forEach((one) => (one.refused ? box.put(one) : box.delete(one.entry.id))));
  }

  /** @param {(box: IDBObjectStore) => void} change */
  #change(change) {
    if (!this.db) return;
    try {
      change(this.db.transaction(BOX, "readwrite").objectStore(BOX));
    } catch {
      this.kept = false;
    }
  }
}

/**
 * @template T
 * @param {IDBRequest<T>} request
 * @returns {Promise<T>}
 */
function done(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
