// The small words around the film: what time it is, whose pass, what is on disk, what went wrong.
import { clockAt, strengthAt } from "../marks/gameclock.js";
import { kindThat } from "../marks/language.js";
import { cap, capOf } from "../keys/own.js";
import { byId, clock, say } from "./dom.js";

/** @typedef {import("../film/deck.js").FilmDeck} FilmDeck */
/** @typedef {import("../outbox/outbox.js").Outbox} Outbox */

const COUNTED = ["first", "second", "third", "fourth", "fifth", "sixth"];

export class Status {
  constructor() {
    this.noFilm = "";
    /** @type {import("../marks/folded.js").Folded | null} what the clock was last said from */
    this.folded = null;
    this.ms = -1;
    this.time = byId("time");
    this.part = byId("part");
    this.speed = byId("speed");
    this.level = byId("level");
    this.stated = byId("stated");
    this.holding = byId("holds");
    this.unanswered = byId("unanswered");
    this.clock = byId("clock");
    this.disk = byId("disk");
    this.letGo = /** @type {HTMLButtonElement} */ (byId("let-go"));
    this.problems = byId("problems");
    this.told = byId("told");
    this.blank = byId("blank");
  }

  /** @param {FilmDeck} deck */
  film(deck) {
    const ms = deck.gameMs;
    say(this.time, clock(ms));
    say(this.part, `.${String(Math.floor((ms % 1000) / 10)).padStart(2, "0")}`);
    say(this.speed, speedOf(deck));
  }

  /** Period, clock and strength at a game time. @param {import("../marks/folded.js").Folded} folded @param {number} ms */
  game(folded, ms) {
    if (folded === this.folded && ms === this.ms) return;
    this.folded = folded;
    this.ms = ms;
    const now = clockAt(folded, ms);
    const period = now && `${counted(now.period)} period`;
    const left = now && now.left !== null && `${clock(now.left * 1000)} left`;
    say(this.clock, [period, left, now && strengthAt(folded, ms)].filter(Boolean).join(", "));
  }

  /**
   * How much is tagged; with a stated question its words.
   * @param {import("../marks/language.js").Context} context
   * @param {import("../marks/language.js").Language} language
   * @param {string} stated
   */
  context(context, language, stated) {
    if (document.body.dataset.level !== context.level) document.body.dataset.level = context.level;
    const level = language.data.levels.find((level) => level.code === context.level)?.name ?? "";
    const change = capOf(kindThat(language, "detail")?.keys[0]?.key ?? "");
    say(this.level, context.asked ? `only what the question needs (${change} asks more)` : `${level} (${change} changes it)`);
    say(this.stated, stated && ` · “${stated}”${context.asked ? "" : ` is stated: ${change} narrows to it`}`);
    this.stated.hidden = !stated;
    if (this.stated.title !== stated) this.stated.title = stated;
  }

  /** Whether the film holds while a question is open. @param {boolean} on */
  holds(on) {
    say(/** @type {HTMLElement} */ (this.holding.lastElementChild), on ? "film holds" : "film plays on");
    this.holding.title = `${on ? "The film holds" : "The film plays on"} while a question is open`;
    this.holding.setAttribute("aria-pressed", String(on));
  }

  /** @param {Outbox} outbox @param {number} n how many marks the book has */
  outbox(outbox, n) {
    const waiting = outbox.waiting.length;
    const entries = `${waiting} ${waiting === 1 ? "entry" : "entries"}`;
    const marks = `${n} ${n === 1 ? "mark" : "marks"}`;
    const refused = outbox.refused.length;
    let text = `${marks}, ${n ? "all on disk" : "nothing to lose yet"}`;
    if (refused) text = `${marks} on disk`;
    if (waiting) text = `${marks}, ${entries} on the way`;
    if (outbox.state === "away") {
      const safe = outbox.store.kept ? "kept in this browser" : "not kept if this page is closed";
      text = `${entries} waiting, ${safe}: ${outbox.whyAway}`;
    } else if (!outbox.store.kept) {
      text += "; this browser keeps nothing (private window, or no room): if the server goes away, leave this page open";
    }
    if (refused) text += `; ${refused} refused: ${outbox.refused[0].refused}`;
    say(this.disk, text);
    this.disk.classList.toggle("warn", outbox.state === "away" || !outbox.store.kept || refused > 0);
    this.letGo.hidden = !refused;
    this.letGo.onclick = () => {
      const listed = outbox.refused.slice(0, 12).map((one) => `· ${wordsOf(one.entry)}: ${one.refused}`);
      const more = refused > listed.length ? [`· and ${refused - listed.length} more`] : [];
      const asked = ["Forget for good what floorbook would not take in? It is on no disk, only in this browser.", ...listed, ...more];
      if (window.confirm(asked.join("\n"))) outbox.letGo();
    };
  }

  /** @param {number} n problems @param {number} unanswered how many things are worth a second look */
  tellCounts(n, unanswered) {
    say(this.problems, n ? `${n} to look at ${cap("problem")}` : "");
    this.problems.hidden = !n;
    say(this.unanswered, unanswered ? `${unanswered} second ${unanswered === 1 ? "look" : "looks"} ${cap("second")}` : "");
    this.unanswered.hidden = !unanswered;
  }

  /** @param {string} text */
  tell(text) {
    say(this.told, text);
    this.told.hidden = !text;
  }

  /** In the film's place. @param {string} text */
  withoutFilm(text) {
    this.noFilm = text;
    say(this.blank, text);
    this.blank.hidden = !text;
  }
}

/** What an entry said, for somebody who decides whether it is missed. @param {import("../marks/resolve.js").Entry} entry */
function wordsOf({ does, kind = "", answers = {}, at_ms }) {
  const told = Object.values(answers).filter((value) => value !== null).join(", ");
  const at = at_ms === undefined ? "" : ` at ${clock(at_ms)} of its film`;
  return `${(kind || does).replaceAll("_", " ")}${told && ` (${told.slice(0, 120)})`}${at}`;
}

/** @param {FilmDeck} deck */
function speedOf(deck) {
  const fraction = (/** @type {number} */ rate) => ({ 0.5: "½", 0.25: "¼" })[rate] ?? String(rate);
  if (deck.again) return "again, at half speed";
  if (deck.loop) return `over and over, ${fraction(deck.pace)}×`;
  if (deck.rate === 0) return deck.pace === 1 ? "held" : `held, ${fraction(deck.pace)}×`;
  return `${deck.rate < 0 ? "−" : ""}${fraction(Math.abs(deck.rate))}×`;
}

/** @param {number} n from 1 */
const counted = (n) => COUNTED[n - 1] ?? String(n);
