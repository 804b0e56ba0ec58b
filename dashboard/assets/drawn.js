// Figures that are drawn: arrows walk along their marks; in a game's, a stretch is dragged over, told and played, and
// words light what they name.

export {};

const LEAST_PX = 6; // a hand that shakes does not drag
const MINUTE_S = 60;

/** A period's drawing that is being dragged over. @type {{drawing: SVGSVGElement, from: number, to: number, moved: boolean} | null} */
let drag = null;
/** Where a stretch began that the keys draw. @type {Element | null} */
let anchor = null;
let dragged = false;

/** @param {ParentNode} within @param {string} which @returns {SVGElement[]} */
function all(within, which) {
  return [...within.querySelectorAll(which)].map((one) => /** @type {SVGElement} */ (one));
}

/** @param {Element} row the marks that are walked along, not those of a row within it */
function marksOf(row) {
  return all(row, "[role=button]").filter((one) => one.closest("[data-walk]") === row);
}

/** @param {number} seconds */
function minutes(seconds) {
  const whole = Math.round(seconds);
  return `${Math.floor(whole / MINUTE_S)}:${String(whole % MINUTE_S).padStart(2, "0")}`;
}

/** What stands at a place of a period. @param {SVGElement} drawing @param {number} share from 0 to 100 */
function clockAt({ dataset: { length = "0", clock = "down" } }, share) {
  const gone = (share / 100) * Number(length);
  return minutes(clock === "down" ? Number(length) - gone : Number(clock) + gone);
}

/** @param {SVGElement} drawing @param {number} from @param {number} to @returns {SVGElement[]} the possessions of a stretch */
function within(drawing, from, to) {
  return all(drawing, "[data-possession]").filter(({ dataset }) => Number(dataset.to) > from && Number(dataset.from) < to);
}

/** @param {SVGElement} drawing @param {number} from @param {number} to */
function brush(drawing, from, to) {
  for (const one of all(document, ".period .brush")) one.setAttribute("width", "0");
  const rect = drawing.querySelector(".brush");
  rect?.setAttribute("x", `${from}%`);
  rect?.setAttribute("width", `${to - from}%`);
}

/** A stretch: its sentences, and its film where it has some. @param {SVGElement} drawing @param {SVGElement[]} held @param {string} when @param {boolean} run */
function tell(drawing, held, when, run) {
  const section = document.getElementById("stretch");
  if (!section) return;
  const what = `${drawing.dataset.period}, ${when}`;
  const filmed = held.filter((one) => one.classList.contains("plays")).map((one) => one.dataset.possession ?? "");
  const head = document.createElement("h2");
  head.textContent = what;
  const ways = document.createElement("p");
  ways.className = "ways";
  if (filmed.length) {
    const play = document.createElement("button");
    Object.assign(play, { type: "button", className: "plays", textContent: `Play ${filmed.length === 1 ? "it" : `these ${filmed.length}`}` });
    Object.assign(play.dataset, { table: "possessions", ids: filmed.join(" "), what });
    ways.append(play);
  } else ways.append(held.length ? "No film of it." : "Nothing is tagged there.");
  const away = document.createElement("button");
  Object.assign(away, { type: "button", className: "light away", textContent: "put away" });
  ways.append(" ", away);
  const told = document.createElement("div");
  told.className = "told";
  for (const one of held) {
    const said = document.querySelector(`main .fold [data-told="${CSS.escape(one.dataset.possession ?? "")}"]`);
    if (said) told.append(said.cloneNode(true));
  }
  section.replaceChildren(head, ways, told);
  section.hidden = false;
  if (run && filmed.length) {
    document.dispatchEvent(new CustomEvent("floorbook:play", { detail: { table: "possessions", ids: filmed.join(" "), what } }));
  }
}

/** @param {PointerEvent} event @param {SVGSVGElement} drawing */
function shareOf(event, drawing) {
  const box = drawing.getBoundingClientRect();
  return Math.min(Math.max(((event.clientX - box.left) / box.width) * 100, 0), 100);
}

document.addEventListener("pointerdown", (event) => {
  const drawing = /** @type {SVGSVGElement | null} */ (/** @type {Element} */ (event.target).closest?.("svg.period"));
  dragged = false;
  if (!drawing || event.button !== 0) return;
  const at = shareOf(event, drawing);
  drag = { drawing, from: at, to: at, moved: false };
});

