// The one ordered list of what keys do on the tagging page, and of what the sheet of all keys says of them. The first handler
// that takes a stroke now has it; the last one, the language of marks, takes whatever is left.

/**
 * What is at hand: a question (`hand`), a second look that waits for an answer before its mark is made (`asked`), a line of
 * the log (`line`), or none of them (`none`).
 * @typedef {"hand" | "asked" | "line" | "none"} AtHand
 */
/**
 * `says`: for the sheet of all keys, empty where the key stands there already; `block`: where it stands there. `cap`: shorter, in the
 * row of keys below the film; `now`: whether it means this now, always when left out. `repeats`: goes on while the key is held down.
 * `apart`: has nothing to do with the marks, so it leaves words and answers as they are and works where nothing can be entered;
 * `harmless`: works there too.
 * @typedef {{keys: string[], says: string, block: "Film" | "Questions" | "The log", does: (stroke: string) => void, cap?: string,
 *   now?: (atHand: AtHand) => boolean, takes?: (stroke: string) => boolean, repeats?: boolean, apart?: boolean, harmless?: boolean}} Handler
 */

export class Handlers {
  /**
   * @param {Handler[]} list in order
   * @param {Handler} rest takes what no other one takes
   * @param {() => AtHand} atHand
   */
  constructor(list, rest, atHand) {
    this.list = list;
    this.rest = rest;
    this.atHand = atHand;
    /** @type {Map<string, Handler[]>} */
    this.byKey = new Map();
    for (const one of list) for (const key of one.keys) this.byKey.set(key, [...(this.byKey.get(key) ?? []), one]);
    this.open = list.filter((one) => one.takes);
  }

  /** All that would take a stroke now: one, or none of the list. @param {string} stroke */
  takers(stroke) {
    const atHand = this.atHand();
    const means = (/** @type {Handler} */ one) => one.now?.(atHand) ?? true;
    return [...this.open.filter((one) => means(one) && one.takes?.(stroke)), ...(this.byKey.get(stroke) ?? []).filter(means)];
  }

  /** @param {string} stroke */
  handlerOf(stroke) {
    return this.takers(stroke)[0] ?? this.rest;
  }

  /** What can be done with a line of the log that is picked. @returns {{key: string, name: string}[]} */
  caps() {
    return this.list.flatMap(({ cap, keys, now }) => (cap && (now?.("line") ?? true) ? [{ key: keys[0], name: cap }] : []));
  }

  /** What the sheet says, a line each. @param {Handler["block"]} block @returns {{key: string, name: string}[]} */
  said(block) {
    return this.list.flatMap((one) => (one.says && one.block === block ? [{ key: one.keys[0], name: one.says }] : []));
  }
}
