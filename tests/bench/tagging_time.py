"""How long a game takes to tag: keys at a practised person's pace, in the real page, while the film plays.

The pace is the keystroke-level model's (`tests.whole.pace`); the keys are the typist's. First pass: everything that
`basic` asks but who fed a shot and which look a run was; those two are what the second look then leads to. Words of
notes are left out: a star is one key now, its words are writing.

First pass. Of both excerpts it is typed into the page while their films play on at their own speed, both at once, each
key at the model's time and no sooner; the film is never held. Afterwards the tables must be the truth's but for times.
They are cut out of play, and what happens in their last seconds can only be typed after them: when the last key comes
has a goal for a whole game, which ends with its last whistle.
"Work" is the model's plain sum: keys, minds made up, and four seconds of film seen again once a run. Seen at half speed
with the film standing still meanwhile, those four are eight; a pass with a replay of every run can then only be longer
than its film, and is printed without a goal: it is what the second look is for.

Second pass. The page leads, and an answer leads on. Each run is watched once, in the page, as the page shows it: its
last four seconds at full speed. Then the mind is made up (M), and the answers about that run are typed, K a key. M is
once a run seen: a look and a feeder that follow on each other there are told of the same four seconds (the model's own
rule: of keys that belong together, all Ms but the first fall away; from memory). With an M at every answer is printed
beside. Of the excerpts all this is waited for by the clock, so that the page's seeking counts too.

The excerpts hold nothing but play, with more than twice as many things to ask a minute as a whole game. So a whole game
is typed as well: its truth onto an hour of film made for it. Its second pass is typed through the page without waiting,
and its time is the model's.
"""

from __future__ import annotations

import itertools
import statistics
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figure import Figure, at_most
from tests.bench.heavy import percentile
from tests.bench.whole_game import filmed
from tests.chromium import find_browser, launch_arguments
from tests.served import Served
from tests.whole.at_the_page import open_book, press_stroke, type_book
from tests.whole.pace import K_S, M_S, REPLAYED_S, Timed, n_keys, replay_s, while_it_plays, with_holds, work_s
from tests.whole.truth_book import TruthBook, entries_of, plain, truth_book
from tests.whole.typist import Typed, type_marks

if TYPE_CHECKING:
    from tagger.season import Season

NAME = "tagging-time"
ABOUT = "two passes over the sample games at a practised person's pace, in the page while the film plays"
EXCERPTS = ("g1", "g2")
WHOLE_GAME = "g3"  # has no film of its own
LATER = ("feeder", "text")  # answers left to the second pass, or to writing
MOST_BEHIND_S = 5.0
SECOND_SHARE = 1 / 3  # of the film's length
BOOK = "paced"
# Resolves when the film has gone over to a stretch's beginning and then played to its decisive moment.
WATCHED = """([fromMs, decisiveMs]) => new Promise((done, failed) => {
  const video = document.getElementById("video");
  const end = performance.now() + 20000;
  let begun = false;
  const look = () => {
    const ms = video.currentTime * 1000;
    begun ||= Math.abs(ms - fromMs) < 400;
    if (begun && ms >= decisiveMs - 40) return done();
    if (performance.now() > end) return failed(new Error(`at ${ms} ms, to be seen ${fromMs} to ${decisiveMs}`));
    setTimeout(look, 4);
  };
  look();
})"""


@dataclass(frozen=True)
class Seen:
    """One stretch of the second pass, and what is answered about it.

    Attributes
    ----------
    things : tuple of dict
        As `tagger.screen.second_look` tells them.
    strokes : tuple of tuple of str
        What answers each.
    """

    things: tuple[dict[str, Any], ...]
    strokes: tuple[tuple[str, ...], ...]

    @property
    def watched_s(self) -> float:
        """How long it is seen."""
        return (self.things[0]["decisive_ms"] - self.things[0]["from_ms"]) / 1000

    @property
    def keys_s(self) -> float:
        """What its keys take."""
        return K_S * sum(n_keys(stroke) for one in self.strokes for stroke in one)


