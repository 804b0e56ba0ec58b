"""Per minute on the floor: what a player did against the time he was out for."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.floor_time import per_minute
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, records, season_rows

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _rows() -> dict[str, list[dict[str, Any]]]:
    there = {"possession": "a", "at_ms": 12_000}
    return {
        "lines": [
            HEAD | {"id": "l1", "at_ms": 10_000, "players": "7 8"},
            HEAD | {"id": "l2", "at_ms": 50_000, "players": "14 8"},
        ],
        "possessions": [
            HEAD | {"id": "before", "start_ms": 0, "end_ms": 10_000},
            HEAD | {"id": "a", "start_ms": 10_000, "end_ms": 30_000},
            HEAD | {"id": "b", "start_ms": 30_000, "end_ms": 60_000, "team": "theirs", "strength": "5v4"},
            HEAD | {"id": "c", "start_ms": 60_000, "end_ms": 90_000, "strength": "4v5"},
        ],
        "shots": [
            HEAD | there | {"id": "s1", "shooter": "7", "feeder": "8", "feeder2": "14", "result": "goal"},
            HEAD | there | {"id": "s2", "shooter": "7", "result": "wide"},
            HEAD | there | {"id": "s3", "shooter": "7", "result": "dump"},
            HEAD | {"id": "s4", "possession": "before", "at_ms": 5000, "shooter": "7", "result": "goal"},
            HEAD | {"id": "s5", "possession": "b", "at_ms": 40_000, "team": "theirs", "shooter": "7", "result": "goal"},
        ],
        "screens": [HEAD | there | {"id": "e1", "setter": "8", "user": "7"}],
        "turnovers": [HEAD | {"id": "t1", "possession": "c", "player": "8", "at_ms": 61_000}],
        "loose_balls": [
            HEAD | {"id": "w1", "possession": "b", "player": "7", "at_ms": 31_000},
            HEAD | {"id": "w2", "possession": "b", "player": "8", "team": "theirs", "at_ms": 32_000},
        ],
    }


def test_every_deed_is_set_against_the_time_on_the_floor() -> None:
    made = per_minute(frames(_rows()))
    assert [(row["player"], row["strength"]) for row in records(made)] == [
        ("7", "down"), ("7", "even"), ("8", "down"), ("8", "even"), ("14", "down"),
    ]  # fmt: skip
    seven = one(made, player="7", strength="even")
    assert (seven["with_ball_ids"], seven["without_ball"]) == (("a",), 0)
    assert (seven["shots_a_minute_ids"], seven["goals_a_minute_ids"]) == (("s1", "s2"), ("s1",))
    assert (seven["shots_a_minute"], seven["screens_used_a_minute_k"], seven["screens_set_a_minute_k"]) == (6.0, 1, 0)
    eight = one(made, player="8", strength="even")
    assert (eight["feeds_a_minute_ids"], eight["screens_set_a_minute_ids"]) == (("s1",), ("e1",))
    # Their power play is our short-handed play: his loose ball counts there, the other team's “8” does not.
    short = one(made, player="7", strength="down")
    assert (short["with_ball"], short["without_ball_ids"], short["loose_balls_a_minute_ids"]) == (0, ("b",), ("w1",))
    assert short["shots_a_minute"] is None and short["loose_balls_a_minute"] == 3.0
    eight = one(made, player="8", strength="down")
    assert (eight["turnovers_a_minute_k"], eight["turnovers_a_minute_n"], eight["loose_balls_a_minute_k"]) == (
        1,
        30_000,
        0,
    )
    assert one(made, player="14")["second_feeds_a_minute_k"] == 0  # he was not out yet


def test_possessions_in_which_a_kind_was_not_looked_for_are_left_out() -> None:
    rows = _rows()
    rows["detail"] = [
        {"game": "g", "id": "d", "start_ms": 0, "end_ms": 50_000, "looks_for": "shot"},
        {"game": "g", "id": "e", "start_ms": 50_000, "looks_for": "shot screen"},
    ]
    made = per_minute(frames(rows))
    even, down = (one(made, player="8", strength=kind) for kind in ("even", "down"))
    assert (even["screens_set_a_minute_n"], even["screens_set_a_minute_k"], down["screens_set_a_minute_n"]) == (
        0,
        0,
        30_000,
    )
    assert even["screens_set_a_minute"] is None and even["shots_a_minute_n"] == 20_000


@pytest.mark.parametrize("part", [Slice(), Slice(strengths=("even",)), Slice(team="ours")])
def test_shots_on_the_floor_are_shots_of_possessions_with_known_lines(part: Slice) -> None:
    rows = season_rows(5, n_games=2, n_possessions=20)
    everybody = "00 5 7 8 9 10 14 16 17 22"
    rows["lines"] = [
        {"game": "g1", "id": f"l{number}", "team": "ours", "period": number, "at_ms": 0, "players": everybody}
        for number in (1, 2, 3)
    ]
    tables = frames(rows)
    made, shots = per_minute(tables, part), tables["shots"]
    told = (
        (shots["game"] == "g1") & (shots["team"] == "ours") & shots["shooter"].notna() & (shots["shooter"] != "unseen")
    )
    if part.strengths:
        held = tables["possessions"].set_index("id")["strength"]
        told &= shots["possession"].map(held) == "5v5"
    assert made["shots_a_minute_k"].sum() == (told & ~shots["result"].isin(["dump", "waved_off"])).sum() > 0
    pd.testing.assert_frame_equal(made, per_minute(coded(tables), part))


def test_without_lines_nobody_has_a_row() -> None:
    nothing, full = per_minute(frames({})), per_minute(frames(_rows()))
    assert len(nothing) == 0
    pd.testing.assert_series_equal(nothing.dtypes, full.dtypes)
