// The page of film on another device: choose a file of its own, say which game, send it.
import { byId, el, say } from "/screen/view/dom.js";
import { ask } from "/screen/server.js";
import { drawComing } from "./coming.js";
import { told } from "./listing.js";
import { Sender } from "./sender.js";
import { drawSending } from "./sent.js";

/** @typedef {{games: {id: string, title: string, day: string, n: number}[], free: string, piece: number, coming: import("./coming.js").Coming[]}} State */

const LOOK_MS = 5000;
const input = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (byId(id));
const button = (/** @type {string} */ id) => /** @type {HTMLButtonElement} */ (byId(id));
const game = /** @type {HTMLSelectElement} */ (byId("game"));

/** @type {State | null} */
let state = null;
/** @type {Sender[]} */
const senders = [];
let timer = 0;

const files = () => [...(input("pick").files ?? [])];

function drawForm() {
  const chosen = files();
  byId("new-game").hidden = game.value !== "";
  byId("camera-row").hidden = !state?.games.some((one) => one.id === game.value && one.n);
  const bytes = chosen.reduce((sum, file) => sum + file.size, 0);
  say(byId("room"), chosen.length && state ? `${size(bytes)} to send; ${state.free} are free on the coach’s computer.` : "");
  const named = game.value !== "" || (input("opponent").value.trim() !== "" && input("date").value !== "");
  button("go").disabled = !chosen.length || !named || !state;
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
    const before = game.dataset.ids === undefined ? (now.games.find((one) => !one.n)?.id ?? "") : game.value;
    const options = now.games.map((one) => el("option", { value: one.id }, `${one.title}, ${one.day}`));
    game.replaceChildren(el("option", { value: "" }, "A new game"), ...options);
    game.value = now.games.some((one) => one.id === before) ? before : "";
    game.dataset.ids = ids;
  }
  drawForm();
  drawOthers();
}

function drawOthers() {
  const mine = new Set(senders.filter((one) => !["there", "failed"].includes(one.how)).map((one) => one.id));
  const others = (state?.coming ?? []).filter((one) => !mine.has(one.id));
  byId("begun").hidden = !others.length;
  drawComing(byId("coming"), others, (one) => void clear(one.id, one.what));
}

async function look() {
  clearTimeout(timer);
  const now = document.hidden ? null : await ask("/films/send/state.json").catch(() => null);
  if (now) take(now);
  timer = window.setTimeout(look, LOOK_MS);
}

/** @param {string} id @param {string} what */
async function clear(id, what) {
  if (!window.confirm(`Throw away what has come of ${what}?`)) return;
  const init = { method: "POST", headers: { "Content-Type": "application/json" }, body: "{}" };
  await ask(`/films/send/${id}/clear`, init).catch((fault) => say(byId("told"), told(fault)));
  await look();
}

function drawSent() {
  byId("sending").hidden = !senders.length;
  drawSending(byId("senders"), senders, {
    pause: (one) => one.pause(),
    goOn: (one) => void one.run(),
    leave: (one) => void leave(one),
  });
  drawOthers();
}

/** @param {Sender} one */
async function leave(one) {
  if (one.id && one.how === "paused") await clear(one.id, one.file.name);
  senders.splice(senders.indexOf(one), 1);
  drawSent();
}

/** Files chosen together are sent one after the other; those after the first join the game that it made. @param {Event} event */
async function send(event) {
  event.preventDefault();
  const home = /** @type {HTMLInputElement} */ (document.querySelector('input[name="home"]:checked')).value === "home";
  /** @type {import("./sender.js").Aim} */
  let aim = game.value
    ? { game: game.value, camera: byId("camera-row").hidden ? "" : input("camera").value }
    : { new: { opponent: input("opponent").value, date: input("date").value, home } };
  const piece = state?.piece ?? 0;
  const batch = files().map((file) => new Sender(file, piece, aim, drawSent));
  senders.push(...batch);
  for (const id of ["pick", "opponent", "camera"]) input(id).value = "";
  say(byId("told"), "");
  drawSent();
  drawForm();
  byId("sending").scrollIntoView({ block: "nearest" });
  for (const one of batch) {
    one.aim = aim;
    if (senders.includes(one)) await one.run();
    while (one.how !== "there") {
      if (!senders.includes(one)) break;
      await new Promise((resolve) => setTimeout(resolve, 200));
    }
    if (one.game) aim = { game: one.game, camera: "camera" in aim ? aim.camera : "" };
  }
  await look();
}

byId("chosen").addEventListener("submit", send);
byId("chosen").addEventListener("input", drawForm);
byId("chosen").addEventListener("change", drawForm);
document.addEventListener("visibilitychange", () => document.hidden || void look());
window.addEventListener("beforeunload", (event) => {
  if (senders.some((one) => !["there", "failed", "paused"].includes(one.how))) event.preventDefault();
});
await look();
document.body.dataset.ready = "yes";
