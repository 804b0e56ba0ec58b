"""A small season to show: one game with film, one of which there are only marks; every mark at a known time."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from dashboard.start import start_season
from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.work.bring import bring_film

CLONE = Path(__file__).resolve().parents[2]
UNFILMED = "m-g2"
FILMED_MARKS: tuple[tuple[int, str, dict[str, Any]], ...] = (
    (0, "period_start", {"number": "1"}),
    (1000, "possession", {"team": "ours"}),
    (4000, "settled", {}),
    (6000, "set", {"set": "lantern", "side": "left"}),
    (7000, "screen", {"setter": "22", "user": "14", "free": "user"}),
    (9000, "shot", {"shooter": "14", "result": "saved", "recovered": "yes", "feeder": "22"}),
    (11000, "shot", {"shooter": "7", "result": "wide", "recovered": "no"}),
    (12000, "possession", {"team": "theirs"}),
    (15000, "family", {"family": "two_man"}),
    (18000, "shot", {"shooter": "9", "result": "goal"}),
    (22000, "possession", {"team": "ours"}),
    (24000, "settled", {}),
    (25000, "set", {"set": "lantern", "side": "right"}),
    (27000, "turnover", {"player": "14", "kind": "bad_pass"}),
    (28000, "possession", {"team": "theirs"}),
    (33000, "shot", {"shooter": "9", "result": "saved", "recovered": "no"}),
    (39000, "period_end", {}),
)
OTHER_MARKS: tuple[tuple[int, str, dict[str, Any]], ...] = (
    (0, "period_start", {"number": "1"}),
    (1000, "possession", {"team": "ours"}),
    (4000, "settled", {}),
    (6000, "set", {"set": "lantern", "side": "left"}),
    (9000, "shot", {"shooter": "14", "result": "goal", "feeder": "none"}),
    (20000, "possession", {"team": "ours"}),
    (23000, "settled", {}),
    (25000, "set", {"set": "keel", "side": "left"}),
    (29000, "shot", {"shooter": "31", "result": "wide", "recovered": "no"}),
    (50000, "period_end", {}),
)


def texts(folder: Path) -> Path:
    """A season folder with the sample's texts and nothing else."""
    shutil.copytree(CLONE / "sample_data" / "season", folder, ignore=shutil.ignore_patterns("games.json"))
    return folder


def entry(game: str, place: int, film: str, at_ms: int, kind: str, answers: dict[str, Any]) -> dict[str, Any]:
    """A mark's entry; the place-th of its book, from 1."""
    return {
        "v": 1,
        "id": f"{game}-{place}",
        "n": place,
        "by": "coach",
        "wall": "",
        "does": "mark",
        "kind": kind,
        "film": film,
        "at_ms": at_ms,
        "answers": answers,
    }


def tag(season: Season, game: str, film: str, marks: tuple[tuple[int, str, dict[str, Any]], ...]) -> None:
    """Put marks into a game's first book."""
    raw = [entry(game, place, film, *mark) for place, mark in enumerate(marks, 1)]
    added = season.journal.add(game, "coach", raw)
    assert [one.state for one in added] == ["stored"] * len(marks), added


def build(folder: Path, film: Path) -> Path:
    """The whole season: g1 against Quarry Hill with film, g2 at Millrace without."""
    season = Season.open(texts(folder), make=True)
    try:
        season.games.add("g1", "2026-03-14", "Quarry Hill", True)
        season.games.add("g2", "2026-03-21", "Millrace", False)
        [held] = bring_film(season, "g1", [film])
        tag(season, "g1", held.id, FILMED_MARKS)
        season.shelf.enter("g2", [NewFilm(id=UNFILMED, name="Millrace, not filmed", duration_ms=60_000)])
        tag(season, "g2", UNFILMED, OTHER_MARKS)
    finally:
        season.close()
    return folder


def unfilmed(folder: Path) -> Path:
    """A season as `floorbook new` starts it, with one game of which there are only marks."""
    start_season(folder, team="Saltmarsh Herons")
    season = Season.open(folder)
    try:
        season.games.add("g2", "2026-03-21", "Millrace", False)
        season.shelf.enter("g2", [NewFilm(id=UNFILMED, name="Millrace, not filmed", duration_ms=60_000)])
        tag(season, "g2", UNFILMED, OTHER_MARKS)
    finally:
        season.close()
    return folder
