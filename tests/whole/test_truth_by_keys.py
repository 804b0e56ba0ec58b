"""A stretch of the sample film tagged with real key presses gives the tables that the stretch's truth gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from dashboard.demo import make_demo
from tagger.marks.fold import fold
from tagger.season import Season
from tests.counts import cases
from tests.served import Served
from tests.whole.at_the_page import press_stroke
from tests.whole.truth_book import entries_of, plain, truth_book
from tests.whole.typist import type_marks

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

GAME = "g1"
UNTIL_MS = cases(30_000, many=60_000)
FRAME_MS = 40


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    make_demo(tmp_path / "demo")
    return tmp_path / "demo"


@pytest.fixture
def evening(folder: Path) -> Iterator[Served]:
    made = Served(folder)
    yield made
    made.stop()


def test_the_first_half_minute_typed_is_the_truth(evening: Served, folder: Path, new_page: Callable[..., Page]) -> None:
    season = Season.open(folder, make=True)
    book = truth_book(season, GAME, "whole", until_ms=UNTIL_MS)
    assert len(book.marks) > 10
    page = new_page(1440, 900)
    page.goto(f"{evening.address}tag/{GAME}?book=typist")
    page.wait_for_selector('body[data-ready="film"]')
    at_ms = 0
    typed = type_marks(season.texts.language(), [(one.kind, one.answers) for one in book.marks])
    for mark, keys in zip(book.marks, typed, strict=True):
        at_ms = _go_to(page, at_ms, mark.at_ms)
        for stroke in keys.strokes:
            press_stroke(page, stroke)
    page.get_by_text("all on disk").wait_for()
    entries, _ = season.journal.entries(GAME, "typist")
    season.close()
    typed_tables = fold(entries, book.facts)
    assert [line.text for line in typed_tables.log] == [
        line.text for line in fold(entries_of(book.marks), book.facts).log
    ]
    assert plain(typed_tables) == plain(book.tables)


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
