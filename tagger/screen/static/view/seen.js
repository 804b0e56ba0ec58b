// Doubts that somebody looked at and went on from, kept in this browser so that they don’t come back when the page is loaded
// again. Only a short sum of each is kept: the words have players’ numbers in them.

const MOST = 2000; // the oldest go first

export class Seen {
  /** @param {string} place under which the browser keeps it */
  constructor(place) {
    this.place = place;
    /** @type {Set<string>} */
    this.sums = new Set(kept(place));
  }

  /** @param {string} name */
  has(name) {
    return this.sums.has(sumOf(name));
  }

  /** @param {string} name */
  add(name) {
    this.sums.add(sumOf(name));
    try {
      localStorage.setItem(this.place, [...this.sums].slice(-MOST).join(" "));
    } catch {
      // a browser that keeps nothing asks again after the next loading
    }
  }
}

/** @param {string} place @returns {string[]} */
function kept(place) {
  try {
    return (localStorage.getItem(place) ?? "").split(" ").filter(Boolean);
  } catch {
    return [];
  }
}

/** FNV-1a, 32 bits. @param {string} text */
function sumOf(text) {
  let sum = 0x811c9dc5;
  for (const letter of text) sum = Math.imul(sum ^ (letter.codePointAt(0) ?? 0), 0x01000193) >>> 0;
  return sum.toString(36);
}
