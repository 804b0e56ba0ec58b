// A book grown entry by entry says the same as one read at once, in whatever order the entries come.
import { test } from "node:test";
import { deepStrictEqual, strictEqual } from "node:assert";
import { Book } from "../../tagger/screen/static/marks/resolve.js";
import { Frames } from "../../tagger/screen/static/film/frames.js";

/** A small generator of numbers, so that a failure can be seen again. */
function dice(seed) {
  let state = seed;
  return (n) => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return Math.floor((state / 2147483648) * n);
  };
}

function randomEntries(roll, n) {
  const entries = [];
  for (let at = 1; at <= n; at++) {
    const does = ["mark", "mark", "answer", "retime", "remove", "undo", "undo"][roll(7)];
    const entry = { v: 1, id: `e${roll(1e6)}.${at}`, n: 1 + roll(at), by: ["anna", "ben"][roll(2)], wall: "", does };
    if (does === "mark") Object.assign(entry, { kind: "note", film: "f", at_ms: roll(1000), answers: {} });
    else entry.of = entries.length ? entries[roll(entries.length)].id : "nothing";
    if (does === "answer") entry.answers = { text: roll(3) ? `t${at}` : null };
    if (does === "retime") Object.assign(entry, { film: "f", at_ms: roll(1000) });
    entries.push(entry);
  }
  return entries;
}

const shuffled = (roll, list) => list.map((one) => [roll(1e9), one]).sort(([a], [b]) => a - b).map(([, one]) => one);

test("any order of arrival gives the same marks, and each touched mark is told", () => {
  for (let seed = 1; seed <= 200; seed++) {
    const roll = dice(seed);
    const entries = randomEntries(roll, 30);
    const whole = new Book(entries).marks();
    const grown = new Book();
    const seen = new Map();
    for (const entry of shuffled(roll, entries)) {
      const id = grown.add(entry);
      if (id) seen.set(id, grown.mark(id));
    }
    deepStrictEqual(grown.marks(), whole, `seed ${seed}`);
    // what was told to have changed along the way is enough to know the end, but for marks whose own entry came late
    for (const mark of whole) deepStrictEqual(seen.get(mark.id) ?? mark, mark, `seed ${seed}`);
  }
});

test("taking everything back leaves nothing, bringing it back leaves everything", () => {
  for (let seed = 1; seed <= 50; seed++) {
    const roll = dice(seed);
    const book = new Book(randomEntries(roll, 40).filter((entry) => entry.does !== "undo"));
    const full = book.marks();
    let n = book.next;
    const undo = (of, by) => book.add({ v: 1, id: `u${n}`, n: n++, by, wall: "", does: "undo", of });
    for (const by of ["anna", "ben"]) for (let last; (last = book.lastToUndo(by)); ) undo(last.id, by);
    deepStrictEqual(book.marks(), []);
    for (const by of ["anna", "ben"]) for (let last; (last = book.lastToRedo(by)); ) undo(last.id, by);
    deepStrictEqual(book.marks(), full);
  }
});

test("frames of 30000/1001 a second have the server's milliseconds, and every frame is nearest to its own", () => {
  const frames = new Frames({ base: [1, 30000], steps: [[1001, 5000]] });
  strictEqual(frames.n, 5000);
  deepStrictEqual([0, 1, 2, 3, 30].map((frame) => frames.atMs(frame)), [0, 33, 67, 100, 1001]);
  for (let frame = 0; frame < 5000; frame++) strictEqual(frames.nearestMs(frames.atMs(frame)), frame);
});

test("a half millisecond rounds up, and of two equally near frames the earlier is meant", () => {
  strictEqual(new Frames({ base: [1, 2000], steps: [[1, 10]] }).atMs(1), 1);
  strictEqual(new Frames({ base: [1, 25], steps: [[1, 10]] }).nearestMs(20), 0);
});
