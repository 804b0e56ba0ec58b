// Key events of several keyboards as strokes. What a layout gives for a key is from memory of those layouts.
import { test } from "node:test";
import { strictEqual } from "node:assert";
import { strokeOf } from "../../tagger/screen/static/keys/stroke.js";

const plain = { shiftKey: false, ctrlKey: false, altKey: false, metaKey: false, isComposing: false };
const stroke = (key, code, more = {}) =>
  strokeOf({ ...plain, key, code, defaultPrevented: false, repeat: false, target: null, ...more })?.stroke ?? null;
const shift = { shiftKey: true };

test("letters go by the character: German z and y are where the keyboard says so", () => {
  strictEqual(stroke("z", "KeyY"), "z");
  strictEqual(stroke("y", "KeyZ"), "y");
  strictEqual(stroke("Z", "KeyY", shift), "Z");
});

test("on a French keyboard letters go by the character too", () => {
  strictEqual(stroke("a", "KeyQ"), "a");
  strictEqual(stroke("q", "KeyA"), "q");
  strictEqual(stroke("m", "Semicolon"), "m");
  strictEqual(stroke("w", "KeyZ"), "w");
});

test("digits go by position: a French keyboard has them behind Shift", () => {
  strictEqual(stroke("&", "Digit1"), "1");
  strictEqual(stroke("é", "Digit2"), "2");
  strictEqual(stroke("à", "Digit0"), "0");
  strictEqual(stroke("1", "Digit1", shift), "1");
});

test("the number pad gives digits whatever its lock says", () => {
  strictEqual(stroke("4", "Numpad4"), "4");
  strictEqual(stroke("ArrowLeft", "Numpad4"), "4");
  strictEqual(stroke("Enter", "NumpadEnter"), "Enter");
});

test("comma and period go by position, and by character where they lie elsewhere", () => {
  strictEqual(stroke(",", "Comma"), ",");
  strictEqual(stroke(".", "Period"), ".");
  strictEqual(stroke(";", "Comma"), ",");
  strictEqual(stroke("-", "Slash"), "/"); // a German keyboard
  strictEqual(stroke("?", "Slash", shift), "?");
  strictEqual(stroke("/", "NumpadDivide"), "/");
  strictEqual(stroke(":", "Period"), ".");
  strictEqual(stroke(",", "KeyM"), ",");
});

test("the question mark goes by character: German Shift+ß, French Shift+comma", () => {
  strictEqual(stroke("?", "Minus", shift), "?");
  strictEqual(stroke("?", "KeyM", shift), "?");
  strictEqual(stroke("?", "Slash", shift), "?");
});

test("Caps Lock changes nothing, Shift does", () => {
  strictEqual(stroke("D", "KeyD"), "d");
  strictEqual(stroke("d", "KeyD", shift), "D");
});

test("keys of the browser and of the system are left alone", () => {
  strictEqual(stroke("r", "KeyR", { ctrlKey: true }), null);
  strictEqual(stroke("l", "KeyL", { metaKey: true }), null);
  strictEqual(stroke("@", "KeyQ", { altKey: true }), null);
  strictEqual(stroke("Tab", "Tab"), null);
  strictEqual(stroke("F5", "F5"), null);
  strictEqual(stroke("Dead", "BracketLeft"), null);
  strictEqual(stroke("e", "KeyE", { isComposing: true }), null);
  strictEqual(stroke("e", "KeyE", { defaultPrevented: true }), null);
});

test("form fields keep their keys; a focused button keeps Enter and Space", () => {
  strictEqual(stroke("s", "KeyS", { target: { tagName: "INPUT", type: "text" } }), null);
  strictEqual(stroke("s", "KeyS", { target: { tagName: "TEXTAREA" } }), null);
  strictEqual(stroke("s", "KeyS", { target: { tagName: "DIV", isContentEditable: true } }), null);
  strictEqual(stroke("Enter", "Enter", { target: { tagName: "BUTTON" } }), null);
  strictEqual(stroke(" ", "Space", { target: { tagName: "A" } }), null);
  strictEqual(stroke("s", "KeyS", { target: { tagName: "BUTTON" } }), "s");
});

test("a held key says that it repeats", () => {
  const held = { ...plain, key: ".", code: "Period", defaultPrevented: false, repeat: true, target: null };
  strictEqual(strokeOf(held)?.repeat, true);
});
