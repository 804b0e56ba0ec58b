// Moving between pages: where one was on a page comes back with it, focus stays, views are kept, light becomes dark.

const VIEWS = "floorbook:views";
const THEME = "floorbook:theme";
const OPEN = "open";
const BY_HAND = "details.more, details.fold";
history.scrollRestoration = "manual";

/** How far down the page that comes next is shown. @type {number | null} */
let wanted = null;
/** Where focus was when another page was asked for. @type {{choice: number, path: string} | null} */
let left = null;
let shown = location.pathname;
/** The address as far as the server reads it. */
let asked = location.pathname + location.search;

/** @param {ParentNode} within @param {string} which @returns {HTMLElement[]} */
function all(within, which) {
  return [...within.querySelectorAll(which)].map((one) => /** @type {HTMLElement} */ (one));
}

function keepScroll() {
  history.replaceState({ ...history.state, y: scrollY }, "");
}

function leaving() {
  const choice = document.activeElement?.closest("header .choice");
  left = { choice: choice ? all(document, "header .choice").indexOf(/** @type {HTMLElement} */ (choice)) : -1, path: shown };
  asked = ""; // until the next page is there
}

/** What is folded open stands in the address, by its place on the page. */
function rememberFolds() {
  const open = all(document, `main :is(${BY_HAND})`).flatMap((one, place) => (one.hasAttribute("open") ? [place] : []));
  const words = new URLSearchParams(location.search);
  words.delete(OPEN);
  if (open.length) words.set(OPEN, open.join("."));
  const search = words.toString();
  history.replaceState(history.state, "", `${location.pathname}${search ? `?${search}` : ""}${location.hash}`);
  asked = location.pathname + location.search;
}

function openFolds() {
  const places = (new URLSearchParams(location.search).get(OPEN) ?? "").split(".").filter(Boolean).map(Number);
  const folds = all(document, `main :is(${BY_HAND})`);
  for (const place of places) folds[place]?.setAttribute("open", "");
}

/** What the address ends in, after #: unfolded and in sight. */
function toTarget() {
  const target = location.hash ? document.getElementById(location.hash.slice(1)) : null;
  if (!target) return;
  for (let fold = target.closest("details"); fold; fold = fold.parentElement?.closest("details") ?? null) fold.setAttribute("open", "");
  target.scrollIntoView();
}

function arrived() {
  openFolds();
  if (wanted === null) toTarget();
  if (wanted !== null) scrollTo(0, wanted);
  wanted = null;
  for (const row of all(document, "header nav")) {
    const on = row.querySelector("a.on")?.getBoundingClientRect();
    const box = row.getBoundingClientRect();
    if (on) row.scrollLeft += on.left + on.width / 2 - box.left - box.width / 2;
  }
  drawViews();
  const has = document.activeElement;
  if (left && (!has || has === document.body || has.id === "page")) {
    const choice = left.path === location.pathname ? all(document, "header .choice")[left.choice]?.querySelector("summary") : null;
    const to = choice ?? document.getElementById("page");
    if (to instanceof HTMLElement) to.focus({ preventScroll: true });
  }
  left = null;
  shown = location.pathname;
  asked = location.pathname + location.search;
}

/** @returns {Record<string, string>} */
function views() {
  try {
    return JSON.parse(localStorage.getItem(VIEWS) ?? "{}");
  } catch {
    return {};
  }
}

/** @param {Record<string, string>} kept */
function put(kept) {
  localStorage.setItem(VIEWS, JSON.stringify(kept));
  drawViews();
}

/** @param {string} tag @param {Record<string, string>} [given] @param {string} [text] */
function made(tag, given = {}, text = "") {
  const one = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) one.setAttribute(name, value);
  one.textContent = text;
  return one;
}

function drawViews() {
  const root = document.getElementById("views");
  if (!root) return;
  const form = made("form");
  const name = /** @type {HTMLInputElement} */ (
    made("input", { "aria-label": "name of this view", placeholder: "a name for it", maxlength: "60", required: "" })
  );
  form.append(name, made("button", { type: "submit" }, "Keep"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    put({ ...views(), [name.value.trim() || document.title]: location.pathname + location.search });
    /** @type {HTMLElement | null} */ (document.querySelector("#views li a"))?.focus();
  });
  const list = made("ul");
  for (const [title, href] of Object.entries(views())) {
    const line = made("li");
    const gone = made("button", { type: "button", "aria-label": `forget ${title}` }, "forget");
    gone.addEventListener("click", () => {
      const { [title]: _, ...rest } = views();
      put(rest);
      /** @type {HTMLElement | null} */ (document.querySelector("#views input"))?.focus();
    });
    line.append(made("a", { href, "data-way": "" }, title), gone);
    list.append(line);
  }
  root.replaceChildren(form, list, made("p", { class: "soft" }, "Kept in this browser. To send a view, send its address."));
}

function turnTheme() {
  const dark = matchMedia("(prefers-color-scheme: dark)").matches;
  const now = document.documentElement.dataset.theme ?? (dark ? "dark" : "light");
  const next = now === "dark" ? "light" : "dark";
  document.documentElement.dataset.theme = next;
  localStorage.setItem(THEME, next);
}

if (history.state?.y) wanted = history.state.y; // loaded anew
document.addEventListener("floorbook:page", arrived);
if (document.querySelector("main [data-html]")) arrived(); // the page may have come before this script did

/** The page stands still while it is left: its place is noted before the address changes. */
document.addEventListener(
  "click",
  (event) => {
    const target = /** @type {HTMLElement} */ (event.target);
    if (target.closest("[data-theme-switch]")) return turnTheme();
    if (!target.closest("a[data-way]")) return;
    keepScroll();
    leaving();
  },
  true,
);
document.addEventListener(
  "toggle",
  (event) => {
    if (event.target instanceof HTMLDetailsElement && event.target.matches(`main :is(${BY_HAND})`)) rememberFolds();
  },
  true,
);
addEventListener("hashchange", toTarget);
addEventListener("popstate", (event) => {
  if (location.pathname + location.search === asked) {
    if (event.state) scrollTo(0, event.state.y ?? 0); // up or down the page, not to another
    return;
  }
  wanted = event.state?.y ?? 0;
  leaving();
});
let soon = 0;
addEventListener(
  "scroll",
  () => {
    if (wanted !== null) return;
    clearTimeout(soon);
    soon = window.setTimeout(keepScroll, 120);
  },
  { passive: true },
);
addEventListener("pagehide", keepScroll);
