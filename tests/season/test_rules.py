"""What a season's settings change in its tables: clock, penalties, reaction offsets, lines, keys."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tagger.season import Season
from tagger.shelf.films import NewFilm
from tests.season.test_season import mark

HEAD = 'id = "s1"\nteam = "Saltmarsh Herons"\n'


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Season]:
    (tmp_path / "season.toml").write_text(HEAD, encoding="utf-8")
    made = Season.open(tmp_path, make=True)
    made.games.add("g1", "2026-03-14", "Quarry Hill", True)
    made.shelf.enter("g1", [NewFilm("fa", "a.mp4", 600_000)])
    yield made
    made.close()


def enter(season: Season, *marks: dict[str, Any]) -> None:
    season.journal.add("g1", "coach", list(marks))


def settings(season: Season, text: str) -> None:
    (season.folder / "season.toml").write_text(HEAD + text, encoding="utf-8")


def test_stop_or_running_time_is_the_seasons(season: Season) -> None:
    enter(
        season,
        mark(1, "period_start", 0),
        mark(2, "possession", 10_000, team="ours"),
        mark(3, "whistle", 20_000, to="theirs"),
        mark(4, "possession", 50_000, team="theirs"),
    )
    assert season.tagged.tables()["possessions"]["clock_s"].isna().all(), (
        "with a stop clock and no reading nobody knows"
    )
    settings(season, '[periods]\nminutes = 12\nclock = "running"\n')
    assert season.tagged.tables()["possessions"]["clock_s"].tolist() == [710, 670]
    settings(season, '[periods]\nminutes = 12\nclock = "stop"\n')
    enter(season, mark(5, "clock", 5_000, clock=715))
    assert season.tagged.tables()["possessions"]["clock_s"].tolist() == [710, 700], (
        "from the whistle to the next play it stood"
    )


def test_what_ends_a_penalty_is_the_seasons(season: Season) -> None:
    enter(
        season,
        mark(1, "period_start", 0),
        {**mark(2, "penalty", 1_000), "answers": {"team": "theirs", "kind": "minor", "delayed": "no"}},
        mark(3, "possession", 2_000, team="ours"),
        mark(4, "shot", 9_000, result="goal"),
        mark(5, "possession", 12_000, team="ours"),
    )
    assert season.tagged.tables()["possessions"]["strength"].tolist() == ["5v4", "5v5"]
    settings(season, "[penalties]\ngoals_end_minor = 0\n")
    assert season.tagged.tables()["possessions"]["strength"].tolist() == ["5v4", "5v4"]


def test_a_reaction_offset_moves_what_counts_and_leaves_the_frame(season: Season) -> None:
    enter(
        season,
        mark(1, "period_start", 0),
        mark(2, "possession", 2_000, team="ours"),
        {**mark(3, "shot", 9_000, result="goal"), "speed": 1},
        {**mark(4, "note", 9_500, text="late"), "speed": 1},
    )
    assert season.tagged.tables()["shots"]["at_ms"].tolist() == [9_000]
    settings(season, "[reaction]\nshot = 350\n")
    assert season.tagged.tables()["shots"]["at_ms"].tolist() == [8_650]
    assert season.tagged.tables()["notes"]["at_ms"].tolist() == [9_500]
    assert {line.mark.at_ms for line in season.tagged.folded("g1").log if line.mark.kind == "shot"} == {9_000}


def test_who_is_on_the_floor_is_the_seasons_lines(season: Season) -> None:
    enter(season, mark(1, "period_start", 0), mark(2, "line", 1_000, team="ours", line="reeds", out="8", **{"in": "9"}))
    assert "unknown_answer" in [problem.code for problem in season.tagged.folded("g1").problems]
    lines = '[[line]]\ncode = "reeds"\nname = "Reeds"\nkey = "a"\nplayers = ["8", "00"]\n'
    (season.folder / "lines.toml").write_text(lines, encoding="utf-8")
    assert season.tagged.tables()["lines"]["players"].tolist() == ["00 9"]
    assert season.tagged.folded("g1").problems == ()
