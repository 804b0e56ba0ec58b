// The marks of a figure: arrows walk along them, and a press beside a narrow one is a press on the nearest.

const FINGER_PX = 14;
const MARK = "button.plays";

/** @param {Element} row @returns {HTMLElement[]} */
const marksOf = (row) => [...row.querySelectorAll(MARK)].map((one) => /** @type {HTMLElement} */ (one));

/** Along a row of marks; up and down to the next row. */
document.addEventListener("keydown", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const row = /** @type {HTMLElement | null} */ (target.closest("[data-marks]"));
  if (!row || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
  const marks = marksOf(row);
  const rows = [...document.querySelectorAll("main [data-marks]")].filter((one) => one.querySelector(MARK));
  const at = marks.indexOf(target);
  const beside = { ArrowRight: marks[at + 1], ArrowLeft: marks[at - 1], Home: marks[0], End: marks[marks.length - 1] }[event.key];
  const other = { ArrowDown: rows[rows.indexOf(row) + 1], ArrowUp: rows[rows.indexOf(row) - 1] }[event.key];
  const to = beside ?? other?.querySelector(`${MARK}[tabindex="0"]`) ?? other?.querySelector(MARK);
  if (!(to instanceof HTMLElement)) return;
  event.preventDefault();
  for (const mark of beside ? marks : []) mark.tabIndex = -1;
  to.tabIndex = 0;
  to.focus();
});

document.addEventListener("click", (event) => {
  const target = /** @type {HTMLElement} */ (event.target);
  const row = target.closest("[data-marks]");
  if (!row || target.closest(MARK)) return;
  const far = (/** @type {HTMLElement} */ mark) => {
    const { left, right, top, bottom } = mark.getBoundingClientRect();
    return Math.hypot(Math.max(left - event.clientX, 0, event.clientX - right), Math.max(top - event.clientY, 0, event.clientY - bottom));
  };
  const nearest = marksOf(row).sort((one, other) => far(one) - far(other))[0];
  if (nearest && far(nearest) <= FINGER_PX) nearest.click();
});
