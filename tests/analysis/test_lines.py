"""Units on the floor, bad changes, goals against."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.lines import changes, goals_against, on_floor, units
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
                HEAD | {"id": "a", "start_ms": 0}, HEAD | {"id": "b", "start_ms": 10_000},
                HEAD | {"id": "c", "start_ms": 50_000, "team": "theirs"},
                HEAD | {"id": "d", "start_ms": 70_000, "strength": "5v4"},
                HEAD | {"id": "e", "start_ms": 90_000, "period": 2},
            ],
            "shots": [
                HEAD | {"id": "s1", "possession": "b", "at_ms": 20_000, "shooter": "7", "result": "wide"},
                HEAD | {"id": "s2", "possession": "b", "at_ms": 22_000, "shooter": "7", "result": "goal"},
                HEAD | {"id": "s3", "possession": "c", "at_ms": 60_000, "team": "theirs",
                    "shooter": "7", "result": "goal", "cause": "bad_change"},
            ],
        }  # fmt: skip
    return rows[table]


def _tables() -> dict[str, pd.DataFrame]:
    return frames({name: _rows(name) for name in ("lines", "possessions", "shots")})


def test_a_possession_belongs_to_the_unit_on_the_floor_when_it_began() -> None:
    made = units(_tables())
    first, second = one(made, unit="reeds"), one(made, unit="gulls", ball="without")
    assert (first["possessions_ids"], first["shot_k"], first["goal_k"], first["shots_per_100"]) == (("b",), 1, 1, 200.0)
    assert first["shots_per_100_ids"] == ("s1", "s2")
    assert (second["possessions_ids"], second["goal_k"]) == (("c",), 1)
    assert one(made, unit=None, strength="even")["possessions_ids"] == ("a", "e")
    assert one(made, strength="up")["unit"] == "gulls"


def test_players_are_on_the_floor_from_the_change_that_brought_them() -> None:
    made = on_floor(_tables())
    assert [(row["player"], row["ball"], row["possessions"]) for row in records(made)] == [
        ("7", "with", 1), ("8", "with", 1), ("14", "without", 1), ("14", "with", 1),
    ]  # fmt: skip
    seven, eight = one(made, player="7"), one(made, player="8")
    assert (seven["own_shots_per_100_k"], seven["own_shots_per_100_n"], seven["own_shots_per_100"]) == (2, 1, 200.0)
    assert eight["own_shots_per_100_k"] == 0 and eight["shot_k"] == 1


def test_a_swap_takes_one_man_off_and_puts_another_on() -> None:
    tables = _tables()
    swap = HEAD | {"id": "l4", "at_ms": 60_000, "unit": "gulls", "players": "14 9", "out": "22", "in": "9"}
    tables["lines"] = frames({"lines": [*_rows("lines"), swap]})["lines"]
    made = on_floor(tables)
    assert one(made, player="9", strength="up")["possessions_ids"] == ("d",)
    assert one(made, player="14", strength="even")["possessions_ids"] == ("c",)
    assert one(units(tables), unit="gulls", strength="up")["possessions_ids"] == ("d",)


def test_after_a_change_nobody_named_the_floor_is_unknown_not_as_before() -> None:
    tables = _tables()
    tables["lines"] = frames({"lines": [*_rows("lines"), HEAD | {"id": "l4", "at_ms": 60_000, "bad": "yes"}]})["lines"]
    assert "d" not in {one_ for row in records(on_floor(tables)) for one_ in row["possessions_ids"]}
    assert one(units(tables), unit=None, strength="up")["possessions_ids"] == ("d",)


def test_tables_without_players_put_nobody_on_the_floor() -> None:
    tables = _tables()
    tables["lines"]["players"] = pd.array([None] * len(tables["lines"]), dtype="string")
    assert len(on_floor(tables)) == 0 and len(units(tables)) > 0
    assert len(on_floor(_tables(), of="theirs")) == 0


def test_what_was_pressed_is_who_was_on_the_floor() -> None:
    """From the keys: a line by its letter, a swap, and the shots of the possessions that followed."""
    from tests.marks.test_floor import play

    keys = (
        "B Escape H a n",
        10,
        "d Escape s 1 4 g F Escape",
        30,
        "H u 1 4 Enter 3 1 n",
        40,
        "d Escape s 3 1 w h",
    )
    made = on_floor(frames(play(*keys, level="whole", lines=True).rows))
    assert {row["player"]: row["possessions"] for row in records(made)} == {
        "7": 2, "8": 2, "9": 2, "22": 2, "14": 1, "31": 1,
    }  # fmt: skip
    assert one(made, player="14")["own_shots_per_100_k"] == 1 == one(made, player="31")["own_shots_per_100_k"]


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


@pytest.mark.parametrize("make", [units, on_floor, changes, goals_against])
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
