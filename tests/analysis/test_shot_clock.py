"""How far into the shot clock things come, what early and late runs bring, and what is tried before settling."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.shot_clock import entries, into_clock_ms, moments
from analysis.slice import Slice
from analysis.transition import transition
from tagger.tables import frames
from tests.analysis.invented import one, season

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}
IN = HEAD | {"possession": "p"}


def _run(name: str, start_s: int, **how: Any) -> dict[str, Any]:
    return IN | {"id": name, "start_ms": start_s * 1000, "phase": "set", "set": "keel"} | how


def _at(name: str, at_s: int, **how: Any) -> dict[str, Any]:
    return IN | {"id": name, "at_ms": at_s * 1000} | how


def test_the_clock_starts_with_the_possession_and_anew_where_that_is_known() -> None:
    tables = frames(
        {
            "possessions": [HEAD | {"id": "p", "start_ms": 0}],
            "runs": [_run(f"r{at}", at) for at in (5, 20, 22, 40, 52, 70, 80, 95, 130)],
            "shots": [
                _at("s1", 20, result="saved", recovered="yes"), _at("s2", 21, result="wide", recovered="yes"),
                _at("s3", 50, result="saved"), _at("s4", 70, result="unseen", recovered="no"),
            ],
            "fresh_clocks": [_at("f", 60)],
            "whistles": [_at("w", 90)],
        }
    )  # fmt: skip
    assert (into_clock_ms(tables, tables["runs"], "start_ms") // 1000).tolist() == [5, 0, 2, 20, -1, 10, 20, -1, -1]
    went = into_clock_ms(tables, tables["shots"], "at_ms", before=True) // 1000
    assert went.tolist() == [20, 1, 30, 10], "a shot goes on the clock that it ends"
    assert into_clock_ms(tables, tables["runs"], "start_ms", fresh=("wide",)).tolist()[2] == 1000


def test_early_and_late_runs_stand_apart_and_an_unknown_clock_is_neither() -> None:
    tables = frames(
        {
            "possessions": [HEAD | {"id": "p", "start_ms": 0}],
            "runs": [_run("r1", 10), _run("r2", 11), _run("r3", 25, set="ferry"), _run("r4", 31)],
            "screens": [_at("x1", 14, run="r1"), _at("x2", 12, run="r1")],
            "shots": [_at("s", 28, run="r3", result="goal", recovered="no")],
        }
    )
    made = entries(tables)
    every = {row["entry"]: row["runs_ids"] for _, row in made[made["set"] == "all"].iterrows()}
    assert every == {"early": ("r1",), "middle": ("r2",), "late": ("r3",), "unknown": ("r4",)}
    assert one(made, set="ferry", entry="late")["goal_k"] == 1
    keel, ferry = one(moments(tables), set="keel"), one(moments(tables), set="ferry")
    assert (keel["runs"], keel["begins_s_n"], keel["begins_s"], keel["screen_s"], keel["shot_s_n"]) == (
        3,
        2,
        10.5,
        12,
        0,
    )
    assert (ferry["shot_s"], ferry["shot_s_ids"]) == (28.0, ("r3",))


def test_a_walk_up_that_ends_in_settling_is_no_attempt() -> None:
    first = {"phase": "transition", "set": None}
    tables = frames(
        {
            "possessions": [HEAD | {"id": "p", "start_ms": 0, "gained": "save"}],
            "runs": [
                _run("r1", 0, **first, ended="settled"), _run("r2", 5, **first, ended="shot"),
                _run("r3", 9, **first), _run("r4", 12),
            ],
            "shots": [_at("s", 8, run="r2", result="saved")],
        }
    )  # fmt: skip
    row = one(transition(tables), gained="save")
    assert (row["stretches"], row["walk_ups_ids"], row["tried_ids"], row["tried_n"]) == (3, ("r1",), ("r2",), 2)
    assert (row["shot_k"], row["shot_n"], row["goal_k"]) == (1, 1, 0)
    assert one(transition(tables), gained="all")["stretches"] == 3


@pytest.mark.parametrize("make", [entries, moments, transition])
def test_nothing_and_coded_tables(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=12)
    full, nothing = make(tables), make(frames({}))
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    part = Slice(team="ours", periods=(1, 2))
    pd.testing.assert_frame_equal(make(tables, part), make(coded(tables), part))
