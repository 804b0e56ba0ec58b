// One game being tagged: keys go to the film, the walk or the desk; what comes out goes to the disk and onto the page.
import { questionOf } from "../language.js";
import { options } from "../offers.js";
import { press } from "../strokes.js";
import { filmKey } from "./filmkeys.js";
import { Hold } from "./hold.js";
import { SecondLook } from "./second.js";
import { clock, say } from "./dom.js";
import { walkKey } from "./walk.js";

/** @typedef {import("../desk.js").Desk} Desk */
/** @typedef {import("../film.js").FilmDeck} FilmDeck */
/** @typedef {import("../outbox.js").Outbox} Outbox */
/** @typedef {import("../resolve.js").Entry} Entry */
/** @typedef {import("./log.js").LogView} LogView */
/** @typedef {import("./line.js").LineView} LineView */
/** @typedef {import("./strip.js").StripView} StripView */
/** @typedef {import("./status.js").Status} Status */
/**
 * @typedef {{log: LogView, line: LineView, strip: StripView, status: Status, sheet: HTMLDialogElement, note: import("./note.js").NoteView,
 *   place: import("./place.js").PlaceView}} Views
 */

const COARSE = matchMedia("(pointer: coarse)"); // fingers: digits are tapped

export class Tagging {
  /**
   * @param {Desk} desk
   * @param {FilmDeck} deck
   * @param {Views} views
   * @param {(entries: Entry[]) => void} enter
   */
  constructor(desk, deck, views, enter) {
    this.desk = desk;
    this.deck = deck;
    this.views = views;
    this.log = views.log;
    this.enter = enter;
    /** Id of the mark that the walk is at. */
    this.picked = "";
    /** @type {import("../server.js").Seen} what the server's fold sees */
    this.seen = { problems: [], periods: [], clock: [], strength: [], worth: [] };
    this.hold = new Hold(deck);
    this.second = new SecondLook(this);
    this.told = 0;
    /** @type {import("./camera.js").CameraView | null} */
    this.camera = null;
  }

  /** @param {string} stroke @param {boolean} [repeat] */
  press(stroke, repeat = false) {
    if (stroke === "?") return this.views.sheet.showModal();
    if (filmKey(this.deck, stroke, repeat)) return this.hold.forget();
    if (this.camera?.key(stroke)) return;
    if (stroke === "J") return this.views.place.ask();
    if (stroke === "O") return this.tell(this.hold.turn());
    if (repeat && !stroke.startsWith("Arrow") && stroke !== "Backspace") return;
    this.tell("");
    if (walkKey(this, stroke)) return this.draw();
    if (!this.deck.ready) return this.tell(this.views.status.noFilm);
    if (this.deck.reel.film?.tied === false) return this.tell("this camera is not tied to the game’s film yet: marks are made there, ⇧A");
    const { entries, refusal } = this.desk.press(stroke, this.deck.now);
    this.hold.asked(this.desk.hand !== null);
    this.picked = "";
    this.#entered(entries);
    if (refusal) this.tell(refusal);
    this.draw();
  }

  /** Take in entries from elsewhere. @param {Entry[]} entries */
  take(entries) {
    if (!entries.length) return;
    this.desk.take(entries);
    this.drawMarks();
    this.draw();
  }

  /** @param {string} id */
  go(id) {
    const row = this.desk.sequence.byId.get(id);
    if (!row) return;
    this.picked = id;
    this.deck.hold();
    void this.deck.goTo(row.at);
    this.draw();
  }

  /** @param {string} id @returns {true} */
  answer(id) {
    const row = this.desk.sequence.byId.get(id);
    if (row?.mark.removed) this.tell("it is struck out; K restores it first");
    else if (!this.desk.reopen(id)) this.tell("it has no questions");
    this.picked = id;
    this.draw();
    return true;
  }

  /** @param {string} id @returns {true} */
  move(id) {
    this.#entered(this.desk.retime(id, this.deck.now));
    this.tell(`moved to ${clock(this.deck.gameMs)}`);
    return true;
  }

  /** @param {string} id @returns {true} */
  strike(id) {
    const removed = this.desk.sequence.byId.get(id)?.mark.removed;
    const entries = removed ? this.desk.restore(id) : this.desk.remove(id);
    this.#entered(entries);
    this.tell(!removed ? "struck out; K restores it" : entries.length ? "restored" : "somebody else struck it out; only they can restore it");
    return true;
  }

