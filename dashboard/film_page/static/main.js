// The page of film: choose files, say which game, watch the work.
import { byId, el, say } from "/screen/view/dom.js";
import { ask } from "/screen/outbox/server.js";
import { Chosen } from "./chosen.js";
import { drawComing } from "./coming.js";
import { ListingView, told } from "./listing.js";
import { drawGames } from "./season.js";
import { drawJobs } from "./work.js";

/** @typedef {import("./season.js").Game} Game */
/** @typedef {{jobs: import("./work.js").Job[], games: Game[], need: string, free: string, away: number, coming?: import("./coming.js").Coming[]}} State */

const BUSY_MS = 1000;
const IDLE_MS = 5000;
const LONG_MS = 10 * 60 * 1000; // searching a large disk

const input = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (byId(id));
const button = (/** @type {string} */ id) => /** @type {HTMLButtonElement} */ (byId(id));
const game = /** @type {HTMLSelectElement} */ (byId("game"));

const chosen = new Chosen(byId("files"), () => drawForm());
const listing = new ListingView(
  { places: byId("places"), crumbs: byId("crumbs"), list: byId("listing"), told: byId("listing-told") },
  { has: (token) => chosen.has(token), put: (entry, on) => chosen.put(entry, on) },
);
/** @type {State | null} */
let state = null;
let timer = 0;
let sending = false;

/** @param {string} path @param {object} body */
async function post(path, body = {}) {
  const answer = await fetch(path, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
    signal: AbortSignal.timeout(LONG_MS),
  });
  const sent = await answer.json().catch(() => null);
  if (!answer.ok || sent === null) throw new Error(sent?.error?.text ?? `the server answered ${answer.status}`);
  return sent;
}

function drawForm() {
  const n = chosen.picks.length;
  byId("none").hidden = n > 0;
  byId("sort-row").hidden = n < 2;
  if (chosen.moved) input("sort").checked = false;
  byId("new-game").hidden = game.value !== "";
  byId("camera-row").hidden = !state?.games.some((one) => one.id === game.value && one.films.length);
  const need = chosen.picks.reduce((sum, pick) => sum + pick.need, 0);
  const copies = need ? `Copies take up to ${size(need)}` : n ? "No copies are needed" : "";
  say(byId("room"), copies && state ? `${copies}; ${state.free} are free in the season’s folder.` : "");
  const named = game.value !== "" || (input("opponent").value.trim() !== "" && input("date").value !== "");
  button("go").disabled = sending || !chosen.sound || !named;
  listing.tick();
}

/** @param {number} bytes */
function size(bytes) {
  return bytes >= 1e9 ? `${(bytes / 1e9).toFixed(1)} GB` : `${Math.max(1, Math.round(bytes / 1e6))} MB`;
}

/** @param {State} now */
function take(now) {
  state = now;
  const ids = now.games.map((one) => one.id).join();
  if (game.dataset.ids !== ids) {
    const before = game.dataset.ids === undefined ? (now.games.find((one) => !one.films.length)?.id ?? "") : game.value;
    game.replaceChildren(
      el("option", { value: "" }, "A new game"),
      ...now.games.map((one) => el("option", { value: one.id }, `${one.title}, ${one.day}`)),
    );
    game.value = now.games.some((one) => one.id === before) ? before : "";
    game.dataset.ids = ids;
    drawForm();
  }
  byId("work").hidden = !now.jobs.length;
  drawJobs(byId("jobs"), now.jobs, (id, act) => void does(`/films/jobs/${id}/${act}`));
  say(byId("work-room"), now.need ? `The copies take up to ${now.need}; ${now.free} are free.` : "");
  button("pause-all").hidden = !now.jobs.some((job) => ["waiting", "running"].includes(job.state));
  button("resume-all").hidden = !now.jobs.some((job) => job.state === "paused");
  if (now.coming) {
    byId("begun").hidden = !now.coming.length;
    drawComing(byId("coming"), now.coming, (one) => void clear(one.id, one.what));
  }
  const text = JSON.stringify(now.games);
  if (byId("games").dataset.drawn !== text) {
    drawGames(byId("games"), now.games, (film) => void does(`/films/${encodeURIComponent(film)}/light`));
    byId("games").dataset.drawn = text;
  }
  byId("away").hidden = !now.away && !byId("find-told").textContent;
  button("find").hidden = !now.away;
  say(byId("away-said"), now.away ? `${now.away === 1 ? "One film is" : `${now.away} films are`} not where they were brought in from.`.replace("One film is not where they were", "One film is not where it was") : "");
}

async function look() {
  clearTimeout(timer);
  const found = document.hidden ? null : await ask("/films/state.json").catch(() => null);
  if (found) take(found);
  const busy = state?.jobs.some((job) => ["waiting", "running"].includes(job.state));
  timer = window.setTimeout(look, busy ? BUSY_MS : IDLE_MS);
}

/** @param {string} path */
async function does(path) {
  try {
    take(await post(path));
  } catch (fault) {
    say(byId("told"), told(fault));
  }
  void look();
}

/** @param {string} id @param {string} what */
async function clear(id, what) {
  if (!window.confirm(`Throw away what has come of ${what}?`)) return;
  await post(`/films/send/${id}/clear`).catch((fault) => say(byId("told"), told(fault)));
  void look();
}

/** @param {Event} event */
async function bring(event) {
  event.preventDefault();
  sending = true;
  drawForm();
  const home = /** @type {HTMLInputElement} */ (document.querySelector('input[name="home"]:checked')).value === "home";
  const into = game.value
    ? { game: game.value, camera: byId("camera-row").hidden ? "" : input("camera").value }
    : { new: { opponent: input("opponent").value, date: input("date").value, home } };
  const sort = chosen.picks.length > 1 && input("sort").checked;
  try {
    await post("/films/bring", { files: chosen.tokens, sort, keep: input("keep").checked, ...into });
    say(byId("told"), "");
    input("opponent").value = "";
    input("camera").value = "";
    chosen.moved = false;
    chosen.clear();
  } catch (fault) {
    say(byId("told"), told(fault));
  }
  sending = false;
  drawForm();
  await look();
  if (!byId("told").textContent) byId("work").scrollIntoView({ block: "nearest" });
}

async function find() {
  const folder = listing.folder?.here;
  if (!folder) return;
  button("find").disabled = true;
  say(byId("find-told"), `Looking through ${folder.name} …`);
  try {
    const { found, away, refused, n_files: n } = await post("/films/find", { folder: folder.token });
    const words = found.map((/** @type {{name: string, where: string}} */ one) => `${one.name} found at ${one.where}.`);
    words.push(...refused);
    if (away.length) words.push(`Not there: ${away.join(", ")} (${n} files looked at).`);
    say(byId("find-told"), words.join(" "));
  } catch (fault) {
    say(byId("find-told"), told(fault));
  }
  button("find").disabled = false;
  void look();
}

byId("chosen").addEventListener("submit", bring);
byId("chosen").addEventListener("input", () => drawForm());
button("find").addEventListener("click", find);
button("pause-all").addEventListener("click", () => void does("/films/jobs/pause"));
button("resume-all").addEventListener("click", () => void does("/films/jobs/resume"));
document.addEventListener("visibilitychange", () => document.hidden || void look());
await Promise.all([listing.begin(), look()]);
document.body.dataset.ready = "yes";
