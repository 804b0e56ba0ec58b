// Drawn examples for the sheet of all keys: three seconds of play from above, the goal on top, over and over. Circles have the
// ball's side, diamonds defend, the small dot is the ball. Whoever wants no motion sees the ways as lines.

const STILL = matchMedia("(prefers-reduced-motion: reduce)");
const SECONDS = 3;

/** Who goes where: a letter for what he is (o, x, b: attacker, defender, ball), then his places at even times. */
const USER = "o 38,62 50,62 66,60 86,44";
const SETTER = "o 62,48 62,48 62,48 62,44";
const ROLLS = "o 62,48 62,48 60,38 58,22";
const BALL = "b 42,60 54,60 70,58 90,42";
const STUCK = "x 36,50 50,54 55,52 56,50";
const WITH_SETTER = "x 64,38 64,38 64,38 64,35";
const TO_USER = "x 64,38 68,42 78,46 88,34";

/** @type {Record<string, string[]>} by kind, or kind, question and answer, or kind and key */
const DRAWN = {
  pull_out: ["o 60,38 58,48 58,60 60,72", "b 64,36 62,46 62,58 64,70", "x 60,28 60,36 60,44 60,48", "o 30,30 30,36 28,44 26,50", "o 90,30 90,36 92,44 94,50"],
  "screen.again": ["o 38,62 60,62 84,56 52,58", "b 42,60 64,60 88,54 56,56", "o 62,48 62,48 72,46 72,46", "x 36,50 56,56 78,48 76,50", "x 64,38 64,38 72,36 70,36"],
  "set.flows.new": [USER, "b 42,60 70,58 24,40 34,24", SETTER, "o 22,42 22,42 24,40 32,26", "o 36,34 34,36 30,36 30,36", "x 36,50 52,54 62,52 70,50", WITH_SETTER, "x 24,32 24,32 28,42 30,42"],
  "screen.free.user": [USER, BALL, SETTER, STUCK, WITH_SETTER],
  "screen.free.setter": [USER, "b 42,60 70,58 88,42 60,24", ROLLS, STUCK, TO_USER],
  "screen.free.third_man": [USER, "b 42,60 70,58 88,42 26,26", ROLLS, STUCK, TO_USER, "o 22,30 22,30 22,30 24,26", "x 28,24 30,24 42,24 52,24"],
  "screen.free.nobody": [USER, BALL, SETTER, "x 36,50 52,56 68,52 84,36", WITH_SETTER],
  "screen.coverage.switched": [USER, BALL, SETTER, "x 36,50 48,50 56,42 60,36", TO_USER],
  "screen.coverage.stayed": [USER, BALL, SETTER, "x 36,50 48,56 64,54 84,36", WITH_SETTER],
  "screen.coverage.under": [USER, BALL, SETTER, "x 36,50 50,42 66,36 84,34", "x 64,38 64,32 60,30 60,34"],
  "screen.coverage.doubled": [USER, BALL, SETTER, "x 36,50 50,56 66,54 80,36", "x 64,38 70,44 80,48 92,34"],
  "screen.coverage.shown": [USER, BALL, SETTER, "x 36,50 50,56 64,54 84,34", "x 64,38 74,48 76,50 64,35"],
  "screen.coverage.blown": [USER, BALL, SETTER, "x 36,50 50,52 54,44 54,36", WITH_SETTER],
};

/** The codes of what is drawn, for the test that each is there to be seen. */
export const drawnCodes = () => Object.keys(DRAWN);

/**
 * A drawn example; null where there is none.
 * @param {string} code
 * @param {string} name what it shows
 */
export function example(code, name) {
  const actors = DRAWN[code];
  if (!actors) return null;
  const drawing = svg("svg", { viewBox: "0 0 120 80", class: "example", role: "img", "aria-label": `drawn: ${name}` });
  drawing.append(svg("path", { d: "M48 14a12 12 0 0 0 24 0M55 8h10v6h-10z", class: "goal" }), ...actors.flatMap(drawnActor));
  return drawing;
}

/** @param {string} actor */
function drawnActor(actor) {
  const [what, ...places] = actor.split(" ");
  const points = places.map((place) => place.split(",").map(Number));
  const shapes = { o: "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0", x: "M0 -5L5 0L0 5L-5 0z", b: "M-2 0a2 2 0 1 0 4 0a2 2 0 1 0 -4 0" };
  const shape = svg("path", { d: shapes[/** @type {keyof typeof shapes} */ (what)], class: what });
  if (STILL.matches) {
    shape.setAttribute("transform", `translate(${points.at(-1)})`);
    return [svg("polyline", { points: places.join(" "), class: `way ${what}` }), shape];
  }
  const values = [points[0], ...points, points[points.length - 1]].join(";"); // stands a moment, before and after
  shape.append(svg("animateTransform", { attributeName: "transform", type: "translate", values, dur: `${SECONDS}s`, repeatCount: "indefinite" }));
  return [shape];
}

/** @param {string} name @param {Record<string, string>} attributes */
function svg(name, attributes) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}
