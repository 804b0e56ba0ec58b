"""The staff report: the pages' numbers in one file that loads nothing and needs no program."""

from __future__ import annotations

import re
from pathlib import Path

from dashboard.cli import main
from dashboard.report import report
from tagger.season import Season


def test_the_report_holds_the_pages_numbers_and_nothing_that_needs_the_program(season: Season) -> None:
    text = report(season, day="2026-11-25").text
    assert "What for the next practice?</h2>" in text
    for heading in ("3 of 4 runs brought a shot.", "Lantern", "Was the job done?"):
        assert re.search(f"<h1[^>]*>{re.escape(heading)}", text), heading
    assert "Written on 25 November 2026." in text and "keep it among the staff" in text
    for gone in ("<button", "<form", "<a ", "<script", "data-ids", "http", "url(", "On this page"):
        assert gone not in text, gone


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
