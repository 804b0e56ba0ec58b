// A key event as a stroke. Pure: it looks at the event and at nothing else.
//
// Letters go by the character, so that "z" is where the keyboard says z; case goes by Shift alone, whatever Caps Lock
// says. Digits go by position, since a French keyboard has them behind Shift,
// and a number pad may be switched to arrows. Comma, period and the slash beside them go by position, and by
// character where they lie elsewhere. Keys with Ctrl, Alt or the system key are the browser's.
// The sheet writes the frame keys as the keyboard does: from the browser's own map where it has one, which it lacks over
// plain http on a network, else from the first press.

/**
 * @typedef {{key: string, code: string, shiftKey: boolean, ctrlKey: boolean, altKey: boolean, metaKey: boolean,
 *   isComposing: boolean, defaultPrevented: boolean, repeat: boolean, target: EventTarget | null}} KeyLike
 */
/** @typedef {{stroke: string, repeat: boolean}} Stroke */

const NAMED = new Set(["Enter", "Escape", "Backspace", "Delete", "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"]);
const PAGING = new Set(["PageUp", "PageDown"]);
const WITH_SHIFT = new Set(["Enter", "Backspace", "ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"]);

/**
 * @param {KeyLike} event
 * @returns {Stroke | null} null where the key is not ours
 */
export function strokeOf(event) {
  if (event.defaultPrevented || event.isComposing || event.ctrlKey || event.altKey || event.metaKey) return null;
  if (isField(event.target)) return null;
  const stroke = digit(event) || named(event) || letter(event) || sign(event);
  if (!stroke || (isButton(event.target) && (stroke === "Enter" || stroke === " "))) return null;
  return { stroke, repeat: event.repeat };
}

/** @param {KeyLike} event */
function named({ key, shiftKey }) {
  if (NAMED.has(key)) return shiftKey && WITH_SHIFT.has(key) ? `Shift+${key}` : key;
  return PAGING.has(key) ? key : "";
}

/** @param {KeyLike} event */
function letter({ key, shiftKey }) {
  if (!/^[a-z]$/i.test(key)) return "";
  return shiftKey ? key.toUpperCase() : key.toLowerCase();
}

/** @param {KeyLike} event */
function digit({ key, code }) {
  const found = /^(?:Digit|Numpad)(\d)$/.exec(code);
  if (found) return found[1];
  return /^\d$/.test(key) ? key : "";
}

/** @param {KeyLike} event */
function sign({ key, code, shiftKey }) {
  if (key === "?" || key === " ") return key;
  if (!shiftKey && code === "Comma") return ",";
  if (!shiftKey && code === "Period") return ".";
  if (!shiftKey && code === "Slash") return "/";
  return key === "," || key === "." || key === "/" ? key : "";
}

/** @param {EventTarget | null} target */
function isField(target) {
  const { tagName, isContentEditable, type } = /** @type {any} */ (target ?? {});
  if (isContentEditable || tagName === "TEXTAREA" || tagName === "SELECT") return true;
  return tagName === "INPUT" && !["button", "checkbox", "submit", "reset", "range"].includes(type);
}

/** @param {EventTarget | null} target */
function isButton(target) {
  return ["BUTTON", "A", "SUMMARY", "INPUT"].includes(/** @type {any} */ (target ?? {}).tagName);
}
