// The page of film on another device: choose a file of its own, say of which game it is, send it. It is told nothing of the season.
import { byId, say } from "/screen/view/dom.js";
import { ask } from "/screen/outbox/server.js";
import { drawComing } from "./coming.js";
import { Sender } from "./sender.js";
import { drawSending } from "./sent.js";

/** @typedef {{free: string, piece: number, coming: import("./coming.js").Coming[]}} State */

const LOOK_MS = 5000;
const input = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (byId(id));
const button = (/** @type {string} */ id) => /** @type {HTMLButtonElement} */ (byId(id));

/** @type {State | null} */
let state = null;
/** @type {Sender[]} */
const senders = [];
let timer = 0;

const files = () => [...(input("pick").files ?? [])];

function drawForm() {
  const chosen = files();
  const bytes = chosen.reduce((sum, file) => sum + file.size, 0);
  say(byId("room"), chosen.length && state ? `${size(bytes)} to send; up to ${state.free} may still come from you.` : "");
  const named = input("opponent").value.trim() !== "" && input("date").value !== "";
  button("go").disabled = !chosen.length || !named || !state;
}

/** @param {number} bytes */
function size(bytes) {
  return bytes >= 1e9 ? `${(bytes / 1e9).toFixed(1)} GB` : `${Math.max(1, Math.round(bytes / 1e6))} MB`;
}

/** @param {State} now */
function take(now) {
  state = now;
  drawForm();
  drawOthers();
}

function drawOthers() {
  const mine = new Set(senders.filter((one) => !["there", "failed"].includes(one.how)).map((one) => one.id));
  const others = (state?.coming ?? []).filter((one) => !mine.has(one.id));
  byId("begun").hidden = !others.length;
  drawComing(byId("coming"), others);
}

async function look() {
  clearTimeout(timer);
  const now = document.hidden ? null : await ask("/films/send/state.json").catch(() => null);
  if (now) take(now);
  timer = window.setTimeout(look, LOOK_MS);
}

function drawSent() {
  byId("sending").hidden = !senders.length;
  drawSending(byId("senders"), senders, {
    pause: (one) => one.pause(),
    goOn: (one) => void one.run(),
    leave,
  });
  drawOthers();
}

/** What has come of it stays on the coach's computer for some days, and is cleared there. @param {Sender} one */
function leave(one) {
  senders.splice(senders.indexOf(one), 1);
  drawSent();
}

/** Files chosen together are sent one after the other, as parts of one game in their order. @param {Event} event */
async function send(event) {
  event.preventDefault();
  const home = /** @type {HTMLInputElement} */ (document.querySelector('input[name="home"]:checked')).value === "home";
  /** @type {import("./sender.js").Aim} */
  const aim = { new: { opponent: input("opponent").value, date: input("date").value, home }, camera: input("camera").value };
  const piece = state?.piece ?? 0;
  const batch = files().map((file) => new Sender(file, piece, aim, drawSent));
  senders.push(...batch);
  input("pick").value = "";
  say(byId("told"), "");
  drawSent();
  drawForm();
  byId("sending").scrollIntoView({ block: "nearest" });
  for (const one of batch) {
    if (senders.includes(one)) await one.run();
    while (one.how !== "there") {
      if (!senders.includes(one)) break;
      await new Promise((resolve) => setTimeout(resolve, 200));
    }
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
