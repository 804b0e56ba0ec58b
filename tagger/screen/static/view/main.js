// The tagging page: asks the server for its game, then puts the parts together.
import { ChangeOver, freeze } from "../film/changeover.js";
import { Desk } from "../marks/desk.js";
import { FilmDeck } from "../film/deck.js";
import { KEY, capOf } from "../keys/own.js";
import { strokeOf } from "../keys/stroke.js";
import { timeOf } from "../marks/gameclock.js";
import { readLanguage } from "../marks/language.js";
import { Outbox } from "../outbox/outbox.js";
import { ask, newId, sendEntries, urlOf } from "../outbox/server.js";
import { bookFile } from "./bookfile.js";
import { CameraView } from "./camera.js";
import { watchFilms, whyNone } from "./coming.js";
import { byId } from "./dom.js";
import { TimelineView } from "./timeline.js";
import { LogView } from "./log.js";
import { HoverView, wordsAt } from "./hover.js";
import { NoteView } from "./note.js";
import { OtherBook } from "./otherbook.js";
import { PeopleView } from "./people.js";
import { PlaceView } from "./place.js";
import { Seen } from "./seen.js";
import { fillSheet } from "./sheet.js";
import { rooms } from "./rooms.js";
import { nameSigns } from "./signs.js";
import { Status } from "./status.js";
import { CapsView } from "./caps.js";
import { Tagging } from "./tagging.js";

/** @typedef {import("../marks/resolve.js").Entry} Entry */
/** @typedef {import("../outbox/server.js").Opening} Opening */

const ASK_EVERY_MS = 2000; // for what another person entered in the same book
const FOLDED_AFTER_MS = 1200;
const MOST_AHEAD = 10000; // as in numbering.py

const { game = "", book = "", by = book, takes = "both" } = document.body.dataset;
const asked = new URLSearchParams(location.search);
const status = new Status();
const BUTTONS = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("button[data-key]"));
for (const button of BUTTONS) button.querySelector("kbd")?.append(capOf(button.dataset.key ?? ""));