  /** @returns {boolean} */
  leaveWalk() {
    const was = this.picked !== "";
    this.picked = "";
    return was;
  }

  /** What the server's fold sees in the marks. @param {import("../server.js").Seen} seen */
  look(seen) {
    this.seen = seen;
    this.log.tellProblems(seen.problems);
    this.views.status.toLookAt(seen.problems.length);
    this.draw();
  }

  /** @param {string} text shown for a while; empty takes it away */
  tell(text) {
    clearTimeout(this.told);
    this.views.status.tell(text);
    if (text) this.told = window.setTimeout(() => this.views.status.tell(""), 8000);
  }

  /** @param {Entry[]} entries */
  #entered(entries) {
    if (!entries.length) return;
    this.enter(entries);
    this.drawMarks();
  }

  /** What changes with the marks. */
  drawMarks() {
    this.log.draw(this.desk.sequence.rows, this.desk.sequence.seen());
    this.views.line.groups = this.log.groups;
  }

  /** What changes with the film and the hand. */
  draw() {
    const { desk, deck, views } = this;
    const now = deck.now;
    const { hand } = desk;
    const gameMs = deck.gameMs;
    views.line.nowMs = gameMs;
    views.line.paint();
    views.status.film(deck);
    this.camera?.draw();
    views.status.game(this.seen, gameMs);
    views.log.at(desk.sequence.lastBy(gameMs)?.mark.id ?? "", hand ? desk.inHand : this.picked);
    const context = desk.contextAt(now);
    this.second.draw();
    views.status.context(context, desk.language);
    views.note.show(hand && desk.question?.type === "text" ? desk.inHand : "");
    views.strip.draw(this.#words(context), hand || deck.ready ? this.#caps() : []);
  }

  #caps() {
    const caps = this.desk.options(this.deck.now);
    const { hand } = this.desk;
    if (hand) {
      if (hand.typed) caps.splice(0, caps.length, { key: "Enter", name: hand.typed, offer: true, code: "" }, ...this.#afterTyped(hand));
      const digits = COARSE.matches && ["player", "clock"].includes(this.desk.question?.type ?? "");
      return digits ? [...caps, ...[..."0123456789"].map((key) => ({ key, name: "" })), { key: "Enter", name: "" }] : caps;
    }
    const rare = (/** @type {import("../offers.js").Option} */ one) => {
      const needs = this.desk.language.kinds.get(one.code)?.needs ?? {};
      const here = needs.ball || needs.look_set || needs.period?.includes("closed") ? -2 : needs.period ? -1 : 1;
      return one.offer ? -9 : here + (/^[A-Z]$/.test(one.key) ? 3 : 0);
    };
    return [...caps].sort((one, other) => rare(one) - rare(other)).map((one) => (one.offer ? { ...one, key: "Enter" } : one));
  }

  /** What can follow typed digits: the next question's letters. @param {import("../strokes.js").Hand} hand */
  #afterTyped(hand) {
    const { language } = this.desk;
    const onward = press(language, hand.context, hand, "Enter").hand;
    return onward && !onward.typed ? options(language, hand.context, onward).filter((one) => !one.offer) : [];
  }

  /** @param {import("../language.js").Context} context */
  #words(context) {
    const { hand, language } = this.desk;
    if (!hand) {
      const row = this.picked ? this.desk.sequence.byId.get(this.picked) : undefined;
      if (row) return { lead: `${row.text}.`, ask: this.second.asks(row.mark.id), typed: "", hint: "↵ answers it again, ⇧M moves it to this frame, ⇧K strikes it out" };
      const balls = /** @type {Record<string, string>} */ ({ ours: "Our ball.", theirs: "Their ball." });
      const lead = balls[context.ball] ?? (context.period === "open" ? "Nobody’s ball." : "No period is open.");
      return { lead, ask: "", typed: "", hint: "" };
    }
    const question = questionOf(language, hand.kind, hand.question);
    const name = language.kinds.get(hand.kind)?.name ?? hand.kind;
    const digits = { player: "type a number", clock: "type minutes and seconds" }[question?.type ?? ""];
    return {
      lead: `${name[0].toUpperCase()}${name.slice(1)}:`,
      ask: question?.ask ?? "",
      typed: hand.typed,
      hint: hand.typed ? "↵ enters it" : [digits, "↵ skips", "any next mark ends the questions"].filter(Boolean).join(", "),
    };
  }
}
