"""How long a game takes to tag: keys at a practised person's pace, in the real page, while the film plays.

The pace is the keystroke-level model's (`tests.whole.pace`); the keys are the typist's. First pass: everything that
`basic` asks but who fed a shot and which look a run was; those two are what the second look then leads to. Words of
notes are left out: a star is one key now, its words are writing.

What is real and what is modelled. The first pass of both sample games is typed into the page while their films play on
at their own speed, both at once, each key at the model's time and no sooner; the film is never held. Afterwards the
tables must be the truth's but for times, and how late the marks stand is compared with what the model foretold. The
second pass is typed into the same page, led by the page's own key from one open thing to the next; the film is put to
the decisive moment there instead of being watched, and the watching is charged by the model: a run is seen once, from
its beginning to its decisive moment, at full speed. A mind made up (M) is charged once for each thing answered.

"Work" is the model's plain sum: keys, minds made up, and four seconds of film seen again once a run. Seen at half speed
with the film standing still meanwhile, those four are eight; a pass with a replay of every run can then only be longer
than its film, and is printed without a goal: it is what the second look is for.

The excerpts hold nothing but play, with twice as many sets a minute as a whole game: their second pass is the worst
case, and seeing each of its runs once is a third of the excerpt by itself. A whole game's pace is told by the model
alone, beside them; it has no film, so its length is that of its marks, and its last key has no goal.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figure import Figure, at_most
from tests.bench.heavy import percentile
from tests.chromium import find_browser, launch_arguments
from tests.served import Served
from tests.whole.at_the_page import SHOW, open_book, press_stroke
from tests.whole.pace import K_S, M_S, REPLAYED_S, Timed, n_keys, replay_s, while_it_plays, with_holds, work_s
from tests.whole.truth_book import TruthBook, entries_of, plain, truth_book
from tests.whole.typist import Typed, type_marks

if TYPE_CHECKING:
    from tagger.season import Season

NAME = "tagging-time"
ABOUT = "two passes over the sample games at a practised person's pace, in the page while the film plays"
FILMED = ("g1", "g2")
UNFILMED = ("g3",)
LATER = ("feeder", "text")  # answers left to the second pass, or to writing
MOST_BEHIND_S = 5.0
STARRED = "starred"
BOOK = "paced"


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
    second : tuple of tuple
        What the second look leads to, in its order: the thing, and the strokes that answer it.
    length_s : float
        Of the film.
    n_runs : int
        Runs that a person would see again: all but those that only settled.
    """

    book: TruthBook
    first: tuple[Any, ...]
    typed: tuple[Typed, ...]
    second: tuple[tuple[dict[str, Any], tuple[str, ...]], ...]
    length_s: float
    n_runs: int

    @property
    def timed(self) -> list[Timed]:
        """The first pass in time."""
        return while_it_plays([mark.at_ms for mark in self.first], self.typed)

    @property
    def second_s(self) -> float:
        """The second pass by the model."""
        seen: set[tuple[int, int]] = set()
        total = 0.0
        for thing, strokes in self.second:
            span = (thing["from_ms"], thing["decisive_ms"])
            total += M_S + K_S * (n_keys("W") + sum(n_keys(stroke) for stroke in strokes))
            total += 0.0 if span in seen else (span[1] - span[0]) / 1000
            seen.add(span)
        return total


def passes(season: Season, game: str) -> Passes:
    """A game's truth at `basic`, cut into two passes."""
    from tagger.marks.fold import fold
    from tagger.screen.seen import worth

    language = season.language()
    whole = truth_book(season, game, "basic")
    kept = [_less(mark, ("text",)) for mark in whole.marks]
    ours = {row["id"] for row in whole.tables.rows["shots"] if row["team"] == "ours"}
    kept = [mark if mark.kind != "shot" or mark.id in ours else _less(mark, LATER) for mark in kept]
    first = [_less(mark, LATER) for mark in kept if mark.kind != "look"]
    things = worth(fold(entries_of(first), whole.facts))
    full = {mark.id: mark for mark in kept}
    run_of = {line.mark.id: line.run for line in whole.tables.log}
    looks = {run_of[mark.id]: mark for mark in kept if mark.kind == "look"}
    second = []
    for thing in things:
        if thing["question"] == "feeder":
            value = str(full[thing["of"]].answers["feeder"])
            second.append((thing, ("n",) if value == "none" else (*value, "Enter")))
        elif thing["why"] == STARRED:
            second.append((thing, ()))
        elif look := looks.get(run_of[thing["of"]]):
            second.append((thing, ("o", *_look(season, whole, run_of[thing["of"]], look))))
    return Passes(
        TruthBook(tuple(kept), fold(entries_of(kept), whole.facts), whole.facts),
        tuple(first),
        tuple(type_marks(language, [(mark.kind, mark.answers) for mark in first])),
        tuple(second),
        season.films(game)[0].duration_ms / 1000,
        sum(row["ended"] != "settled" for row in whole.tables.rows["runs"]),
    )


