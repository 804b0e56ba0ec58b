// Every key of the page's one list does what the sheet says of it, and no key means two things at once.
import { test } from "node:test";
import { deepStrictEqual, ok, strictEqual } from "node:assert";
import { cameraKeys, filmKeys } from "../../tagger/screen/static/keys/film.js";
import { Handlers } from "../../tagger/screen/static/keys/handlers.js";
import { logKeys } from "../../tagger/screen/static/keys/log.js";
import { markKeys, restOfKeys } from "../../tagger/screen/static/keys/marks.js";
import { KEY, cap, capOf } from "../../tagger/screen/static/keys/own.js";
import { readLanguage } from "../../tagger/screen/static/marks/language.js";
import { Sequence } from "../../tagger/screen/static/marks/sequence.js";
import { SecondLook } from "../../tagger/screen/static/view/second.js";

const LOOK = {
  code: "look", does: "look", name: "look", rank: 50, level: "basic", keys: [{ key: "o", name: "look" }], needs: {}, effects: [], say: [{ text: "look" }],
  questions: [{ code: "look", ask: "which?", type: "choice", level: "basic", choices: [{ code: "none", key: "n", name: "none" }] }],
};
const kind = (code, key) => ({ ...LOOK, code, does: code, name: code, keys: [{ key, name: code }], questions: [] });
const LANGUAGE = readLanguage({
  kinds: [LOOK, kind("set", "1"), kind("possession", "d")], sets: [], lines: [], levels: [{ code: "basic", name: "basic" }], asked: "", shapes: [], endings: [],
  context: { level: "basic", ball: "", period: "open" }, film_keys: [], hand_keys: [], list_keys: ["1", "2"], together: {},
});
const HAND = { kind: "look", question: "look", typed: "", said: [], answers: {}, context: {}, old: false };
const mark = (id, n, code, at_ms) => ({ id, n, kind: code, film: "f", at_ms, answers: {}, by: "a", removed: false });

/** Something that writes down what is called of it. */
function recorder(name, done, has = {}) {
  const call = (what) => (...told) => void done.push(`${name}${what}(${told.map((one) => JSON.stringify(one)).join(", ")})`);
  return new Proxy(has, { get: (held, what) => (what in held ? held[what] : call(what)) });
}

/** A page that is at something, and what its keys make it do. */
function page({ picked = "", hand = null, at = null, answered = null, problems = [] } = {}) {
  const done = [];
  const sequence = new Sequence(LANGUAGE, new Map([["f", 0]]));
  sequence.fill([mark("p1", 1, "possession", 1000), mark("s1", 2, "set", 2000), mark("p2", 3, "possession", 9000)]);
  const [p1, s1, p2] = sequence.rows;
  const deck = recorder("deck.", done, { ready: true, gameMs: 5000, loop: null });
  const desk = { hand, inHand: "", closed: null, sequence, language: LANGUAGE };
  const door = recorder("door.", done, {
    language: LANGUAGE, sequence, unanswered: [], now: { film: "f", at_ms: 5000, speed: 0 }, isShowing: false,
    get hand() { return desk.hand; },
    contextAt: () => LANGUAGE.data.context, isOf: () => false, wentOn: () => undefined,
    enter: (make) => make(),
    begin: (...told) => (done.push(`begin(${JSON.stringify(told.slice(0, 2))})`), { entries: [], refusal: "", told: "" }),
    takeBack: () => (done.push("takeBack()"), { entries: [], refusal: "", told: "" }),
  });
  const second = new SecondLook(door, new Set());
  second.at = at;
  second.answered = answered;
  const groups = [{ team: "ours", from: 1000, to: 4000, rows: [p1, s1] }, { team: "theirs", from: 9000, to: null, rows: [p2] }];
  const tagging = recorder("", done, {
    desk, deck, second, picked, log: { groups }, folded: { problems }, linesToLookAt: () => problems.map((one) => one.of), wentOn: () => undefined,
    views: { place: recorder("place.", done), sheet: recorder("sheet.", done) }, other: recorder("other.", done),
  });
  const camera = recorder("camera.", done, { mayTie: true });
  const list = [...filmKeys(deck, () => undefined), ...cameraKeys(camera), ...logKeys(tagging), ...second.keys(), ...markKeys(tagging)];
  const atHand = () => (desk.hand ? "hand" : second.waiting ? "asked" : sequence.byId.has(picked) ? "line" : "none");
  const keys = new Handlers(list, restOfKeys(tagging), atHand);
  return { done, keys, second, press: (stroke) => (keys.handlerOf(stroke).does(stroke), done.splice(0)) };
}

const ASKED = { of: "s1", why: "which look?", question: "", kind: "look", stars: [], start_ms: 1000, from_ms: 2000, to_ms: 6000, decisive_ms: 4000 };
const STATES = {
  none: {}, line: { picked: "s1" }, hand: { hand: HAND }, "hand of a line": { hand: HAND, picked: "s1" },
  asked: { at: ASKED, picked: "s1" }, "asked with no line": { at: ASKED }, "asked after an answer": { at: ASKED, picked: "s1", answered: ASKED },
  "a grade is asked": { at: { ...ASKED, kind: "grade" }, picked: "s1" },
};

