// Sends one file in pieces and goes on where it was: after a cut, after a pause, after the page was loaded anew.
import { Explained } from "/screen/outbox/server.js";
import { crc32 } from "./crc.js";

/** @typedef {{new: {opponent: string, date: string, home: boolean}, camera: string}} Aim */
/** @typedef {"queued" | "begins" | "sends" | "cut off" | "waits" | "paused" | "looked at" | "there" | "failed"} How */

const PIECE_MS = 120_000; // one piece over a slow network
const WAITS_MS = [1000, 2000, 4000, 8000];
const TURN_MS = 4000;
const LOOK_MS = 1000;
const MOST_TORN = 5;
const RATE_MS = 20_000; // the time left goes by what was sent lately

export class Sender {
  /** @param {File} file @param {number} pieceBytes @param {Aim} aim @param {(sender: Sender) => void} onChange */
  constructor(file, pieceBytes, aim, onChange) {
    this.file = file;
    this.pieceBytes = pieceBytes;
    this.aim = aim;
    this.onChange = onChange;
    /** @type {How} */
    this.how = "queued";
    this.why = "";
    this.refused = false; // it came whole, and is no film that can be brought in
    this.there = 0;
    this.id = "";
    /** @type {[number, number][]} */
    this.sentAt = [];
    this.stop = new AbortController();
  }

  /** Until it is in the season, given up, or paused. @returns {Promise<void>} */
  async run() {
    this.stop = new AbortController();
    this.sentAt = [];
    this.#is("begins");
    try {
      await this.#sendAll();
      await this.#finish();
    } catch (fault) {
      if (this.stop.signal.aborted) this.#is("paused");
      else this.#is("failed", fault instanceof Error ? fault.message : String(fault));
    }
  }

  pause() {
    this.stop.abort();
    if (this.id) void this.#post(`${this.id}/rest`, {}, new AbortController().signal).catch(() => {});
  }

  /** Milliseconds left, or nothing while that is not known. */
  get leftMs() {
    const [first] = this.sentAt;
    const last = this.sentAt.at(-1);
    if (!first || !last || last[0] - first[0] < 2000 || last[1] <= first[1]) return null;
    return ((this.file.size - this.there) * (last[0] - first[0])) / (last[1] - first[1]);
  }

  async #sendAll() {
    for (;;) {
      const begun = await this.#begin();
      this.id = begun.id;
      this.#far(begun.there);
      try {
        for (const [from, to] of begun.missing) {
          for (let n = from; n < to; n++) await this.#piece(n * begun.piece, begun.piece);
        }
        return;
      } catch (fault) {
        if (!(fault instanceof Explained) || fault.code !== "no_arrival") throw fault; // cleared meanwhile: anew
      }
    }
  }

  async #begin() {
    const { file, pieceBytes: piece } = this;
    const crcOf = async (/** @type {number} */ at) => crc32(await this.#read(at, piece));
    const [first, last] = [await crcOf(0), await crcOf(Math.floor(Math.max(0, file.size - 1) / piece) * piece)];
    return this.#again(() => this.#post("begin", { name: file.name, size: file.size, first, last, ...this.aim }, this.stop.signal));
  }

  /** @param {number} at @param {number} length */
  async #piece(at, length) {
    const bytes = await this.#read(at, length);
    const path = `${this.id}/${at}?crc=${crc32(bytes)}`;
    for (let n = 1; ; n++) {
      try {
        const { there } = await this.#again(() => this.#post(path, bytes, this.stop.signal));
        return this.#far(there);
      } catch (fault) {
        if (!(fault instanceof Explained) || fault.code !== "torn_piece" || n >= MOST_TORN) throw fault;
      }
    }
  }

  async #finish() {
    this.#is("looked at");
    const { job } = await this.#again(() => this.#post(`${this.id}/finish`, {}, this.stop.signal));
    for (;;) {
      const seen = await this.#again(() => this.#get(`job/${job}.json`));
      if (seen.state === "done") return this.#is("there");
      if (seen.state === "failed") {
        this.refused = true;
        return this.#is("failed", seen.why);
      }
      this.#is("looked at");
      await this.#rest(LOOK_MS);
    }
  }

  /** @param {number} at @param {number} length */
  async #read(at, length) {
    try {
      return new Uint8Array(await this.file.slice(at, at + length).arrayBuffer());
    } catch {
      throw new Error(`${this.file.name} can’t be read any more on this device; choose it again`);
    }
  }

  /**
   * Ask until there is an answer: a network that is cut, and a turn that is not come yet, are waited for.
   * @template T
   * @param {() => Promise<T>} does
   * @returns {Promise<T>}
   */
  async #again(does) {
    for (let n = 0; ; n++) {
      try {
        const answer = await does();
        if (this.how === "cut off" || this.how === "waits") this.#is("sends");
        return answer;
      } catch (fault) {
        if (this.stop.signal.aborted) throw fault;
        const later = fault instanceof Explained && (fault.status === 429 || fault.status === 503);
        if (fault instanceof Explained && !later) throw fault;
        this.sentAt = [];
        this.#is(later ? "waits" : "cut off", later ? fault.message : "");
        await this.#rest(later ? TURN_MS : WAITS_MS[Math.min(n, WAITS_MS.length - 1)]);
      }
    }
  }

  /** @param {number} ms */
  #rest(ms) {
    return new Promise((resolve, reject) => {
      const { signal } = this.stop;
      if (signal.aborted) return reject(signal.reason);
      const timer = setTimeout(() => resolve(undefined), ms);
      signal.addEventListener("abort", () => (clearTimeout(timer), reject(signal.reason)), { once: true });
    });
  }

  /** @param {string} path @param {object | Uint8Array<ArrayBuffer>} body @param {AbortSignal} stop */
  #post(path, body, stop) {
    const raw = body instanceof Uint8Array;
    const type = raw ? "application/octet-stream" : "application/json";
    return this.#ask(path, { method: "POST", headers: { "Content-Type": type }, body: raw ? body : JSON.stringify(body) }, stop);
  }

  /** @param {string} path */
  #get(path) {
    return this.#ask(path, {}, this.stop.signal);
  }

  /** @param {string} path @param {RequestInit} init @param {AbortSignal} stop @returns {Promise<any>} */
  async #ask(path, init, stop) {
    const late = new AbortController();
    const timer = setTimeout(() => late.abort(), PIECE_MS);
    const end = () => late.abort();
    stop.addEventListener("abort", end, { once: true });
    try {
      const answer = await fetch(`/films/send/${path}`, { ...init, signal: late.signal });
      const told = await answer.json().catch(() => null);
      if (answer.ok && told !== null) return told;
      const { code = "unknown", text = `the server answered ${answer.status}` } = told?.error ?? {};
      throw new Explained(answer.status, code, text);
    } finally {
      clearTimeout(timer);
      stop.removeEventListener("abort", end);
    }
  }

  /** @param {number} there */
  #far(there) {
    this.there = there;
    const now = performance.now();
    this.sentAt = [...this.sentAt, /** @type {[number, number]} */ ([now, there])].filter(([at]) => now - at < RATE_MS);
    this.#is("sends");
  }

  /** @param {How} how @param {string} [why] */
  #is(how, why = "") {
    this.how = how;
    this.why = why;
    this.onChange(this);
  }
}
