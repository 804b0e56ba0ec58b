// Elements without markup in text: whatever a person wrote stays text.

/**
 * @typedef {Partial<Record<string, string | number | boolean | ((event: any) => void)>>} Props `onclick` and the like are
 *   listened to, everything else is an attribute; false leaves it out
 */
/** @typedef {(Node | string | null | undefined | false)[]} Children */

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} name
 * @param {Props} [props]
 * @param {...(Node | string | null | undefined | false)} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function el(name, props = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(props)) {
    if (typeof value === "function") made.addEventListener(key.slice(2), value);
    else if (value !== false && value !== undefined) made.setAttribute(key, value === true ? "" : String(value));
  }
  for (const child of children) if (child || child === "") made.append(child);
  return made;
}

/**
 * The element of an id that the page is known to have.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return found;
}

/**
 * Put text where it differs, so that a screen reader isn't told the same thing again.
 * @param {HTMLElement} element
 * @param {string} text
 */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * A time as people read it: 23:41, or 1:02:09.
 * @param {number} ms
 */
export function clock(ms) {
  const seconds = Math.floor(Math.max(0, ms) / 1000);
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  const hours = Math.floor(seconds / 3600);
  const minutes = Math.floor(seconds / 60) % 60;
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}` : `${minutes}:${two(seconds % 60)}`;
}