document.addEventListener("pointermove", (event) => {
  if (!drag) return;
  drag.to = shareOf(event, drag.drawing);
  const wide = Math.abs(drag.to - drag.from) / 100 * drag.drawing.getBoundingClientRect().width;
  if (!drag.moved && wide < LEAST_PX) return;
  if (!drag.moved) drag.drawing.setPointerCapture(event.pointerId);
  drag.moved = true;
  event.preventDefault();
  brush(drag.drawing, Math.min(drag.from, drag.to), Math.max(drag.from, drag.to));
});

document.addEventListener("pointerup", () => {
  const done = drag;
  drag = null;
  if (!done?.moved) return;
  dragged = true; // what is pressed next is the end of this
  const [from, to] = [Math.min(done.from, done.to), Math.max(done.from, done.to)];
  const { drawing } = done;
  tell(drawing, within(drawing, from, to), `${clockAt(drawing, from)} to ${clockAt(drawing, to)}`, true);
});
document.addEventListener("pointercancel", () => (drag = null));

document.addEventListener(
  "click",
  (event) => {
    const target = /** @type {Element} */ (event.target);
    if (dragged && target.closest("svg.period")) {
      event.stopPropagation();
      dragged = false;
      return;
    }
    dragged = false;
    const light = /** @type {HTMLElement | null} */ (target.closest("button.light"));
    if (light?.classList.contains("away")) putAway();
    else if (light) lighten(light);
    const mark = /** @type {SVGElement | null} */ (target.closest("[data-possession]"));
    const drawing = /** @type {SVGElement | null} */ (mark?.closest("svg.period") ?? null);
    if (!mark || !drawing) return;
    anchor = mark;
    stretch(drawing, [mark], false);
  },
  true,
);

/** @param {SVGElement} drawing @param {SVGElement[]} held @param {boolean} run */
function stretch(drawing, held, run) {
  const from = Math.min(...held.map(({ dataset }) => Number(dataset.from)));
  const to = Math.max(...held.map(({ dataset }) => Number(dataset.to)));
  brush(drawing, from, to);
  tell(drawing, held, `${clockAt(drawing, from)} to ${clockAt(drawing, to)}`, run);
}

function putAway() {
  const section = document.getElementById("stretch");
  for (const one of all(document, ".period .brush")) one.setAttribute("width", "0");
  if (section) section.hidden = true;
  const first = /** @type {SVGElement | null} */ (anchor?.isConnected ? anchor : document.querySelector(".period [role=button]"));
  first?.focus();
}

/** Light what a word names, or nothing again. @param {HTMLElement} word */
function lighten(word) {
  const on = word.getAttribute("aria-pressed") !== "true";
  for (const one of document.querySelectorAll(".light[aria-pressed]")) one.setAttribute("aria-pressed", "false");
  word.setAttribute("aria-pressed", String(on));
  const named = new Set(on ? (word.dataset.light ?? "").split(" ") : []);
  document.querySelector(".game-figure")?.classList.toggle("picked", on);
  for (const one of all(document, "[data-possession], [data-letter]")) {
    one.classList.toggle("lit", named.has(one.dataset.possession ?? one.dataset.letter ?? ""));
  }
}

document.addEventListener("keydown", (event) => {
  const target = /** @type {SVGElement} */ (event.target);
  const row = target.closest?.("[data-walk]");
  if (!row || event.ctrlKey || event.altKey || event.metaKey) return;
  if ((event.key === "Enter" || event.key === " ") && !target.classList.contains("plays")) {
    event.preventDefault();
    target.dispatchEvent(new MouseEvent("click", { bubbles: true }));
    return;
  }
  const marks = marksOf(row);
  const rows = all(document, "[data-walk]").filter((one) => marksOf(one).length > 0);
  const [at, place] = [marks.indexOf(target), rows.indexOf(/** @type {SVGElement} */ (row))];
  const beside = { ArrowRight: marks[at + 1], ArrowLeft: marks[at - 1], Home: marks[0], End: marks[marks.length - 1] }[event.key];
  const other = { ArrowDown: rows[place + 1], ArrowUp: rows[place - 1] }[event.key];
  const to = beside ?? (other && (marksOf(other).find((one) => one.tabIndex === 0) ?? marksOf(other)[0]));
  if (!to) return;
  event.preventDefault();
  if (beside) for (const mark of marks) mark.tabIndex = -1;
  to.tabIndex = 0;
  to.focus();
  const drawing = /** @type {SVGElement | null} */ (to.closest("svg.period"));
  if (!event.shiftKey || !beside || !drawing || !to.dataset.possession) return void (anchor = to);
  const [first, last] = [marks.indexOf(/** @type {SVGElement} */ (anchor ?? target)), marks.indexOf(to)].sort((a, b) => a - b);
  stretch(drawing, marks.slice(Math.max(first, 0), last + 1), false);
});