@dataclass(frozen=True)
class Passes:
    """A game in two passes.

    Attributes
    ----------
    book : TruthBook
        Everything that both passes say.
    first : tuple of Mark
        The first pass's marks.
    typed : tuple of Typed
        Their strokes.
    second : tuple of Seen
        What the second look leads to, in its order.
    length_s : float
        Of the film.
    n_runs : int
        Runs that a person would see again: all but those that only settled.
    """

    book: TruthBook
    first: tuple[Any, ...]
    typed: tuple[Typed, ...]
    second: tuple[Seen, ...]
    length_s: float
    n_runs: int

    @property
    def timed(self) -> list[Timed]:
        """The first pass in time."""
        return while_it_plays([mark.at_ms for mark in self.first], self.typed)

    def second_s(self, *, every_answer: bool = False) -> float:
        """The second pass by the model, from the key that begins it; a mind made up once a run, or at every answer."""
        minds = sum(1 if not every_answer else len(one.things) for one in self.second)
        return K_S * n_keys("W") + M_S * minds + sum(one.watched_s + one.keys_s for one in self.second)


def passes(season: Season, game: str) -> Passes:
    """A game's truth at `basic`, cut into two passes."""
    from tagger.marks.fold import fold
    from tagger.screen.unanswered import unanswered

    language = season.texts.language()
    whole = truth_book(season, game, "basic")
    kept = [_less(mark, ("text",)) for mark in whole.marks]
    first = [_less(mark, LATER) for mark in kept if mark.kind != "look"]
    full = {mark.id: mark for mark in kept}
    run_of = {line.mark.id: line.run for line in whole.tables.log}
    looks = {run_of[mark.id]: mark for mark in kept if mark.kind == "look"}

    def strokes(thing: dict[str, Any]) -> tuple[str, ...]:
        if thing["question"] == "feeder":
            value = str(full[thing["of"]].answers["feeder"])
            return ("n",) if value == "none" else (*value, "Enter")
        if thing["kind"] == "look" and (look := looks.get(run_of[thing["of"]])):
            return _look(season, whole, run_of[thing["of"]], look)
        return ("W",)  # seen, or not known: on to the next

    things = [one for one in unanswered(fold(entries_of(first), whole.facts), language) if one["kind"] != "grade"]
    stretches = itertools.groupby(things, key=lambda one: (one["from_ms"], one["decisive_ms"]))
    return Passes(
        TruthBook(tuple(kept), fold(entries_of(kept), whole.facts), whole.facts),
        tuple(first),
        tuple(type_marks(language, [(mark.kind, mark.answers) for mark in first])),
        tuple(Seen(tuple(its), tuple(strokes(one) for one in its)) for its in (list(group) for _, group in stretches)),
        season.shelf.films(game)[0].duration_ms / 1000,
        sum(row["ended"] != "settled" for row in whole.tables.rows["runs"]),
    )


def _less(mark: Any, names: tuple[str, ...]) -> Any:
    return replace(mark, answers={name: value for name, value in mark.answers.items() if name not in names})


def _look(season: Season, book: TruthBook, run: str | None, look: Any) -> tuple[str, ...]:
    """The key of a look: its place in the set's list, or the letter of none."""
    language = season.texts.language()
    (name,) = (row["set"] for row in book.tables.rows["runs"] if row["id"] == run)
    for key, item in zip(language.data["list_keys"], language.sets[name]["looks"], strict=False):
        if item["code"] == look.answers["look"]:
            return (str(key),)
    return ("n",)


