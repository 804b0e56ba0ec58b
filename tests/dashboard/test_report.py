"""The staff report: the pages' numbers in one file that loads nothing and needs no program."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from dashboard.cli import main
from dashboard.report import report
from tagger.season import Season

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_the_report_holds_the_pages_numbers_and_nothing_that_needs_the_program(season: Season) -> None:
    text = report(season, day="2026-11-25").text
    assert "What for the next practice?</h2>" in text
    for heading in ("3 of 4 runs brought a shot.", "Lantern"):
        assert re.search(f"<h1[^>]*>{re.escape(heading)}", text), heading
    assert "written on 25 November 2026." in text and "keep it among the staff" in text
    for gone in ("<button", "<form", "<a ", "<script", "data-ids", "http", "On this page", "<details", "<summary"):
        assert gone not in text, gone
    assert re.findall(r"(?i)[^<>]*\b(?:click|press)[^<>]*", re.sub(r"(?s)<style>.*?</style>", "", text)) == []
    assert {found[:9] for found in re.findall(r'url\("?([^)]*)', text)} == {"data:font"}


def test_what_stands_on_no_sheet_is_said_and_what_is_folded_away_stands_as_its_answer(season: Season) -> None:
    text = report(season).text
    assert "In the program alone: Question, All games, Man-up, Shot clock," in text and "Playbook." in text
    assert re.search(r'<p class="in-short"><b>What else came of them\?</b> \d', text)
    assert "And by the possession?" not in text and "From which field?" not in text


def test_sheets_come_apart_so_each_says_whose_it_is_and_of_what(season: Season) -> None:
    above = re.findall(r'<p class="above">(.*?)</p>', report(season, day="2026-11-25").text)
    assert len(above) > 6
    assert all(
        line.startswith("<b>Saltmarsh Herons") and line.endswith("written on 25 November 2026") for line in above
    )
    opponents = {found for line in above if "Opponents" in line for found in re.findall(r"against ([\w ]+),", line)}
    assert opponents == {game.opponent for game in season.games.all()}


@pytest.mark.browser
def test_a_game_is_two_pages_and_of_the_season_each_sheet_is_one_on_both_papers(
    season: Season, new_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = new_page()
    game, whole = report(season, season.games.game("g1")).text, report(season).text
    n_sheets = len(re.findall('<section class="sheet', whole))
    for text, n_pages in ((game, 2), (whole, n_sheets)):
        page.set_content(text)
        assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px Atkinson Hyperlegible'))")
        for paper in ("A4", "Letter"):
            assert pages_of(page.pdf(format=paper)) == n_pages, paper


def pages_of(pdf: bytes) -> int:
    """How many pages a printed document has: its page objects, which Chromium leaves uncompressed."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_a_game_s_report_tells_that_game_alone(season: Season) -> None:
    text = report(season, season.games.game("g2")).text
    assert "Millrace" in text and "31 shot: wide" in text and "7 shot: wide" not in text


def test_the_command_writes_one_file_and_leaves_none_half_done(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    assert main(["report", str(folder), "--game", "Quarry Hill", "--to", str(out / "report.html")]) == 0
    assert [path.name for path in out.iterdir()] == ["report.html"]
    assert main(["report", str(folder), "--game", "Nobody", "--to", str(out / "other.html")]) == 1
    assert [path.name for path in out.iterdir()] == ["report.html"]
