"""Saves by who was in net, by strength, by place, and after a screen."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.goalkeeper import keepers, saves
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, season

HEAD = {"game": "g", "book": "b", "period": 1}
THEIRS = HEAD | {"team": "theirs", "strength": "5v5", "result": "saved"}
IN_NET = [
    HEAD | {"id": "k1", "team": "ours", "what": "in", "player": "30", "at_ms": 0},
    HEAD | {"id": "k2", "team": "ours", "what": "out", "at_ms": 50_000},
    HEAD | {"id": "k3", "team": "ours", "what": "in", "player": "35", "at_ms": 60_000},
]


def _shot(name: str, at_s: int, **how: Any) -> dict[str, Any]:
    return THEIRS | {"id": name, "at_ms": at_s * 1000} | how


def test_each_shot_on_goal_is_of_the_man_in_net_and_an_empty_net_is_nobodys() -> None:
    shots = [
        _shot("s1", 10), _shot("s2", 50, result="goal", strength="5v4"), _shot("s3", 55, result="goal"),
        _shot("s4", 70), _shot("s5", 71, result="wide"), _shot("s6", 72, result="unseen"),
        _shot("s7", 5, game="h"),
    ]  # fmt: skip
    tables = frames({"shots": shots, "goalies": IN_NET})
    assert keepers(tables["goalies"], tables["shots"]).tolist() == ["30", "30", "", "35", "35", "35", None]
    first, second, nobody = (one(saves(tables), keeper=man) for man in ("30", "35", None))
    assert (first["faced_ids"], first["save_k"], first["save_n"], first["goals_ids"]) == (("s1", "s2"), 1, 2, ("s2",))
    assert (second["faced"], nobody["faced_ids"]) == (1, ("s7",))
    assert one(saves(tables, by="strength"), strength="up")["goals"] == 1
    assert one(saves(tables, Slice(team="ours", strengths=("up",))), keeper="30")["faced"] == 1


def test_a_screen_counts_before_the_shot_in_its_run_and_unknown_is_not_none() -> None:
    tables = frames(
        {
            "runs": [HEAD | {"id": "r1", "team": "theirs", "start_ms": 0}],
            "screens": [HEAD | {"id": "x", "run": "r1", "at_ms": 20_000}],
            "shots": [_shot("s1", 10, run="r1"), _shot("s2", 30, run="r1"), _shot("s3", 40)],
            "goalies": IN_NET,
        }
    )
    made = saves(tables, by="screen")
    assert {row["screen"] if pd.notna(row["screen"]) else None: row["faced_ids"] for _, row in made.iterrows()} == {
        "no": ("s1",), "yes": ("s2",), None: ("s3",),
    }  # fmt: skip


def test_places_are_fields_of_the_floor() -> None:
    shots = [_shot("s1", 10, x_m=23.0, y_m=0.0), _shot("s2", 11, x_m=20.0, y_m=4.0), _shot("s3", 12)]
    made = saves(frames({"shots": shots, "goalies": IN_NET}), by="place", goal_x_m=25.0)
    assert [(row["lane"], row["ring"], row["faced"]) for _, row in made.fillna({"lane": "", "ring": 0}).iterrows()] == [
        ("left", 2, 1), ("middle", 1, 1), ("", 0, 1),
    ]  # fmt: skip


def test_what_cannot_be_split_by_is_refused_and_nothing_is_nothing() -> None:
    with pytest.raises(QuestionError, match="“moon”"):
        saves(frames({}), by="moon")
    tables = season(7, n_games=2, n_possessions=12)
    tables["goalies"] = frames({"goalies": IN_NET})["goalies"]
    for by in (None, "strength", "screen", "place"):
        full, nothing = saves(tables, by=by), saves(frames({}), by=by)
        pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
        pd.testing.assert_frame_equal(saves(coded(tables), by=by), full, check_dtype=by != "strength")
