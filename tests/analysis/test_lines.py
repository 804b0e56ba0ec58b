"""Units on the floor, bad changes, goals against."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.lines import changes, goals_against, units
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, records, season_rows

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _rows(table: str) -> list[dict[str, Any]]:
    rows: dict[str, list[dict[str, Any]]] = {
            "lines": [
                HEAD | {"id": "l1", "at_ms": 10_000, "unit": "reeds", "players": "7 8", "bad": "no"},
                HEAD | {"id": "l2", "at_ms": 50_000, "unit": "gulls", "players": "14", "bad": "yes"},
                HEAD | {"id": "l3", "at_ms": 55_000, "unit": "first", "team": "theirs"},
            ],
            "possessions": [
                HEAD | {"id": "a", "start_ms": 0, "end_ms": 9000},
                HEAD | {"id": "b", "start_ms": 10_000, "end_ms": 30_000},
                HEAD | {"id": "c", "start_ms": 50_000, "end_ms": 62_000, "team": "theirs"},
                HEAD | {"id": "d", "start_ms": 70_000, "strength": "5v4"},
                HEAD | {"id": "e", "start_ms": 90_000, "period": 2},
            ],
            "shots": [
                HEAD | {"id": "s1", "possession": "b", "at_ms": 20_000, "shooter": "7", "result": "wide"},
                HEAD | {"id": "s2", "possession": "b", "at_ms": 22_000, "shooter": "7", "result": "goal"},
                HEAD | {"id": "s3", "possession": "c", "at_ms": 60_000, "team": "theirs",
                    "shooter": "7", "result": "goal", "cause": "bad_change"},
            ],
            "turnovers": [HEAD | {"id": "t", "possession": "b", "at_ms": 30_000}],
        }  # fmt: skip
    return rows[table]


def _tables() -> dict[str, pd.DataFrame]:
    return frames({name: _rows(name) for name in ("lines", "possessions", "shots", "turnovers")})


def test_what_happens_is_of_the_line_that_was_on_when_it_happened() -> None:
    tables = _tables()
    tables["lines"] = frames({"lines": [*_rows("lines"), HEAD | {"id": "l4", "at_ms": 20_000, "unit": "ebb"}]})["lines"]
    made = units(tables)
    first, second = one(made, unit="reeds"), one(made, unit="ebb")
    assert (first["possessions_ids"], first["shot_ids"], first["goal_k"]) == (("b",), ("b",), 0), "a change comes after"
    assert (second["possessions_ids"], second["goal_ids"], second["goals_a_minute_ids"]) == (("b",), ("b",), ("s2",))
    assert (first["shots_a_minute_k"], first["shots_a_minute_n"], first["shots_a_minute"]) == (1, 10_000, 6.0)
    assert (second["shots_a_minute_n"], second["turnover_k"]) == (10_000, 1)
    against = one(made, unit="gulls", ball="without")
    assert (against["possessions_ids"], against["goal_k"]) == (("c",), 1)
    assert one(made, unit=None, strength="even")["possessions_ids"] == ("a", "e")
    assert (one(made, strength="up")["unit"], one(made, strength="up")["shots_a_minute_n"]) == ("gulls", 0)


def test_after_a_change_nobody_named_the_floor_is_unknown_not_as_before() -> None:
    tables = _tables()
    tables["lines"] = frames({"lines": [*_rows("lines"), HEAD | {"id": "l4", "at_ms": 60_000, "bad": "yes"}]})["lines"]
    assert one(units(tables), unit=None, strength="up")["possessions_ids"] == ("d",)


def test_goals_soon_after_a_change_are_told_apart_by_how_it_went() -> None:
    made = one(changes(_tables()), team="ours")
    assert (made["changes"], made["bad_k"], made["bad_n"]) == (2, 1, 2)
    assert (made["goal_after_bad_k"], made["goal_after_clean_k"]) == (1, 0)
    assert one(changes(_tables(), within_s=5), team="ours")["goal_after_bad_k"] == 0


def test_causes_of_goals_against_leave_out_what_was_not_answered() -> None:
    causes = ["beaten", "no_help", "no_help", "unseen", None]
    shots = [
        HEAD | {"id": f"s{n}", "team": "theirs", "result": "goal", "cause": cause} for n, cause in enumerate(causes)
    ]
    made = goals_against(frames({"shots": [*shots, HEAD | {"id": "ours", "result": "goal"}]}), Slice(team="ours"))
    assert [(row["cause"], row["goals"], row["share_k"], row["share_n"]) for row in records(made)] == [
        ("no_help", 2, 2, 3), ("beaten", 1, 1, 3), ("unseen", 1, 0, 0), (None, 1, 0, 0),
    ]  # fmt: skip


@pytest.mark.parametrize("make", [units, changes, goals_against])
def test_nothing_and_coded_tables(make: Any) -> None:
    rows = season_rows(3, n_games=2, n_possessions=30)
    rows["lines"] = [
        {
            "game": "g1",
            "id": f"l{n}",
            "period": 1,
            "at_ms": n * 30_000,
            "team": "ours",
            "unit": ("first", "second")[n % 2],
            "players": ("7 8 14", "9")[n % 2],
            "bad": "no",
        }
        for n in range(12)
    ]
    tables = frames(rows)
    full, nothing = make(tables), make(frames({}))
    assert len(nothing) == 0 and len(full) > 0
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))
