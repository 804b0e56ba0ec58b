"""A small invented season of everything that is easily counted wrong, every mark at a known time.

Two sets have a checkpoint of one code and different names; a goalkeeper changes on the frame of a goal; balls are won
loose between possessions; shots stand outside any run; a stretch goes unnamed; a set is run a second time in one
possession, long after settling; a set for the power play is run at even strength; a shot's result is not seen.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.texts.earlier import write_stated
from tagger.texts.stated import StatedQuestion
from tests.dashboard.herons import tag, texts

Marks = tuple[tuple[int, str, dict[str, Any]], ...]
MARKS: Marks = (
    (0, "period_start", {"number": "1"}),
    (200, "goalie", {"team": "ours", "what": "in", "player": "30"}),
    (500, "line", {"line": "reeds", "bad": "no"}),
    (800, "loose_ball", {"team": "ours", "player": "14"}),
    (1000, "possession", {"team": "ours", "gained": "loose_ball"}),
    (1500, "shot", {"shooter": "14", "result": "wide", "recovered": "yes"}),
    (4000, "settled", {}),
    (4500, "set", {"set": "lantern", "side": "left"}),
    (6000, "screen", {"setter": "22", "user": "14", "free": "nobody", "coverage": "switched"}),
    (7000, "pull_out", {}),
    (7500, "grade", {"player": "9", "checkpoint": "safety", "grade": "plus"}),
    (18_000, "set", {"set": "ferry", "side": "right"}),
    (19_000, "screen", {"setter": "22", "user": "9", "free": "third_man", "coverage": "blown"}),
    (21_000, "grade", {"player": "31", "checkpoint": "safety", "grade": "minus"}),
    (22_000, "shot", {"shooter": "9", "result": "unseen", "recovered": "yes", "feeder": "unseen"}),
    (24_000, "shot", {"shooter": "14", "result": "goal", "feeder": "9", "feeder2": "22"}),
    (30_000, "faceoff", {"won": "theirs", "ours": "5", "theirs": "7"}),
    (31_000, "possession", {"team": "theirs"}),
    (33_000, "family", {"family": "two_man", "side": "right"}),
    (36_000, "shot", {"shooter": "9", "result": "goal", "cause": "screen"}),
    (36_000, "goalie", {"team": "ours", "what": "out"}),
    (36_000, "goalie", {"team": "ours", "what": "in", "player": "35"}),
    (39_000, "loose_ball", {"team": "theirs", "player": "12"}),
    (40_000, "possession", {"team": "theirs"}),
    (41_000, "shot", {"shooter": "12", "result": "saved", "recovered": "no"}),
    (41_500, "possession", {"team": "ours"}),
    (44_000, "settled", {}),
    (48_000, "turnover", {"player": "14", "kind": "bad_pass", "by": "9", "meant": "22"}),
    (48_500, "possession", {"team": "theirs"}),
    (50_000, "shot", {"shooter": "12", "result": "waved_off"}),
    (51_000, "shot", {"shooter": "12", "result": "dump"}),
    (55_000, "possession", {"team": "ours"}),
    (57_000, "settled", {}),
    (58_000, "set", {"set": "samphire", "side": "left"}),
    (59_000, "penalty", {"team": "theirs", "player": "12", "kind": "minor", "delayed": "no", "fouled": "9"}),
    (61_000, "set", {"set": "samphire", "side": "right"}),
    (63_000, "shot", {"shooter": "14", "result": "saved", "recovered": "no"}),
    (64_000, "possession", {"team": "theirs"}),
    (70_000, "turnover", {"player": "9", "kind": "bad_pass", "by": "14"}),
    (71_000, "possession", {"team": "ours"}),
    (72_000, "loose_ball", {"team": "ours", "player": "14"}),
    (73_000, "shot", {"shooter": "14", "result": "wide", "recovered": "no"}),
    (80_000, "period_end", {}),
)


def odd(folder: Path) -> Season:
    """Make the season: three times the same game, against three opponents, and a question stated."""
    asked = StatedQuestion("Lantern or Ferry?", "on_goal", {"set": "lantern"}, {"set": "ferry"})
    write_stated(texts(folder), asked)
    season = Season.open(folder, make=True)
    for place, opponent in enumerate(("Quarry Hill", "Millrace", "Larkspur"), 1):
        game = f"g{place}"
        season.games.add(game, f"2026-03-{place:02d}", opponent, True)
        film = NewFilm(id=f"m-{game}", name=f"{opponent}, not filmed", duration_ms=90_000)
        season.shelf.enter(game, [film])
        tag(season, game, film.id, MARKS)
    return season
