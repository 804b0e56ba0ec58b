// Files that this device sends: how far each is, and what can be done about it.
import { el, say } from "/screen/view/dom.js";

/** @typedef {import("./sender.js").Sender} Sender */
/** @typedef {{pause: (one: Sender) => void, goOn: (one: Sender) => void, leave: (one: Sender) => void}} Acts */

/** @param {HTMLElement} list @param {Sender[]} senders @param {Acts} acts */
export function drawSending(list, senders, acts) {
  const held = /** @type {Map<string, HTMLElement>} */ (new Map([...list.children].map((row) => [/** @type {HTMLElement} */ (row).dataset.key ?? "", row])));
  const rows = senders.map((one, place) => {
    const key = `${place} ${one.file.name} ${kind(one)}`;
    const row = held.get(key) ?? made(one, key, acts);
    const share = one.file.size ? one.there / one.file.size : 0;
    const track = /** @type {HTMLElement} */ (row.querySelector(".track"));
    track.style.setProperty("--share", `${share * 100}%`);
    track.setAttribute("aria-valuenow", String(Math.round(share * 100)));
    say(/** @type {HTMLElement} */ (row.querySelector(".far")), howFar(one, share));
    const bad = /** @type {HTMLElement} */ (row.querySelector(".bad"));
    bad.hidden = !one.why;
    say(bad, one.why);
    return row;
  });
  if (rows.length !== list.children.length || rows.some((row, n) => row !== list.children[n])) list.replaceChildren(...rows);
}

/** @param {Sender} one */
function kind(one) {
  if (one.refused && one.how === "failed") return "refused";
  return ["queued", "paused", "failed", "there", "looked at"].includes(one.how) ? one.how : "at work";
}

/** @param {Sender} one @param {string} key @param {Acts} acts */
function made(one, key, acts) {
  const { name } = one.file;
  const act = (/** @type {string} */ text, /** @type {(one: Sender) => void} */ does) =>
    el("button", { type: "button", "aria-label": `${name}: ${text}`, onclick: () => does(one) }, text);
  const putAside = [act("Put aside", acts.leave)];
  /** @type {Record<string, HTMLElement[]>} */
  const does = {
    queued: putAside,
    refused: putAside,
    there: putAside,
    "at work": [act("Pause", acts.pause)],
    paused: [act("Go on", acts.goOn), ...putAside],
    failed: [act("Try again", acts.goOn), ...putAside],
  };
  const track = el("span", { class: "track", role: "progressbar", "aria-valuemin": 0, "aria-valuemax": 100, "aria-label": name }, el("i"));
  return el(
    "li",
    { class: one.how === "paused" ? "resting" : "", "data-key": key },
    el("span", {}, el("b", {}, name)),
    el("span", { class: "how" }, track, el("small", { class: "far", role: "status" })),
    el("span", { class: "acts" }, ...(does[kind(one)] ?? [])),
    el("span", { class: "bad", role: "alert", hidden: true }),
  );
}

/** @param {Sender} one @param {number} share */
function howFar(one, share) {
  const far = `${Math.floor(share * 100)} %`;
  const left = one.leftMs === null ? "" : `, about ${inWords(one.leftMs)} left`;
  return {
    queued: "waits for the one before it",
    begins: "begins",
    sends: `${far}${left}`,
    "cut off": `${far}, no connection; it goes on by itself`,
    waits: `${far}, waits its turn`,
    paused: `${far}, paused`,
    "looked at": "all there; being looked at",
    there: "in the season",
    failed: `${far}, stopped`,
  }[one.how];
}

/** @param {number} ms */
function inWords(ms) {
  const seconds = Math.max(1, Math.round(ms / 1000));
  if (seconds < 60) return `${seconds} s`;
  const minutes = Math.round(seconds / 60);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
