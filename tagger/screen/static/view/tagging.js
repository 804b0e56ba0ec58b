// One game being tagged: a key goes to the first handler that takes it; what comes out goes to the disk and onto the page.
import { cameraKeys, filmKeys } from "../keys/film.js";
import { Handlers } from "../keys/handlers.js";
import { logKeys } from "../keys/log.js";
import { markKeys, restOfKeys } from "../keys/marks.js";
import { KEY, cap } from "../keys/own.js";
import { doesOf } from "../marks/language.js";
import { UNFOLDED } from "../marks/folded.js";
import { Door } from "./door.js";
import { Hold } from "./hold.js";
import { SecondLook } from "./second.js";
import { capsOf, wordsOf } from "./prompt.js";
import { clock } from "./dom.js";

/** @typedef {import("../marks/desk.js").Desk} Desk */
/** @typedef {import("../film/deck.js").FilmDeck} FilmDeck */
/** @typedef {import("../outbox/outbox.js").Outbox} Outbox */
/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("./log.js").LogView} LogView */
/** @typedef {import("./timeline.js").TimelineView} TimelineView */
/** @typedef {import("./caps.js").CapsView} CapsView */
/** @typedef {import("./status.js").Status} Status */
/**
 * @typedef {{log: LogView, timeline: TimelineView, caps: CapsView, status: Status, sheet: HTMLDialogElement, note: import("./note.js").NoteView,
 *   place: import("./place.js").PlaceView, camera: import("./camera.js").CameraView}} Views
 */

/** Whether a key names a set. @param {import("../marks/language.js").Language} language @param {string} stroke */
const isSetKey = (language, stroke) => language.keys.get(stroke)?.some(({ kind }) => doesOf(language, kind.code) === "set") ?? false;

export class Tagging {
  /**
   * @param {Desk} desk
   * @param {FilmDeck} deck
   * @param {Views} views
   * @param {(entries: Entry[]) => void} enter
   * @param {import("./second.js").Done} done of a second look, kept in this browser
   */
  constructor(desk, deck, views, enter, done) {
    this.desk = desk;
    this.deck = deck;
    this.views = views;
    this.log = views.log;
    this.enter = enter;
    /** Id of the mark that the walk is at. */
    this.picked = "";
    /** @type {import("../marks/folded.js").Folded} what the server's fold sees */
    this.folded = UNFOLDED;
    this.hold = new Hold(deck);
    this.second = new SecondLook(new Door(this), done);
    this.told = 0;
    this.camera = views.camera;
    this.keys = this.#listed();
    /** @type {import("./people.js").PeopleView | null} */
    this.people = null;
    /** @type {import("./otherbook.js").OtherBook | null} */
    this.other = null;
    /** @type {import("./names.js").Player[]} our players, offered while a number is typed */
    this.roster = [];
    /** What a stated question says, in the coach's words. */
    this.stated = "";
    /** Why nothing can be entered; empty when it can. */
    this.readOnly = "";
  }

  /** What the keys do, in order. @returns {Handlers} */
  #listed() {
    const film = [...filmKeys(this.deck, () => this.hold.forget()), ...cameraKeys(this.camera)];
    const list = [...film, ...logKeys(this), ...this.second.keys(), ...markKeys(this)];
    return new Handlers(list, restOfKeys(this), () => this.#atHand());
  }