def run() -> list[Figure]:
    """Both excerpts in the page by the clock, then a whole game."""
    from playwright.sync_api import sync_playwright

    from dashboard.demo import make_demo
    from tagger.season import Season

    figures: list[Figure] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        make_demo(Path(folder) / "demo")
        season = Season.open(Path(folder) / "demo")
        whole = filmed(season, WHOLE_GAME, Path(folder))
        served = Served(Path(folder) / "demo")
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            games = {game: passes(season, game) for game in EXCERPTS}
            pages = {game: browser.new_page(viewport={"width": 1366, "height": 768}) for game in EXCERPTS}
            for game, page in pages.items():
                open_book(page, served.address, game, BOOK)
            late_s = type_while_it_plays(pages, games)
            for game, found in games.items():
                took_s = look_again(pages[game], _typed(season, game, found), found, waiting=True)
                figures += [*_first(game, found), *_second(game, found, took_s)]
                figures += [*_in_the_page(game, season, found), *_on_time(game, season, found, late_s[game])]
                pages[game].close()
            found = passes(season, whole)
            page = browser.new_page(viewport={"width": 1366, "height": 768})
            open_book(page, served.address, whole, BOOK)
            if told := type_book(page, found.first, found.typed):
                raise AssertionError(f"{whole}: the page refused {told}")
            look_again(page, _typed(season, whole, found), found, waiting=False)
            name = "a whole game"
            figures += [
                *_first(name, found, whole=True),
                *_second(name, found),
                *_in_the_page(name, season, found, whole),
            ]
        finally:
            browser.close()
            served.stop()
            season.close()
    return figures


def type_while_it_plays(pages: dict[str, Any], games: dict[str, Passes]) -> dict[str, list[float]]:
    """The first passes, all films playing; how late each key came against the model, in seconds, by game."""
    due = sorted(
        (at_s, place, game, stroke)
        for game, found in games.items()
        for place, (timed, one) in enumerate(zip(found.timed, found.typed, strict=True))
        for at_s, stroke in zip(timed.keys_s, one.strokes, strict=True)
    )
    began = {}
    for game, page in pages.items():
        page.keyboard.press(" ")
        page.wait_for_function("() => document.getElementById('video').currentTime > 0")
        began[game] = time.perf_counter() - page.evaluate("() => document.getElementById('video').currentTime")
    late: dict[str, list[float]] = {game: [] for game in pages}
    for at_s, _, game, stroke in due:
        time.sleep(max(0.0, began[game] + at_s - time.perf_counter()))
        press_stroke(pages[game], stroke)
        late[game].append(time.perf_counter() - began[game] - at_s)
    for page in pages.values():
        page.keyboard.press("Escape")
        page.keyboard.press("k")
        page.get_by_text("all on disk").wait_for()
    return late


def look_again(page: Any, folded: Any, found: Passes, *, waiting: bool) -> float:
    """The second pass: the page leads, each run is watched as it is shown there, the answers are typed.

    Parameters
    ----------
    page : Page
        After the first pass.
    folded : Folded
        What was typed in it.
    found : Passes
        What it is to lead to.
    waiting : bool
        Watch the film and keep the model's pace; else every key as soon as the page takes it.

    Returns
    -------
    float
        Seconds from the key that begins it to the last answer's last.
    """
    from tagger.screen.unanswered import unanswered

    left = sum(len(one.things) for one in found.second)
    counted = "text => document.getElementById('unanswered').textContent === text"
    page.wait_for_function(counted, arg=f"{left} second looks ⇧W")  # the fold is asked for once the keys rest
    marked = [
        one for one in unanswered(folded, found.book.facts.language) if one["kind"] != "grade"
    ]  # as late as the marks are
    begun = time.perf_counter()
    _press(page, "W", waiting)
    for seen in found.second:
        its, marked = marked[: len(seen.things)], marked[len(seen.things) :]
        if waiting:
            page.evaluate(WATCHED, [its[0]["from_ms"], its[0]["decisive_ms"]])
            time.sleep(M_S)
        for thing, strokes in zip(seen.things, seen.strokes, strict=True):
            told = page.locator("#told").inner_text()
            if f"{thing['why']}" not in told:
                raise AssertionError(f"“{thing['why']}” was to come, the page says “{told}”")
            for stroke in strokes:
                _press(page, stroke, waiting)
    took_s = time.perf_counter() - begun
    page.keyboard.press("k")
    page.get_by_text("all on disk").wait_for()
    return took_s