/** @param {Opening} opening */
async function begin(opening) {
  const language = readLanguage(opening.language);
  const offsets = new Map(opening.films.map((film) => [film.id, film.offset_ms]));
  const desk = new Desk(language, offsets, by, { newId, wall: () => new Date().toISOString() });
  const video = /** @type {HTMLVideoElement} */ (byId("video"));
  const press = (/** @type {string} */ stroke) => tagging.press(stroke);
  const deck = new FilmDeck(video, opening.films, () => {
    tagging.draw();
    change.ifDue();
  });
  const change = new ChangeOver(deck, freeze);
  const camera = new CameraView(deck, game, (text) => tagging.tell(text), () => {
    asked.set("at", String(Math.round(camera.left?.gameMs ?? 0)));
    location.search = asked.toString();
  });
  const views = {
    log: new LogView(byId("log"), language, by, { go: (id) => tagging.go(id), answer: (id) => tagging.answer(id) }),
    timeline: new TimelineView(/** @type {HTMLCanvasElement} */ (byId("timeline")), (ms) => tagging.showAt(ms)),
    caps: new CapsView(byId("hand"), byId("caps"), byId("means"), press),
    note: new NoteView(/** @type {HTMLInputElement} */ (byId("note")), press),
    place: new PlaceView(/** @type {HTMLInputElement} */ (byId("place")), (place) => {
      const ms = timeOf(tagging.folded, place);
      if (ms === null) tagging.tell("the clock of that period is not known there");
      else void deck.showAt(ms);
    }),
    sheet: /** @type {HTMLDialogElement} */ (byId("sheet")),
    status,
    camera,
  };
  const own = ownOf(opening.films);
  views.timeline.lengthMs = Math.max(1, ...own.map((film) => film.offset_ms + film.duration_ms));
  new HoverView(byId("moment"), views.timeline, () => own, (ms) => wordsAt(language, tagging.folded, tagging.log.groups, ms));

  const outbox = new Outbox(opening.season, (batch) => sendEntries(opening.season, batch), () => {
    status.outbox(outbox, desk.sequence.count);
    if (outbox.state === "ok" && !outbox.waiting.length) refold.soon();
  }, (refused) => {
    const ids = refused.filter((one) => one.game === game && one.book === book).map((one) => one.entry.id);
    if (!ids.length) return;
    tagging.drop(ids, refused[0].refused);
    tabs.postMessage({ ids, why: refused[0].refused });
  });
  const tabs = new BroadcastChannel(`floorbook ${opening.season} ${game} ${book}`);
  const tagging = new Tagging(desk, deck, views, (entries) => {
    outbox.put(game, book, entries);
    tabs.postMessage(entries);
    status.outbox(outbox, desk.sequence.count);
  }, new Seen(`floorbook seen ${opening.season} ${game} ${book}`));
  tabs.onmessage = ({ data }) => (Array.isArray(data) ? tagging.take(data) : tagging.drop(data.ids, data.why));
  const refold = foldedOf(tagging);
  tagging.people = new PeopleView(byId("shared"), { by, book, takes });
  tagging.other = new OtherBook(/** @type {HTMLDialogElement} */ (byId("other-book")), tagging, { game, book });
  bookFile(game, book);

  const [firstFilm] = [...own].sort((one, other) => one.offset_ms - other.offset_ms);
  desk.beginning = firstFilm ? { film: firstFilm.id, at_ms: 0 } : null;
  tagging.roster = opening.roster;
  tagging.readOnly = opening.read_only;
  tagging.stated = opening.stated_question?.text ?? "";
  status.holds(tagging.hold.on);
  desk.take(opening.entries);
  tagging.drawMarks();
  const takeHeld = (/** @type {import("../outbox/store.js").Waiting[]} */ all) => {
    const held = all.filter((one) => one.game === game && one.book === book);
    tagging.take(held.filter((one) => !one.refused).map((one) => one.entry));
    const beyond = held.filter((one) => one.refused && one.entry.n > desk.book.next + MOST_AHEAD).map((one) => one.entry);
    if (beyond.length) { // refused for nothing but their number, as in a book that was ended
      const again = desk.renumbered(beyond);
      tagging.take(again);
      outbox.again(game, book, again);
    }
    status.outbox(outbox, desk.sequence.count);
  };
  takeHeld(await outbox.open(takeHeld));
  document.addEventListener("keydown", (event) => {
    if (tagging.other?.dialog.open) return;
    if (views.sheet.open) return void (event.key === KEY.sheet && views.sheet.close());
    const found = strokeOf(event);
    if (!found) return;
    event.preventDefault();
    tagging.press(found.stroke, found.repeat);
  });
  window.addEventListener("online", () => outbox.flush());
  window.addEventListener("beforeunload", (event) => outbox.atRisk && event.preventDefault());
  rooms(byId("foot"), byId("happened"));
  for (const button of BUTTONS) {
    button.addEventListener("pointerdown", (event) => event.preventDefault());
    button.addEventListener("click", () => press(button.dataset.key ?? ""));
  }
  tagging.draw();
  document.body.dataset.ready = "marks";
  performance.mark("ready for keys");
  setTimeout(() => { // after the first key can be pressed
    fillSheet(views.sheet, language, tagging.keys);
    nameSigns(views.sheet);
  });
  const at = Number(asked.get("at") ?? desk.sequence.rows.at(-1)?.at ?? 0);
  await openFilm(deck, opening.films, at);
  tagging.draw();
  document.body.dataset.ready = "film";
  const knowFilm = (/** @type {import("../film/onscreen.js").Film[]} */ films) => views.timeline.band.take(ownOf(films)).then(() => views.timeline.paint());
  void knowFilm(opening.films);
  watchFilms(game, opening.films, async (films) => {
    change.take(films);
    void knowFilm(films);
    if (!deck.onScreen.film) await openFilm(deck, films, at);
  });
  keepAsking(tagging, opening.seq);
}

/** Without other cameras' films. @param {import("../film/onscreen.js").Film[]} films */
const ownOf = (films) => films.filter((film) => !film.camera);

/** @param {FilmDeck} deck @param {import("../film/onscreen.js").Film[]} films @param {number} at game ms */
async function openFilm(deck, films, at) {
  status.withoutFilm(whyNone(ownOf(films)));
  if (!deck.films.length) return;
  try {
    await deck.goTo(Number.isFinite(at) ? at : 0);
  } catch (fault) {
    status.withoutFilm(`${deck.films[0].name}: ${fault instanceof Error ? fault.message : fault}.`);
  }
}

/** The problems that the server's fold sees, asked for once the keys rest. @param {Tagging} tagging */
function foldedOf(tagging) {
  let timer = 0;
  const now = async () => {
    const folded = await ask(urlOf(game, "folded.json", { book })).catch(() => null);
    if (folded) tagging.takeFolded(folded);
  };
  return { soon: () => (clearTimeout(timer), (timer = window.setTimeout(now, FOLDED_AFTER_MS))) };
}

/** @param {Tagging} tagging @param {number} since */
function keepAsking(tagging, since) {
  const askNow = async () => {
    if (document.hidden) return;
    const found = await ask(urlOf(game, "entries", { book, since, by, takes })).catch(() => null);
    if (!found) return;
    since = Math.max(since, found.seq);
    tagging.people?.take(found.people);
    tagging.take(found.entries.filter((/** @type {Entry} */ entry) => !tagging.desk.book.byId.has(entry.id)));
  };
  void askNow();
  window.setInterval(askNow, ASK_EVERY_MS);
}

ask(urlOf(game, "start.json", { book }))
  .then(begin)
  .catch((fault) => status.withoutFilm(`This page could not begin: ${fault.message}`));
