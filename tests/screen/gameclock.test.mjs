// Period and clock at a film time, and back.
import { test } from "node:test";
import { deepStrictEqual, strictEqual } from "node:assert";
import { clockAt, readPlace, strengthAt, timeOf } from "../../tagger/screen/static/marks/gameclock.js";

const seen = {
  problems: [],
  unanswered: [],
  periods: [[1, 10_000, 100_000], [2, 160_000, null]],
  clock: [[10_000, 900], [40_000, 870], [70_000, 870], [90_000, 850], [160_000, 900]],
  strength: [[10_000, "ours", "5v5"], [40_000, "theirs", "5v4"], [70_000, "ours", "6ev5"], [80_000, "ours", "5v3"]],
};

test("the clock runs between what is known and stands while play stands", () => {
  deepStrictEqual(clockAt(seen, 25_000), { period: 1, left: 885 });
  deepStrictEqual(clockAt(seen, 55_000), { period: 1, left: 870 });
  deepStrictEqual(clockAt(seen, 80_000), { period: 1, left: 860 });
});

test("what the film does not give is unknown, not guessed", () => {
  deepStrictEqual(clockAt(seen, 95_000), { period: 1, left: null });
  deepStrictEqual(clockAt(seen, 170_000), { period: 2, left: null });
  strictEqual(clockAt(seen, 130_000), null);
});

test("period and clock lead to the film time at which the clock said so", () => {
  strictEqual(timeOf(seen, readPlace("1 14:45")), 25_000);
  strictEqual(timeOf(seen, readPlace("1 14:20")), 80_000);
  strictEqual(timeOf(seen, readPlace("2 15:00")), 160_000);
  strictEqual(timeOf(seen, readPlace("2 11:42")), null);
  strictEqual(timeOf(seen, readPlace("3 11:42")), null);
});

test("film time is read as people type it", () => {
  deepStrictEqual(readPlace("23:41"), { ms: 1_421_000 });
  deepStrictEqual(readPlace("1:02:09"), { ms: 3_729_000 });
  deepStrictEqual(readPlace("2341"), { ms: 1_421_000 });
  deepStrictEqual(readPlace("41"), { ms: 41_000 });
  deepStrictEqual(readPlace("23:41.5"), { ms: 1_421_500 });
  for (const wrong of ["", "x", "1:2", "23:41:", "-5", "1e9"]) strictEqual(readPlace(wrong), null);
});

test("strength is said from our side, whoever has the ball", () => {
  strictEqual(strengthAt(seen, 20_000), "even, both nets covered");
  strictEqual(strengthAt(seen, 50_000), "they have one more, 4 against 5, both nets covered");
  strictEqual(strengthAt(seen, 75_000), "we have one more, 6 against 5, our net empty");
  strictEqual(strengthAt(seen, 85_000), "we have two more, 5 against 3, both nets covered");
  strictEqual(strengthAt(seen, 5_000), "");
});
