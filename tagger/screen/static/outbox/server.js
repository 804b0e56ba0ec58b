// The page's few questions to its server.

/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("./store.js").Waiting} Waiting */
/**
 * @typedef {{season: string, team: string, game: {id: string, title: string, day: string, opponent: string}, book: string,
 *   books: string[], chosen_book: string, films: import("../film/onscreen.js").Film[], roster: {number: string, name: string}[],
 *   periods: {n: number, minutes: number, stop_clock: boolean}, language: import("../marks/language.js").LanguageData,
 *   stated_question: {text: string, stated: string} | null, text_problems: string[], read_only: string, seq: number, entries: Entry[]}} Opening
 */

const LONGEST_MS = 15000;

/** A request that the server answered with an explanation. */
export class Explained extends Error {
  /** @param {number} status @param {string} code @param {string} text */
  constructor(status, code, text) {
    super(text);
    this.status = status;
    this.code = code;
  }
}

/**
 * @param {string} path
 * @param {RequestInit} [init]
 * @returns {Promise<any>}
 */
export async function ask(path, init = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), LONGEST_MS);
  try {
    const answer = await fetch(path, { ...init, signal: stop.signal });
    const body = await answer.json().catch(() => null);
    if (answer.ok && body !== null) return body;
    const { code = "unknown", text = `the server answered ${answer.status}` } = body?.error ?? {};
    throw new Explained(answer.status, code, text);
  } finally {
    clearTimeout(timer);
  }
}

/** @param {string} game @param {string} what @param {Record<string, string | number>} [query] */
export function urlOf(game, what, query = {}) {
  const asked = Object.entries(query).map(([name, value]) => `${name}=${encodeURIComponent(value)}`);
  return `/tag/${encodeURIComponent(game)}/${what}${asked.length ? `?${asked.join("&")}` : ""}`;
}

const NEVER = [400, 404, 413, 415, 422];
const OF_ONE = ["no_json", "no_number", "no_text", "too_deep", "too_much", "no_entries"]; // one entry may be to blame for all

/**
 * Send a batch of one game and book. What the server explains that it will never take comes back as refused; that it is
 * away, or is another season's, is an error. Where one entry may be what a batch was refused for, the others come in.
 * @param {string} season
 * @param {Waiting[]} batch
 * @returns {Promise<{id: string, state: string, why: string}[]>}
 */
export async function sendEntries(season, batch) {
  const { game, book } = batch[0];
  const body = JSON.stringify({ season, book, entries: batch.map((one) => one.entry) });
  const headers = { "Content-Type": "application/json" };
  try {
    return (await ask(urlOf(game, "entries"), { method: "POST", headers, body })).added;
  } catch (fault) {
    const never = fault instanceof Explained && NEVER.includes(fault.status) && fault.code !== "unknown";
    if (!never) throw fault;
    if (batch.length > 1 && OF_ONE.includes(fault.code)) {
      const half = batch.length >> 1;
      return [...(await sendEntries(season, batch.slice(0, half))), ...(await sendEntries(season, batch.slice(half)))];
    }
    return batch.map((one) => ({ id: one.entry.id, state: "refused", why: fault.message }));
  }
}

/** An id that nothing else has; without the parts of the crypto API that plain http lacks. */
export function newId() {
  return [...crypto.getRandomValues(new Uint32Array(3))].map((part) => part.toString(36).padStart(7, "0")).join("");
}