def _less(mark: Any, names: tuple[str, ...]) -> Any:
    return replace(mark, answers={name: value for name, value in mark.answers.items() if name not in names})


def _look(season: Season, book: TruthBook, run: str | None, look: Any) -> tuple[str, ...]:
    """The key of a look: its place in the set's list, or the letter of none."""
    language = season.language()
    (name,) = (row["set"] for row in book.tables.rows["runs"] if row["id"] == run)
    for key, item in zip(language.data["list_keys"], language.sets[name]["looks"], strict=False):
        if item["code"] == look.answers["look"]:
            return (str(key),)
    return ("n",)


def run() -> list[Figure]:
    """Both games in the page, then a whole one by the model."""
    from playwright.sync_api import sync_playwright

    from dashboard.demo import make_demo
    from tagger.season import Season

    figures: list[Figure] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        make_demo(Path(folder) / "demo")
        served = Served(Path(folder) / "demo")
        season = Season.open(Path(folder) / "demo")
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            games = {game: passes(season, game) for game in FILMED}
            pages = {game: browser.new_page(viewport={"width": 1366, "height": 768}) for game in FILMED}
            for game, page in pages.items():
                open_book(page, served.address, game, BOOK)
            late_s = type_while_it_plays(pages, games)
            for game, found in games.items():
                look_again(pages[game], season, game, found)
                figures += [*_figures(game, found), *_in_the_page(game, season, found, late_s[game])]
            for game in UNFILMED:
                figures += _figures(f"{game}, by the model alone", passes(season, game), filmed=False)
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


def look_again(page: Any, season: Season, game: str, found: Passes) -> None:
    """The second pass: the page leads, the film is put to the decisive moment, the answer is typed."""
    from tagger.screen.seen import worth

    page.wait_for_timeout(3000)  # the fold is asked for once the keys rest
    folded = season.folded(game, BOOK)
    places = {line.mark.id: place for place, line in enumerate(folded.log)}
    wanted = {mark.id: place for place, mark in enumerate(found.first)}
    keys = {(wanted[thing["of"]], thing["why"]): strokes for thing, strokes in found.second}
    things = worth(folded)
    if {(places[one["of"]], one["why"]) for one in things} != set(keys):
        raise AssertionError(f"{game}: the second look leads to {[one['why'] for one in things]}")
    for thing in things:
        strokes = keys[places[thing["of"]], thing["why"]]
        page.keyboard.press("Shift+W")
        told = page.locator("#told").inner_text()
        if not told.startswith(thing["why"]):
            raise AssertionError(f"{game}: “{thing['why']}” was to come, the page says “{told}”")
        page.keyboard.press("k")
        page.evaluate(SHOW, thing["decisive_ms"])
        for stroke in strokes:
            press_stroke(page, stroke)
    page.get_by_text("all on disk").wait_for()


def _figures(game: str, found: Passes, *, filmed: bool = True) -> list[Figure]:
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
        at_most(last, timed[-1].done_s / length, "×", 1) if filmed else Figure(last, timed[-1].done_s / length, "×"),
        Figure(f"{game}: behind what happens, median", statistics.median(behind), "s"),
        Figure(f"{game}: behind what happens, p90", percentile(behind, 0.9), "s"),
        Figure(f"{game}: behind what happens, most", max(behind), "s"),
        Figure(f"{game}: film held so as never to be {MOST_BEHIND_S:g} s behind", n_holds, "times"),
        Figure(f"{game}: first pass with those holds, of the film's length", held_s / length, "×"),
        Figure(
            f"{game}: first pass with every run again at half speed", (length + replay_s(found.n_runs)) / length, "×"
        ),
        Figure(f"{game}: second pass, things to look at", len(found.second), "things"),
        at_most(f"{game}: second pass, of the film's length", found.second_s / length, "×", 0.333),
    ]


def _in_the_page(game: str, season: Season, found: Passes, late_s: list[float]) -> list[Figure]:
    from tagger.marks.fold import fold

    entries, _ = season.journal.entries(game, BOOK)
    typed = fold(entries, found.book.facts)
    wanted = plain(found.book.tables, times=False)
    differing = [name for name, rows in plain(typed, times=False).items() if rows != wanted[name]]
    marks = [line.mark for line in typed.log if line.mark.kind != "look"]
    foretold = [one.keys_s[0] for one in found.timed]
    off = [abs(mark.at_ms / 1000 - at_s) for mark, at_s in zip(marks, foretold, strict=False)]
    return [
        Figure(f"{game}, in the page: keys later than the model's, p95", percentile(late_s, 0.95) * 1000, "ms"),
        Figure(f"{game}, in the page: marks off the model's frame, p95", percentile(off, 0.95) * 1000, "ms"),
        at_most(
            f"{game}, in the page: tables that are not the truth's, times apart ({', '.join(differing)})",
            len(differing),
            "tables",
            0,
        ),
    ]
