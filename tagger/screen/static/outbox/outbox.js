// Entries on their way to the disk. Each is put into the browser's own store at once and taken out when the server says
// that it is on disk; while the server is away they wait. The same entry sent twice is a harmless retry, so two tabs may
// both send what waits. Sent in order, one request at a time.
import { Explained } from "./server.js";
import { Store } from "./store.js";

/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("./store.js").Waiting} Waiting */
/** @typedef {"ok" | "away" | "refused"} State */

const FIRST_PAUSE_MS = 300;
const LONGEST_PAUSE_MS = 8000;
const MOST_AT_ONCE = 500;

export class Outbox {
  /**
   * @param {string} season
   * @param {(waiting: Waiting[]) => Promise<{id: string, state: string, why: string}[]>} send rejects when the server is away
   * @param {(outbox: Outbox) => void} onChange
   * @param {(refused: Waiting[]) => void} [onRefused] told what the server will never take
   */
  constructor(season, send, onChange, onRefused = () => {}) {
    this.season = season;
    this.send = send;
    this.onChange = onChange;
    this.onRefused = onRefused;
    this.store = new Store(season, () => this.onChange(this));
    /** @type {Waiting[]} in order */
    this.waiting = [];
    /** @type {Waiting[]} what the server would not take, with its reason */
    this.refused = [];
    /** @type {State} */
    this.state = "ok";
    /** What the server said when it would not take entries for now. */
    this.explained = "";
    this.busy = false;
    this.pause = FIRST_PAUSE_MS;
    this.timer = 0;
  }

  /**
   * What waits from before, in order; it is sent too.
   * @param {(held: Waiting[]) => void} late told the same where the browser's store answers only after it was given up
   * @returns {Promise<Waiting[]>}
   */
  async open(late) {
    return this.#take(await this.store.open((held) => {
      this.store.put(this.waiting); // what came meanwhile
      late(this.#take(held));
    }));
  }

  /** @param {Waiting[]} held */
  #take(held) {
    const known = new Set([...this.waiting, ...this.refused].map((one) => one.entry.id));
    const fresh = held.filter((one) => !known.has(one.entry.id));
    this.refused = [...fresh.filter((one) => one.refused), ...this.refused];
    this.waiting = [...fresh.filter((one) => !one.refused), ...this.waiting];
    this.flush();
    return held;
  }

  /**
   * @param {string} game
   * @param {string} book
   * @param {Entry[]} entries
   */
  put(game, book, entries) {
    const fresh = entries.map((entry) => ({ game, book, entry, refused: "" }));
    this.waiting.push(...fresh);
    this.store.put(this.store.kept ? fresh : this.waiting); // what found no room before is tried again
    if (this.state === "away") this.pause = FIRST_PAUSE_MS;
    if (this.busy) return;
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.flush()); // first the page shows the key, then it is sent
  }

  /** Forget for good what was refused. */
  letGo() {
    this.store.forget(this.refused);
    this.refused = [];
    this.onChange(this);
  }

  /**
   * Send what was refused once more, as it is now.
   * @param {string} game
   * @param {string} book
   * @param {Entry[]} entries of refused ones, changed
   */
  again(game, book, entries) {
    const ids = new Set(entries.map((entry) => entry.id));
    this.refused = this.refused.filter((one) => !ids.has(one.entry.id));
    this.put(game, book, entries);
  }

  /** Why entries wait: what the server said, or that it says nothing. */
  get whyAway() {
    return this.explained || "the server is away";
  }

  /** Whether closing the page would lose something. */
  get atRisk() {
    return this.waiting.length > 0 && !this.store.kept;
  }

  /** Send what waits, now. */
  flush() {
    if (this.busy) return;
    clearTimeout(this.timer);
    if (this.waiting.length) void this.#round();
    else this.onChange(this);
  }

  /** What waits and acts on something refused goes the same way. @param {Waiting[]} done @returns {Waiting[]} */
  #resting(done) {
    const gone = new Set(done.filter((one) => one.refused).map((one) => one.entry.id));
    const found = this.waiting.filter((one) => {
      if (done.includes(one) || !gone.has(one.entry.of ?? "")) return false;
      gone.add(one.entry.id);
      one.refused = "what it belongs to was refused";
      return true;
    });
    return found;
  }

  async #round() {
    this.busy = true;
    const { game, book } = this.waiting[0];
    const others = this.waiting.findIndex((one) => one.game !== game || one.book !== book);
    const batch = this.waiting.slice(0, others < 0 ? MOST_AT_ONCE : Math.min(others, MOST_AT_ONCE));
    try {
      const added = await this.send(batch);
      const states = new Map(added.map((one) => [one.id, one]));
      const done = batch.filter((one) => states.has(one.entry.id));
      if (!done.length) throw new Explained(200, "no_answer", "the server said nothing of what was sent");
      for (const one of done) {
        const { state, why } = states.get(one.entry.id) ?? { state: "", why: "" };
        if (state === "refused") one.refused = why || "the server gave no reason";
      }
      const lost = [...done.filter((one) => one.refused), ...this.#resting(done)];
      this.waiting = this.waiting.filter((one) => !done.includes(one) && !one.refused);
      this.refused.push(...lost);
      this.store.settle([...new Set([...done, ...lost])]);
      if (lost.length) this.onRefused(lost);
      this.state = "ok";
      this.pause = FIRST_PAUSE_MS;
    } catch (fault) {
      this.state = "away";
      this.explained = fault instanceof Explained ? fault.message : "";
    }
    this.busy = false;
    this.onChange(this);
    if (!this.waiting.length) return;
    if (this.state === "ok") return void this.#round();
    this.timer = window.setTimeout(() => this.flush(), this.pause);
    this.pause = Math.min(LONGEST_PAUSE_MS, this.pause * 2);
  }
}
