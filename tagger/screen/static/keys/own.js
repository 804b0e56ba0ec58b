// The page's own keys, by what they do. They stand in the vocabulary's film_keys and hand_keys, so that no mark and no key
// of a season's own can take one; whoever names a key in words asks here, and never writes its letter.

export const KEY = Object.freeze({
  play: " ",
  backwards: "j",
  hold: "k",
  forwards: "l",
  again: "z",
  pace: "Z",
  frameBack: ",",
  frameOn: ".",
  jumpBack: "ArrowLeft",
  jumpOn: "ArrowRight",
  otherCamera: "A",
  tie: "Q",
  lineBefore: "ArrowUp",
  nextLine: "ArrowDown",
  possessionBefore: "Shift+ArrowLeft",
  nextPossession: "Shift+ArrowRight",
  periodBefore: "PageUp",
  nextPeriod: "PageDown",
  problem: "P",
  move: "M",
  earlier: "Shift+ArrowUp",
  later: "Shift+ArrowDown",
  strike: "K",
  delete: "Delete",
  loop: "L",
  second: "W",
  blind: "E",
  place: "J",
  enter: "Enter",
  skip: "Shift+Enter",
  leave: "Escape",
  takeBack: "Backspace",
  bringBack: "Shift+Backspace",
  or: "/",
  turnHold: "O",
  sheet: "?",
});

/** @type {Record<string, string>} */
const CAPS = {
  " ": "Space", Backspace: "⌫", Enter: "↵", Escape: "Esc", Delete: "Del", ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓",
};

/** A key that goes by its place is written so on this keyboard. @param {string} key @param {string} sign */
export function writtenAs(key, sign) {
  CAPS[key] = sign;
}

/** What a key cap shows. @param {string} key */
export function capOf(key) {
  const shifted = key.startsWith("Shift+") ? key.slice(6) : /^[A-Z]$/.test(key) ? key : "";
  return shifted ? `⇧${CAPS[shifted] ?? shifted}` : (CAPS[key] ?? key);
}

/** What the cap of one of the page's own keys shows. @param {keyof typeof KEY} name */
export const cap = (name) => capOf(KEY[name]);
