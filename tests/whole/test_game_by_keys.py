"""A whole sample game typed with real key presses at full detail gives the tables of its truth, and no key is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from dashboard.demo import make_demo
from tagger.marks.fold import fold
from tagger.season import Season
from tests.served import Served
from tests.whole.at_the_page import open_book, type_book
from tests.whole.truth_book import plain, truth_book
from tests.whole.typist import type_marks

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    make_demo(tmp_path / "demo")
    return tmp_path / "demo"


@pytest.fixture
def evening(folder: Path) -> Iterator[Served]:
    made = Served(folder)
    yield made
    made.stop()


def test_a_whole_game_typed_at_full_detail_is_its_truth(
    evening: Served, folder: Path, new_page: Callable[..., Page]
) -> None:
    season = Season.open(folder, make=True)
    book = truth_book(season, "g2", "whole")
    typed = type_marks(season.texts.language(), [(one.kind, one.answers) for one in book.marks])
    page = new_page(1440, 900)
    open_book(page, evening.address, "g2", "typist")
    assert type_book(page, book.marks, typed) == []
    entries, _ = season.journal.entries("g2", "typist")
    season.close()
    assert {one.does for one in entries} == {"mark", "answer"}
    folded = fold(entries, book.facts)
    assert [(one.mark.kind, one.game_ms) for one in folded.log] == [(one.kind, one.at_ms) for one in book.marks]
    assert plain(folded) == plain(book.tables)
