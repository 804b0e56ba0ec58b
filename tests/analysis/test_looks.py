"""Looks, flow, pull-outs."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.looks import came_back, flow, looks
from tagger.tables import frames
from tests.analysis.invented import one, records, season
from tests.counts import cases

HEAD = {"game": "g", "book": "b", "team": "ours", "strength": "5v5"}
ORDER = {"keel": ("curl", "inside", "return")}


def _run(run: str, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": run, "possession": "p", "phase": "set", "set": "keel", "ended": "shot", "order": 1} | how


def _shot(run: str, result: str = "wide") -> dict[str, Any]:
    return HEAD | {"id": f"s{run}", "possession": "p", "run": run, "result": result, "at_ms": 9}


def test_looks_stand_in_the_order_of_the_playbook_taken_or_not() -> None:
    runs = [_run("r1", look="return"), _run("r2", look="curl", look_open="inside"), _run("r3", look="none"), _run("r4")]
    made = looks(frames({"runs": runs, "shots": [_shot("r1"), _shot("r2")]}), order=ORDER)
    assert [row["look"] for row in records(made)] == ["curl", "inside", "return", "none", None]
    assert [row["place"] for row in records(made)] == [1, 2, 3, None, None]
    inside, curl = one(made, look="inside"), one(made, look="curl")
    assert (inside["runs"], inside["taken_k"], inside["taken_n"], inside["taken_asked"]) == (0, 0, 3, 4)
    assert (inside["left_open_k"], inside["left_open_n"], inside["left_open_ids"]) == (1, 1, ("r2",))
    assert (curl["shot_k"], curl["shot_n"], curl["taken_ids"]) == (1, 1, ("r2",))
    assert one(made, look=None)["taken_n"] == 0


def test_shares_of_looks_are_withheld_when_looks_are_named_for_shots_only() -> None:
    runs = [_run(f"a{n}", look="curl") for n in range(20)] + [_run(f"b{n}", ended="turnover") for n in range(20)]
    made = one(looks(frames({"runs": runs, "shots": [_shot(f"a{n}") for n in range(20)]})), look="curl")
    assert made["taken_withheld"] and made["taken"] is None and (made["taken_k"], made["taken_n"]) == (20, 20)
    assert made["shot_withheld"] and made["shot"] is None and (made["shot_k"], made["shot_n"]) == (20, 20)


def test_looks_that_were_not_looked_for_were_not_asked() -> None:
    runs = [_run(f"r{n}", start_ms=n * 1000, look="curl" if n >= 5 else None) for n in range(10)]
    detail = [
        {"game": "g", "id": "d1", "start_ms": 0, "end_ms": 5000, "looks_for": "set"},
        {"game": "g", "id": "d2", "start_ms": 5000, "looks_for": "set look.look"},
    ]
    made = one(looks(frames({"runs": runs, "detail": detail})), look="curl")
    assert (made["taken_k"], made["taken_n"], made["taken_asked"]) == (5, 5, 5)
    assert (made["left_open_n"], made["left_open_asked"]) == (0, 0)


def test_flow_goes_by_the_screen_that_freed_somebody() -> None:
    screens = [
        HEAD | {"id": "e1", "run": "r1", "free": "nobody", "at_ms": 1},
        HEAD | {"id": "e2", "run": "r1", "free": "setter", "at_ms": 2},
        HEAD | {"id": "e3", "run": "r1", "free": "unseen", "at_ms": 3},
        HEAD | {"id": "e4", "run": "r2", "free": "nobody", "at_ms": 1},
    ]
    runs = [_run("r1", look="curl"), _run("r2", ended="turnover"), _run("r3", ended="turnover")]
    made = flow(frames({"runs": runs, "screens": screens}))
    assert [(row["free"], row["look"], row["ended"], row["runs"], row["of"]) for row in records(made)] == [
        ("no_screen", None, "turnover", 1, 3), ("nobody", None, "turnover", 1, 3), ("setter", "curl", "shot", 1, 3),
    ]  # fmt: skip


def test_what_was_not_looked_for_is_no_missing_screen() -> None:
    runs = [_run("r1", start_ms=0), _run("r2", start_ms=5000)]
    detail = [
        {"game": "g", "id": "d1", "start_ms": 0, "end_ms": 4000, "looks_for": "shot"},
        {"game": "g", "id": "d2", "start_ms": 4000, "looks_for": "shot screen"},
    ]
    made = flow(frames({"runs": runs, "detail": detail}))
    assert made["free"].tolist() == ["no_screen", "not_looked_for"]
    assert one(made, free="not_looked_for")["runs_ids"] == ("r1",)


def test_a_pull_out_came_back_when_a_later_run_of_the_possession_shot() -> None:
    runs = [
        _run("r1", ended="pull_out", order=1),
        _run("r2", ended="pull_out", order=2),
        _run("r3", order=3, phase="freelance", set=None),
        _run("r4", ended="pull_out", order=4),
    ]
    shots = [_shot("r3", "goal"), _shot("r4")]  # what a pulled-out run shot itself is no coming back
    made = one(came_back(frames({"possessions": [HEAD | {"id": "p"}], "runs": runs, "shots": shots})), set="keel")
    assert (made["pull_outs"], made["to_shot_k"], made["to_shot_ids"]) == (3, 2, ("r1", "r2"))
    assert (made["to_goal_k"], made["to_goal_n"]) == (2, 3)


@settings(max_examples=cases(4, many=8), deadline=None)
@given(st.integers(0, 10_000))
def test_looks_and_paths_add_up_to_the_runs_of_the_set(seed: int) -> None:
    tables = season(seed, n_games=2, n_possessions=12)
    runs = tables["runs"]
    for table in (looks(tables, order={"lantern": ("one", "two", "three")}), flow(tables)):
        assert sorted(row for ids in table["runs_ids"] for row in ids) == sorted(runs[runs["phase"] == "set"]["id"])
    assert came_back(tables)["pull_outs"].sum() == (runs["ended"] == "pull_out").sum()


@pytest.mark.parametrize("make", [looks, flow, came_back])
def test_nothing_and_coded_tables(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=12)
    full, nothing = make(tables), make(frames({}))
    assert len(nothing) == 0
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))