def _press(page: Any, stroke: str, waiting: bool) -> None:
    if waiting:
        time.sleep(K_S * n_keys(stroke))
    press_stroke(page, stroke)


def _first(game: str, found: Passes, *, whole: bool = False) -> list[Figure]:
    timed = found.timed
    behind = [one.behind_s for one in timed]
    work = work_s(found.typed)
    last = f"{game}: first pass, film playing on, last key, of the film's length"
    length = found.length_s
    held_s, n_holds = with_holds([mark.at_ms for mark in found.first], found.typed, length, MOST_BEHIND_S)
    return [
        Figure(f"{game}: film", length, "s"),
        Figure(f"{game}: first pass, marks", len(found.first), "marks"),
        Figure(f"{game}: first pass, work without replays", work, "s"),
        at_most(
            f"{game}: first pass, work with 4 s again a run ({found.n_runs}), of the film's length",
            (work + found.n_runs * REPLAYED_S) / length,
            "×",
            1,
        ),
        at_most(last, timed[-1].done_s / length, "×", 1) if whole else Figure(last, timed[-1].done_s / length, "×"),
        Figure(f"{game}: behind what happens, median", statistics.median(behind), "s"),
        Figure(f"{game}: behind what happens, p90", percentile(behind, 0.9), "s"),
        Figure(f"{game}: behind what happens, most", max(behind), "s"),
        Figure(f"{game}: film held so as never to be {MOST_BEHIND_S:g} s behind", n_holds, "times"),
        Figure(f"{game}: first pass with those holds, of the film's length", held_s / length, "×"),
        Figure(
            f"{game}: first pass with every run again at half speed", (length + replay_s(found.n_runs)) / length, "×"
        ),
    ]


def _second(game: str, found: Passes, took_s: float | None = None) -> list[Figure]:
    name = f"{game}: second pass"
    n_things = sum(len(one.things) for one in found.second)
    length = found.length_s
    figures = [
        Figure(f"{name}, things asked, a minute of film", n_things / length * 60, "things"),
        Figure(f"{name}, runs seen", len(found.second), "runs"),
        Figure(
            f"{name}, watching alone, of the film's length", sum(one.watched_s for one in found.second) / length, "×"
        ),
        at_most(f"{name}, by the model, of the film's length", found.second_s() / length, "×", SECOND_SHARE),
        Figure(f"{name}, with a mind made up at every answer", found.second_s(every_answer=True) / length, "×"),
    ]
    if took_s is not None:
        figures.append(at_most(f"{name}, in the page by the clock", took_s / length, "×", SECOND_SHARE))
    return figures


def _in_the_page(name: str, season: Season, found: Passes, game: str = "") -> list[Figure]:
    wanted = plain(found.book.tables, times=False)
    differing = [
        one for one, rows in plain(_typed(season, game or name, found), times=False).items() if rows != wanted[one]
    ]
    return [
        at_most(
            f"{name}, in the page: tables that are not the truth's, times apart ({', '.join(differing)})",
            len(differing),
            "tables",
            0,
        )
    ]


def _on_time(game: str, season: Season, found: Passes, late_s: list[float]) -> list[Figure]:
    marks = [line.mark for line in _typed(season, game, found).log if line.mark.kind != "look"]
    foretold = [one.keys_s[0] for one in found.timed]
    off = [abs(mark.at_ms / 1000 - at_s) for mark, at_s in zip(marks, foretold, strict=False)]
    return [
        Figure(f"{game}, in the page: keys later than the model's, p95", percentile(late_s, 0.95) * 1000, "ms"),
        Figure(f"{game}, in the page: marks off the model's frame, p95", percentile(off, 0.95) * 1000, "ms"),
    ]


def _typed(season: Season, game: str, found: Passes) -> Any:
    from tagger.marks.fold import fold

    entries, _ = season.journal.entries(game, BOOK)
    return fold(entries, found.book.facts)
