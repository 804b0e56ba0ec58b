// The browser's own store for entries that are not on disk yet: IndexedDB, one database a season. Where the browser has
// none (a private window) or no room left, entries wait in memory and `kept` says so.


/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {{game: string, book: string, entry: Entry, refused: string}} Waiting */

const BOX = "waiting";
const PATIENCE_MS = 3000; // a store that does not answer is none, until it does

export class Store {
  /**
   * @param {string} season
   * @param {() => void} [onLost] called when it turns out that entries are not kept
   */
  constructor(season, onLost = () => {}) {
    this.onLost = onLost;
    this.name = `floorbook-${season}`;
    /** @type {IDBDatabase | null} */
    this.db = null;
    this.kept = true;
  }

  /**
   * Everything that waits, in the order of (n, id). A browser that takes too long to say so is not waited for: nothing
   * then, and what it says after all is told to `late`.
   * @param {(held: Waiting[]) => void} late
   * @returns {Promise<Waiting[]>}
   */
  async open(late) {
    const found = this.#found();
    try {
      return await inTime(found);
    } catch {
      this.#lost();
    }
    found.then((held) => {
      this.kept = true;
      late(held);
    }, () => undefined); // it has no store
    return [];
  }

  async #found() {
    const request = indexedDB.open(this.name, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(BOX, { keyPath: "entry.id" });
    const db = await done(request);
    db.onversionchange = () => db.close();
    db.onclose = () => this.#lost(); // the browser was told to forget this site
    this.db = db;
    /** @type {Waiting[]} */
    const found = await done(db.transaction(BOX).objectStore(BOX).getAll());
    return found.sort((one, other) => one.entry.n - other.entry.n || (one.entry.id < other.entry.id ? -1 : 1));
  }

  /** @param {Waiting[]} fresh */
  put(fresh) {
    this.#change((box) => fresh.forEach((one) => box.put(one)), () => (this.kept = true));
  }

  /** Take out what is on disk; keep what was refused, with its reason. @param {Waiting[]} sent */
  settle(sent) {
    this.#change((box) => sent.forEach((one) => (one.refused ? box.put(one) : box.delete(one.entry.id))));
  }

  /** @param {Waiting[]} gone */
  forget(gone) {
    this.#change((box) => gone.forEach((one) => box.delete(one.entry.id)));
  }

  /** @param {(box: IDBObjectStore) => void} change @param {() => void} [onDone] */
  #change(change, onDone) {
    if (!this.db) return;
    try {
      const transaction = this.db.transaction(BOX, "readwrite");
      transaction.onabort = () => this.#lost(); // no room left is told only here
      if (onDone) transaction.oncomplete = onDone;
      change(transaction.objectStore(BOX));
    } catch {
      this.#lost();
    }
  }

  #lost() {
    this.kept = false;
    this.onLost();
  }
}

/**
 * @template T
 * @param {Promise<T>} answer
 * @returns {Promise<T>}
 */
function inTime(answer) {
  const late = new Promise((_, reject) => setTimeout(() => reject(new Error("no answer")), PATIENCE_MS));
  return Promise.race([answer, /** @type {Promise<never>} */ (late)]);
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
