// Work on film: how far each piece is, and what can be done about it.
import { el, say } from "/screen/view/dom.js";

/** @typedef {{id: number, kind: string, what: string, game: string, doing: string, state: string, share: number, left: string, why: string}} Job */

/**
 * @param {HTMLElement} list
 * @param {Job[]} jobs
 * @param {(id: number, act: string) => void} act
 */
export function drawJobs(list, jobs, act) {
  const held = new Map([...list.children].map((row) => [/** @type {HTMLElement} */ (row).dataset.job ?? "", row]));
  const rows = jobs.map((job) => {
    const key = `${job.id} ${job.state}`;
    const row = /** @type {HTMLElement} */ (held.get(key) ?? made(job, key, act));
    const track = /** @type {HTMLElement | null} */ (row.querySelector(".track"));
    track?.style.setProperty("--share", `${job.share * 100}%`);
    track?.setAttribute("aria-valuenow", String(Math.round(job.share * 100)));
    const said = /** @type {HTMLElement | null} */ (row.querySelector(".far"));
    if (said) say(said, howFar(job));
    return row;
  });
  if (rows.length !== list.children.length || rows.some((row, place) => row !== list.children[place])) list.replaceChildren(...rows);
}

/** @param {Job} job @param {string} key @param {(id: number, act: string) => void} act */
function made(job, key, act) {
  const button = (/** @type {string} */ text, /** @type {string} */ does) =>
    el("button", { type: "button", "aria-label": `${job.what}, ${job.doing}: ${text}`, onclick: () => act(job.id, does) }, text);
  const buttons = {
    running: [button("Pause", "pause"), button("Give up", "drop")],
    waiting: [button("Pause", "pause"), button("Give up", "drop")],
    coming: [button("Pause", "pause"), button("Give up", "drop")],
    paused: [button("Go on", "resume"), button("Give up", "drop")],
    failed: [button("Try again", "resume"), button("Put aside", "drop")],
  }[job.state] ?? [];
  const track = el("span", { class: "track", role: "progressbar", "aria-valuemin": 0, "aria-valuemax": 100, "aria-label": job.doing }, el("i"));
  const how = job.state === "failed" ? null : el("span", { class: "how" }, track, el("small", { class: "far" }));
  const row = el(
    "li",
    { class: job.state === "paused" ? "resting" : "", "data-job": key },
    el("span", {}, el("b", {}, job.what), job.game ? `, ${job.game}` : "", el("br"), el("small", { class: "soft" }, job.doing)),
    how ?? el("span"),
    el("span", { class: "acts" }, ...buttons),
    job.why && job.state === "failed" ? el("span", { class: "bad" }, job.why) : null,
  );
  return row;
}

/** @param {Job} job */
function howFar(job) {
  if (job.state === "coming") return job.why; // of a file that is still being copied
  const share = job.share > 0 ? `${Math.floor(job.share * 100)} %` : "";
  const words = { running: job.left || "at work", waiting: "waits its turn", paused: "paused" }[job.state] ?? "";
  return [share, words].filter(Boolean).join(", ");
}