/** What the sheet says → the state in which it is pressed, and what it then does. */
const SAID = {
  "play, hold": ["none", "deck.toggle()"],
  "backwards, faster each time": ["none", "deck.shuttle(-1)"],
  hold: ["none", "deck.hold()"],
  "forwards, faster each time": ["none", "deck.shuttle(1)"],
  "one frame back": ["none", "deck.step(-1)"],
  "one frame on": ["none", "deck.step(1)"],
  "five seconds back": ["none", "deck.jump(-5000)"],
  "five seconds on": ["none", "deck.jump(5000)"],
  "the last four seconds again, at half speed": ["none", "deck.replay()"],
  "play at half, quarter, full speed": ["none", "deck.slower()"],
  "the other camera, and back": ["none", "camera.next()"],
  "both cameras show this moment: tie them": ["none", "camera.tie()"],
  "the mark before": ["line", 'go("p1")'],
  "the next mark": ["line", 'go("p2")'],
  "the possession before": ["none", 'go("p1")'],
  "the next possession": ["none", 'go("p2")'],
  "the period before": ["none", 'tell("nothing further that way")'],
  "the next period": ["none", 'tell("nothing further that way")'],
  "the next thing to look at": ["none", 'tell("nothing further that way")'],
  "answer it again": ["line", 'answer("s1")'],
  "put it on the frame on screen": ["line", 'move("s1")'],
  "one frame earlier": ["line", 'nudge("s1", -1)'],
  "one frame later": ["line", 'nudge("s1", 1)'],
  "strike it out, or restore it": ["line", 'strike("s1")'],
  "show the last possession over and over": ["none", 'deck.over({"from":1000,"to":4000})'],
  "in a second look: the whole run": ["asked", 'door.tell("the whole run")', 'door.show({"from":1000,"to":6000})'],
  "the next thing worth a second look, its last four seconds over and over": [
    "none", "door.askNothing()", 'door.tell("nothing left that is worth a second look")',
  ],
  "grade blind: show runs whole, but only up to their decisive moment": [
    "none", 'door.tell("blind: runs are shown whole, up to their decisive moment")', "door.askNothing()",
    'door.tell("nothing left that is worth a second look")',
  ],
  "go to a film time, or to a period and its clock": ["none", "place.ask()"],
  "another book’s marks, to take single ones over": ["none", "other.open()"],
  "take what is offered, else skip the question": ["hand", 'mark("Enter")'],
  "skip the question, whatever is offered": ["hand", 'mark("Shift+Enter")'],
  "leave the questions": ["hand", 'mark("Escape")'],
  "or: unsure between two numbers, or two sets; counted as neither, asked again": ["hand", 'mark("/")'],
  "take back": ["none", 'mark("Backspace")'],
  "bring back": ["none", 'mark("Shift+Backspace")'],
  "the film holds while a question is open, or plays on": ["none", "turnHold()"],
  "this sheet": ["none", "sheet.showModal()"],
};

for (const [says, [state, ...does]] of Object.entries(SAID)) {
  test(`“${says}” is what its key does`, () => {
    const at = page(STATES[state]);
    const said = at.keys.list.find((one) => one.says === says);
    ok(said, "the sheet no longer says it");
    strictEqual(at.keys.handlerOf(said.keys[0]), said, `${cap("sheet")} says it of ${capOf(said.keys[0])}`);
    deepStrictEqual(at.press(said.keys[0]), does);
  });
}

test("the sheet says nothing that no test presses, and each of the page's own keys is in the list", () => {
  const { keys } = page();
  deepStrictEqual(keys.list.flatMap((one) => one.says || []).sort(), Object.keys(SAID).sort());
  deepStrictEqual([...new Set(keys.list.flatMap((one) => one.keys))].sort(), Object.values(KEY).sort());
});

for (const [name, state] of Object.entries(STATES)) {
  test(`no key means two things at once: ${name}`, () => {
    const { keys } = page(state);
    for (const stroke of [...Object.values(KEY), ..."0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"]) {
      const takers = keys.takers(stroke);
      ok(takers.length < 2, `${stroke}: ${takers.map((one) => one.says || "something unsaid").join(" / ")}`);
    }
  });
}

test("what has no handler of its own goes to the language of marks", () => {
  for (const stroke of ["d", "1", "B", "=a word"]) deepStrictEqual(page().press(stroke), [`mark("${stroke}")`]);
  deepStrictEqual(page({ hand: HAND, picked: "s1" }).press("M"), ['mark("M")'], "a line's keys mean nothing while a question is open");
});

test("before a line is picked its keys say how to pick one", () => {
  for (const stroke of [KEY.earlier, KEY.later]) {
    deepStrictEqual(page().press(stroke), [`tell("${cap("lineBefore")} or ${cap("nextLine")} picks a line of the log first")`]);
  }
});

test("a second look takes its answers, its skips and its way back before anybody else", () => {
  deepStrictEqual(page(STATES.asked).press("n"), ['begin(["look",{"look":"none"}])']);
  deepStrictEqual(page(STATES.asked).press(KEY.enter), [], "what is skipped enters nothing");
  deepStrictEqual(page(STATES.asked).press("d"), ['mark("d")'], "a mark that is no answer is a mark");
  deepStrictEqual(page(STATES["asked after an answer"]).press(KEY.takeBack).slice(0, 2), ["takeBack()", 'door.ask("s1", "")']);
});

test("a line's keys stand below the film by their own names", () => {
  deepStrictEqual(page(STATES.line).keys.caps(), [
    { key: KEY.enter, name: "answer it again" },
    { key: KEY.move, name: "put it on this frame" },
    { key: KEY.earlier, name: "a frame earlier" },
    { key: KEY.later, name: "a frame later" },
    { key: KEY.strike, name: "strike it out" },
    { key: KEY.leave, name: "leave it" },
  ]);
});
