// What plays, as it stands in the address behind #, so that it can be sent, and come back to. Pure: no page, no film.

/** @typedef {{before: number, after: number}} More whole seconds more than usual, below 0 less */
/** @typedef {{what: string, table?: string, ids?: string[], player?: string, rows?: string[][]}} Asked */
/** @typedef {Asked & {clip: string, more: More}} Told */

const LONGEST_IDS = 1200; // letters; a longer number is found by its words on the page, else its clip alone is played

/** @param {Told} told @param {boolean} alone whether the page says the number nowhere, so that its ids are needed @returns {string} */
export function addressOf({ what, table, ids = [], player, rows, clip, more }, alone) {
  const said = new URLSearchParams({ film: what });
  if (rows) said.set("rows", rows.map((row) => row.join("/")).join(" "));
  if (player) said.set("player", player);
  if (table) said.set("of", table);
  if (clip) said.set("clip", clip);
  if (alone && ids.length && ids.join(" ").length <= LONGEST_IDS) said.set("ids", ids.join(" "));
  if (more.before) said.set("before", String(more.before));
  if (more.after) said.set("after", String(more.after));
  return `#${said}`;
}

/** What an address tells to play; null where it tells nothing. @param {string} hash @returns {Told | null} */
export function readAddress(hash) {
  const said = new URLSearchParams(hash.slice(1));
  const what = said.get("film");
  const [player, table, clip] = ["player", "of", "clip"].map((name) => said.get(name) ?? "");
  const rows = said.get("rows")?.split(" ").map((row) => [row.slice(0, row.indexOf("/")), row.slice(row.indexOf("/") + 1)]);
  if (what === null || !(rows || player || (table && clip))) return null;
  const seconds = (/** @type {string} */ name) => Math.trunc(Number(said.get(name))) || 0;
  return {
    what,
    clip,
    ...(rows ? { rows } : player ? { player } : { table, ids: said.get("ids")?.split(" ") ?? [clip] }),
    more: { before: bounded(seconds("before")), after: bounded(seconds("after")) },
  };
}

const MOST_LESS = -10;
const MOST_MORE = 30;

/** @param {number} seconds */
export const bounded = (seconds) => Math.min(MOST_MORE, Math.max(MOST_LESS, seconds));
