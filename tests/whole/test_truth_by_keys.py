"""A stretch of the sample film tagged with real key presses gives the tables that the stretch's truth gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from dashboard.demo import make_demo
from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.resolve import Mark, resolve
from tagger.season import Season
from tests.screen.house import press
from tests.served import Served
from tests.whole.typist import type_marks

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

GAME = "g1"
UNTIL_MS = 50_000
FRAME_MS = 40
POINTED_AT = ("place",)  # a place is pointed at with the mouse, not typed


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    make_demo(tmp_path / "demo")
    return tmp_path / "demo"


@pytest.fixture
def evening(folder: Path) -> Iterator[Served]:
    made = Served(folder)
    yield made
    made.stop()


def test_the_first_fifty_seconds_typed_are_the_truth(
    evening: Served, folder: Path, new_page: Callable[..., Page]
) -> None:
    season = Season.open(folder)
    true, film = _true_marks(season)
    assert len(true) > 25
    page = new_page(1440, 900)
    page.goto(f"{evening.address}tag/{GAME}?book=typist")
    page.wait_for_selector('body[data-ready="film"]')
    at_ms = 0
    for mark, typed in zip(true, type_marks(season.language(), [(one.kind, one.answers) for one in true]), strict=True):
        at_ms = _go_to(page, at_ms, mark.at_ms)
        press(page, " ".join(typed.strokes))
    page.get_by_text("all on disk").wait_for()
    entries, _ = season.journal.entries(GAME, "typist")
    season.close()

    facts = GameFacts(GAME, "typist", season.language(), (film,), frozenset(one.number for one in season.roster))
    typed_tables = fold(entries, facts)
    true_entries = [
        Entry(one.id, n, "truth", "mark", kind=one.kind, film=one.film, at_ms=one.at_ms, answers=one.answers)
        for n, one in enumerate(true, 1)
    ]
    assert [line.text for line in typed_tables.log] == [line.text for line in fold(true_entries, facts).log]
    assert _plain(typed_tables) == _plain(fold(true_entries, facts))


def _true_marks(season: Season) -> tuple[list[Mark], FilmSpan]:
    """The truth's marks up to a time, each at the frame nearest to it, in order."""
    film = season.films(GAME)[0]
    entries, _ = season.journal.entries(GAME, season.chosen_book(GAME))
    marks = {mark.id: mark for mark in resolve(entries)[0]}
    index = season.film_index(film.id)
    made = []
    for line in season.folded(GAME).log:
        mark = marks[line.mark.id]
        if mark.at_ms > UNTIL_MS:
            break
        answers = {name: value for name, value in mark.answers.items() if name not in POINTED_AT}
        made.append(replace(mark, at_ms=index.at_ms(index.nearest(mark.at_ms)), answers=answers))
    return made, FilmSpan(film.id, film.offset_ms, film.duration_ms)


def _go_to(page: Page, at_ms: int, wanted_ms: int) -> int:
    """Five seconds with the arrow, single frames with the point; wait for the picture before any mark."""
    jumps, rest = divmod(wanted_ms - at_ms, 5000)
    for place in range(jumps):
        page.keyboard.press("ArrowRight")
        _shown(page, at_ms + 5000 * (place + 1))
    for _ in range(rest // FRAME_MS):
        page.keyboard.press(".")
    _shown(page, wanted_ms)
    return wanted_ms


def _shown(page: Page, at_ms: int) -> None:
    said = f"{at_ms // 60_000}:{at_ms // 1000 % 60:02d}.{at_ms % 1000 // 10:02d}"
    page.wait_for_function("said => document.querySelector('.when .big').innerText === said", arg=said)


def _plain(folded: Folded) -> Mapping[str, list[dict[str, Any]]]:
    """Rows with ids replaced by the place of the row that they name, so that two books can be compared."""
    places: dict[str, str] = {}
    for name, rows in folded.rows.items():
        for place, row in enumerate(rows):
            places.setdefault(row["id"], f"{name} {place}")
    made = {}
    for name, rows in folded.rows.items():
        made[name] = [
            {column: places.get(value, value) if isinstance(value, str) else value for column, value in row.items()}
            | {"marks": len(row["marks"])}
            for row in rows
        ]
    return made
