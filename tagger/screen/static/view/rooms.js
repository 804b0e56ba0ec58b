// On a phone or a tablet held upright the log is a room of its own: the film stays, and below it stand either the keys or all that
// happened. A line that is tapped, and a key of the second look or of what is to be looked at, leads back to the keys.

/** @param {HTMLElement} foot where the way stands @param {HTMLElement} log */
export function rooms(foot, log) {
  const way = /** @type {HTMLButtonElement} */ (foot.querySelector("button.way"));
  const turn = (/** @type {boolean} */ reading) => {
    document.body.classList.toggle("reading", reading);
    way.textContent = reading ? "Back to the keys" : "What happened";
    way.setAttribute("aria-expanded", String(reading));
  };
  way.addEventListener("click", () => turn(!document.body.classList.contains("reading")));
  log.addEventListener("click", ({ target }) => {
    if (target instanceof Element && target.closest(".m, .q, h2 button")) turn(false);
  });
  turn(false);
}
