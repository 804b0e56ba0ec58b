"""Power plays: what one is, how long it was, and which shots are of it."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.man_up import power_plays
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, season

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _run(name: str, start_s: int, end_s: int | None, **how: Any) -> dict[str, Any]:
    end = {} if end_s is None else {"end_ms": end_s * 1000}
    return HEAD | {"id": name, "start_ms": start_s * 1000} | end | how


def _shot(name: str, run: str, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": name, "run": run, "result": "goal"} | how


RUNS = [
    _run("r1", 0, 10), _run("r2", 10, 20, strength="5v4"), _run("r3", 20, 30, team="theirs", strength="4v5"),
    _run("r4", 35, 40, strength="5v4"), _run("r5", 40, 50, team="theirs", strength="5v4"),
    _run("r6", 50, 60, strength="4v5"), _run("r7", 60, 70), _run("r8", 70, None, strength="5v4"),
    _run("r9", 80, 90, strength="6ev5"),
]  # fmt: skip


def test_both_ends_of_a_power_play_are_counted_and_so_are_its_minutes() -> None:
    shots = [
        _shot("s1", "r4", strength="5v4"), _shot("s2", "r6", strength="4v5"), _shot("s3", "r7"),
        _shot("s4", "r3", team="theirs", strength="4v5", result="saved"), _shot("s5", "r8", strength="5v4"),
        _shot("s6", "r2", strength="5v4", result="waved_off"), _shot("s7", "r9", strength="6ev5"),
    ]  # fmt: skip
    made = power_plays(frames({"runs": RUNS, "shots": shots}))
    ours, theirs = one(made, team="ours"), one(made, team="theirs")
    assert (ours["power_plays"], ours["power_plays_ids"]) == (2, ("r2", "r3", "r4", "r8"))
    assert (ours["unmeasured"], ours["unmeasured_ids"], theirs["unmeasured"]) == (1, ("r8",), 0)
    assert (ours["scored_k"], ours["scored_n"], theirs["scored_k"], theirs["scored_n"]) == (2, 2, 0, 1)
    assert (ours["goals_ids"], ours["shots_short_ids"], theirs["goals_short_ids"]) == (("s1", "s5"), ("s4",), ("s2",))
    assert (ours["goals_a_minute_k"], ours["goals_a_minute_n"], ours["goals_a_minute"]) == (1, 25_000, 2.4)
    assert (theirs["goals_short_a_minute_n"], theirs["goals_short_a_minute"]) == (20_000, 3.0)


def test_a_shot_after_the_penalty_is_over_is_not_of_the_power_play_and_an_unseen_one_may_have_been_a_goal() -> None:
    shots = [
        _shot("s1", "r2"), _shot("s2", "r4", strength="5v4", result="unseen"), _shot("s3", "r8", strength="5v4")
    ]  # fmt: skip
    ours = one(power_plays(frames({"runs": RUNS, "shots": shots})), team="ours")
    assert (ours["shots"], ours["goals"], ours["scored_k"], ours["scored_n"], ours["scored_asked"]) == (2, 1, 1, 1, 2)


def test_power_plays_do_not_depend_on_the_order_of_rows_and_nothing_is_nothing() -> None:
    tables = season(3, n_games=2, n_possessions=30)
    mixed = {name: frame.sample(frac=1, random_state=4) for name, frame in tables.items()}
    ids = [name for name in power_plays(tables).columns.tolist() if name.endswith("_ids")]
    pd.testing.assert_frame_equal(power_plays(tables).drop(columns=ids), power_plays(mixed).drop(columns=ids))
    nothing = power_plays(frames({}), Slice(team="theirs"))
    assert nothing["power_plays"].tolist() == [0] and nothing["goals_a_minute"].isna().all()


@pytest.mark.parametrize("team", ["ours", "theirs"])
def test_coded_tables_say_the_same(team: str) -> None:
    tables = season(7, n_games=2, n_possessions=12)
    part = Slice(team=team)
    pd.testing.assert_frame_equal(power_plays(coded(tables), part), power_plays(tables, part))
