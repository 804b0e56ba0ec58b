// The three keys that go by their place, one frame back, one frame on and “or”, as the user's own keyboard writes them: a French
// one has ; : ! there. Where the browser can say so (on this machine, in some browsers) it is asked; else the first press tells.
import { KEY, capOf, writtenAs } from "../keys/own.js";

const PLACES = /** @type {Record<string, string>} */ ({ Comma: KEY.frameBack, Period: KEY.frameOn, Slash: KEY.or });

/** @param {HTMLElement} sheet where the keys are written */
export function nameSigns(sheet) {
  const name = (/** @type {string} */ code, /** @type {string | undefined} */ sign) => {
    if (!sign || /\s/.test(sign)) return;
    writtenAs(PLACES[code], sign);
    for (const cap of sheet.querySelectorAll(`[data-key="${PLACES[code]}"] > kbd`)) cap.textContent = capOf(sign);
  };
  const { keyboard } = /** @type {{keyboard?: {getLayoutMap: () => Promise<Map<string, string>>}}} */ (/** @type {unknown} */ (navigator));
  keyboard
    ?.getLayoutMap()
    .then((signs) => Object.keys(PLACES).forEach((code) => name(code, signs.get(code))))
    .catch(() => undefined); // not told: the first press tells
  document.addEventListener("keydown", ({ code, key, shiftKey }) => {
    if (code in PLACES && !shiftKey && [...key].length === 1 && !/[a-z]/i.test(key)) name(code, key);
  });
}
