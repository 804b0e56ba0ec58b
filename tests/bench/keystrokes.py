"""How many keys a game takes: three sample games, typed from their truth into the real page.

Two are the excerpts with film. They hold a dozen runs of a class, or one; so a whole game is typed as well, onto an
hour of film made for it, and the goals are for the medians over all three. The excerpts alone stand beside them.

The keys are those of `tests.whole.typist`: the shortest way that the page's own rules leave, with offers taken. Each is
a real press in Chromium; the film is put on each mark's frame instead of waiting until it has played there, so film
keys are not among them. Then the page's journal is folded, and its tables must be the truth's, times included: nothing
is counted that was not tagged. How presses are counted and classed says `tests.whole.keycount`.

Levels are the vocabulary's. "whole" asks who filled each role of a set, too; "in full" is whole without that, since the
five change with the line and not with the run.

Corrections are undos, removals, re-timings and answers given anew. The typist makes no slips, so any would mean that
the page's order of questions leads a right answer astray; what a person's slips cost is not measured here.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figure import Figure, at_most
from tests.bench.heavy import percentile
from tests.bench.whole_game import filmed
from tests.chromium import find_browser, launch_arguments
from tests.served import Served
from tests.whole.at_the_page import open_book, type_book
from tests.whole.keycount import CLASSES, Counted, count, shares
from tests.whole.truth_book import TruthBook, plain, truth_book
from tests.whole.typist import type_marks

if TYPE_CHECKING:
    from tagger.marks.entries import Entry
    from tagger.season import Season

NAME = "keystrokes"
ABOUT = "keys per possession and per game, three sample games typed from their truth into the real page"
EXCERPTS = ("g1", "g2")
WHOLE_GAME = "g3"  # has no film of its own
LEVELS = ("basic", "main", "in full", "whole")
MOST_KEYS = {("basic", "clean"): 9, ("in full", "clean"): 16, ("basic", "messy"): 24}
"""Goals for the median. A messy possession is two runs and more, so its goal is the first pass's."""
NAMES = {
    "clean": "clean run",
    "ended": "clean run to a shot or a lost ball",
    "messy": "messy possession",
    "against": "possession against",
}


def run() -> list[Figure]:
    """Type each game at each level; then count a whole period."""
    from playwright.sync_api import sync_playwright

    from dashboard.demo import make_demo
    from tagger.season import Season

    figures: list[Figure] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        make_demo(Path(folder) / "demo")
        season = Season.open(Path(folder) / "demo")
        games = (*EXCERPTS, filmed(season, WHOLE_GAME, Path(folder)))
        served = Served(Path(folder) / "demo")
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            for level in LEVELS:
                counted, corrections, refused, differing = [], 0, 0, 0
                for game in games:
                    book = book_at(season, game, level)
                    found, entries, told = _typed(browser, served.address, season, book, f"typed-{level[:2]}")
                    counted.append(found)
                    corrections += n_corrections(entries)
                    refused += len(told)
                    differing += _differing(book, entries)
                figures += [
                    *_figures(level, games, counted),
                    at_most(f"{level}: corrections", corrections, "entries", 0),
                    at_most(f"{level}: keys refused", refused, "keys", 0),
                    at_most(f"{level}: tables that are not the truth's", differing, "tables", 0),
                ]
        finally:
            browser.close()
            served.stop()
            season.close()
    return figures


def book_at(season: Season, game: str, level: str) -> TruthBook:
    """A game's truth at one of `LEVELS`."""
    full = level == "in full"
    return truth_book(season, game, "whole" if full else level, without_roles=full)


def n_corrections(entries: Iterable[Entry]) -> int:
    """Entries that take something back, and answers that replace one."""
    given: Counter[tuple[str, str]] = Counter()
    n = 0
    for one in entries:
        n += one.does not in ("mark", "answer")
        given.update((one.of or one.id, question) for question in one.answers)
    return n + sum(times - 1 for times in given.values())


def _typed(
    browser: Any, address: str, season: Season, book: TruthBook, name: str
) -> tuple[Counted, list[Entry], list[str]]:
    typed = type_marks(season.texts.language(), [(one.kind, one.answers) for one in book.marks])
    page = browser.new_page(viewport={"width": 1366, "height": 768})
    open_book(page, address, book.facts.game, name)
    told = type_book(page, book.marks, typed)
    page.close()
    entries, _ = season.journal.entries(book.facts.game, name)
    return count(book.tables, typed), list(entries), told


def _differing(book: TruthBook, entries: list[Entry]) -> int:
    from tagger.marks.fold import fold

    typed = plain(fold(entries, replace(book.facts, book="typist")))
    return sum(typed[table] != rows for table, rows in plain(book.tables).items())


def _figures(level: str, games: tuple[str, ...], counted: list[Counted]) -> list[Figure]:
    figures = []
    for name in CLASSES:
        found = [float(n) for n in shares(counted, name)]
        what = f"{level}: {NAMES[name]} ({len(found)})"
        middle = percentile(found, 0.5)
        most = MOST_KEYS.get((level, name))
        figures += [
            Figure(f"{what}, p50", middle, "keys") if most is None else at_most(f"{what}, p50", middle, "keys", most),
            Figure(f"{what}, p90", percentile(found, 0.9), "keys"),
        ]
        short = [float(n) for n in shares(counted[: len(EXCERPTS)], name)]
        figures.append(
            Figure(f"{level}: {NAMES[name]} ({len(short)}), the excerpts alone, p50", percentile(short, 0.5), "keys")
        )
    for game, one in zip(games, counted, strict=True):
        figures.append(Figure(f"{level}: {game}, all keys", one.total, "keys"))
    kinds: Counter[str] = Counter()
    for one in counted:
        kinds.update(one.by_kind)
    most_of = ", ".join(f"{kind} {n}" for kind, n in kinds.most_common(6))
    figures += [
        Figure(f"{level}: all, of them with Shift held", sum(one.n_shift for one in counted), "keys"),
        Figure(f"{level}: all, letters of notes beside them", sum(one.n_written for one in counted), "letters"),
        Figure(f"{level}: all, most by kind: {most_of}", sum(kinds.values()), "keys"),
    ]
    return figures