  /** @returns {import("../keys/handlers.js").AtHand} */
  #atHand() {
    if (this.desk.hand) return "hand";
    if (this.second.waiting) return "asked";
    return this.desk.sequence.byId.has(this.picked) ? "line" : "none";
  }

  /** @param {string} stroke @param {boolean} [repeat] */
  press(stroke, repeat = false) {
    const { between, moving } = this.deck;
    if (between && moving && stroke !== KEY.sheet) { // no key is lost between two parts: it waits for the next one's first frame
      const then = () => this.press(stroke, repeat);
      return void moving.then(then, then);
    }
    if (stroke === KEY.enter) stroke = this.views.note.stroke;
    const handler = this.keys.handlerOf(stroke);
    if (repeat && !handler.repeats) return;
    if (handler.apart) return handler.does(stroke);
    this.tell("");
    if (this.readOnly && !handler.harmless) return this.tell(this.readOnly);
    const { answered } = this.second;
    handler.does(stroke);
    this.second.forget(answered);
  }

  /** A stroke for the question at hand, or a next mark's; a set's digit on a picked line of a set is that set instead. @param {string} stroke */
  mark(stroke) {
    const { language, sequence } = this.desk;
    const row = this.picked && !this.desk.hand && !this.second.at ? sequence.byId.get(this.picked) : undefined;
    if (row && !row.mark.removed && doesOf(language, row.mark.kind) === "set" && isSetKey(language, stroke)) {
      this.desk.reopen(row.mark.id, "set");
    }
    const { moment, level } = this.second.taken(stroke);
    this.enterMade(() => this.desk.press(stroke, moment, level), stroke);
  }

  /** Gone on to something else: Backspace takes back what was entered last. */
  wentOn() {
    this.desk.closed = null;
    this.draw();
  }

  /**
   * Enter what a stroke makes, where anything can be entered.
   * @param {() => import("./door.js").Entered} make
   * @param {string} stroke
   */
  enterMade(make, stroke) {
    const { desk, deck, second } = this;
    if (!deck.ready) return this.tell(this.views.status.noFilm);
    if (deck.onScreen.film?.tied === false) {
      return this.tell(`this camera is not tied to the game’s film yet: marks are made there, ${cap("otherCamera")}`);
    }
    const wasOpen = second.isOpen;
    const old = desk.hand?.old ? desk.inHand : "";
    const { entries, refusal, told: did, at = desk.inHand === old ? old : "" } = make();
    if (!second.at) this.hold.asked(desk.hand !== null);
    this.picked = at;
    this.#entered(entries);
    second.after(entries, wasOpen, stroke);
    if (second.at && !desk.hand) this.picked = second.at.of;
    const told = refusal || did || this.#agreed(entries);
    if (told) this.tell(told);
    this.count();
    this.draw();
  }

  /** What an agreement with somebody else says about marks just made. @param {Entry[]} entries */
  #agreed(entries) {
    const row = this.desk.sequence.byId.get(entries.find((entry) => entry.does === "mark")?.id ?? "");
    if (!row || !this.people) return "";
    const ofBall = "ball" in (this.desk.language.kinds.get(row.mark.kind)?.needs ?? {});
    return this.people.after(String(row.mark.answers.team ?? (ofBall ? row.before.ball : "")));
  }

  /** Take a mark of another book over. @param {import("../marks/resolve.js").Mark} mark @param {number} speed */
  copy(mark, speed) {
    this.desk.closed = null; // what Backspace takes back next is the copy
    this.#entered(this.desk.copy(mark, speed));
    this.draw();
  }

  /** Take in entries from elsewhere. @param {Entry[]} entries */
  take(entries) {
    if (!entries.length) return;
    this.desk.take(entries);
    this.drawMarks();
    this.draw();
  }

  /**
   * Take back what the server would not take in.
   * @param {string[]} ids of entries
   * @param {string} why
   */
  drop(ids, why) {
    const text = this.desk.drop(ids);
    if (!this.desk.sequence.byId.has(this.picked)) this.picked = "";
    this.tell(`refused, not on disk${text && `: “${text}”`}: ${why}`);
    this.drawMarks();
    this.draw();
  }

  /** @param {string} id */
  go(id) {
    const { hand } = this.desk;
    const row = this.desk.sequence.byId.get(id);
    if (!row) return;
    if (hand?.typed) return this.tell(`${cap("enter")} enters ${hand.typed} first, ${cap("leave")} leaves it`);
    this.desk.hand = null; // as any next mark, another line ends the questions
    this.second.leave();
    this.hold.forget(); // it stays held where the person went
    this.picked = id;
    this.deck.hold();
    void this.deck.goTo(row.at);
    this.draw();
  }

  /** @param {string} id */
  answer(id) {
    const row = this.desk.sequence.byId.get(id);
    if (row?.mark.removed) this.tell(`it is struck out; ${cap("strike")} restores it first`);
    else if (!this.desk.reopen(id)) this.tell("it has no questions");
    this.picked = id;
    this.draw();
  }

  /** @param {string} id */
  move(id) {
    const { now } = this.deck;
    const mark = this.desk.sequence.byId.get(id)?.mark;
    if (mark?.film === now.film && mark.at_ms === now.at_ms) {
      this.tell(`it stands on this frame already: go to the right frame first, or move it with ${cap("earlier")} ${cap("later")}`);
      return;
    }
    this.#entered(this.desk.retime(id, now));
    this.tell(`moved to ${this.#moment(this.deck.gameMs)}`);
  }

  /** Move a mark by frames, and the film with it. @param {string} id @param {number} n */
  nudge(id, n) {
    const row = this.desk.sequence.byId.get(id);
    const { film, frames } = this.deck.onScreen;
    if (!row || film?.id !== row.mark.film || !frames) {
      this.tell("its film is not on screen; ↑ or ↓ goes to it first");
      return;
    }
    const at_ms = frames.atMs(frames.nearestMs(row.mark.at_ms) + n);
    if (at_ms !== row.mark.at_ms) this.#entered(this.desk.retime(id, { film: film.id, at_ms }));
    const moved = this.desk.sequence.gameTime(film.id, at_ms);
    void this.deck.goTo(moved);
    this.tell(`moved to ${this.#moment(moved)}`);
  }

  /** @param {number} ms */
  #moment(ms) {
    return `${clock(ms)}.${String(Math.floor((ms % 1000) / 10)).padStart(2, "0")}`;
  }

  turnHold() {
    this.tell(this.hold.turn());
    this.views.status.holds(this.hold.on);
  }

  /** @param {string} id */
  strike(id) {
    const removed = this.desk.sequence.byId.get(id)?.mark.removed;
    const entries = removed ? this.desk.restore(id) : this.desk.remove(id);
    this.#entered(entries);
    this.tell(!removed ? `struck out; ${cap("strike")} restores it` : entries.length ? "restored" : "somebody else struck it out; only they can restore it");
  }

  /** A place on the line of time: no line of the log is picked any more. @param {number} ms */
  showAt(ms) {
    if (!this.desk.hand) this.leaveLog();
    void this.deck.showAt(ms);
  }

  leaveLog() {
    this.second.leave();
    this.picked = "";
  }

  /** What the server's fold sees in the marks. @param {import("../marks/folded.js").Folded} folded */
  takeFolded(folded) {
    this.folded = folded;
    this.log.takeFolded(folded);
    this.count();
    this.draw();
  }

  /** Marks of which something is to be looked at, in the fold's order. @returns {string[]} */
  linesToLookAt() {
    const { byId } = this.desk.sequence;
    return [...new Set(this.folded.problems.map((one) => one.of))].filter((of) => byId.has(of));
  }

  /** Say in the head how much is left to look at: as many as the keys that lead there say. */
  count() {
    this.views.status.tellCounts(this.linesToLookAt().length, this.second.count);
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
    this.log.draw(this.desk.sequence.rows, this.desk.sequence.changedFrom());
    this.views.timeline.groups = this.log.groups;
  }

  /** What changes with the film and the hand. */
  draw() {
    const { desk, deck, views } = this;
    const now = deck.now;
    const { hand } = desk;
    const gameMs = deck.gameMs;
    views.timeline.nowMs = gameMs;
    views.timeline.paint();
    views.status.film(deck);
    this.camera.draw();
    this.people?.draw(desk.contextAt(now).ball);
    views.status.game(this.folded, gameMs);
    views.log.at(desk.sequence.lastBy(gameMs)?.mark.id ?? "", hand ? desk.inHand : this.picked);
    const context = desk.contextAt(now);
    this.second.drawn();
    views.status.context(context, desk.language, this.stated);
    views.note.show(hand && desk.question?.type === "text" ? desk.inHand : "");
    views.caps.draw(wordsOf(this, context), hand || deck.ready ? capsOf(this) : []);
  }
}
