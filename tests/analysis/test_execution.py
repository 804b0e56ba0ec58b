"""Grades, what goes with them, and what a lost ball costs."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.execution import BY, graded, met, worth
from analysis.lost_ball import lost_balls
from tagger.tables import frames
from tests.analysis.invented import one, records, season
from tests.counts import cases

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _grade(grade: str, run: str, said: str | None, **how: Any) -> dict[str, Any]:
    return {"game": "g", "id": grade, "run": run, "player": "7", "checkpoint": "wall", "grade": said} | how


def _runs(n: int, name: str, shots: int) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    runs = [HEAD | {"id": f"{name}{at}", "phase": "set", "set": "keel", "ended": "whistle"} for at in range(n)]
    return runs, [HEAD | {"id": f"s{name}{at}", "run": f"{name}{at}", "result": "wide"} for at in range(shots)]


def test_percent_is_plus_of_plus_and_minus_and_the_ungradable_are_left_out() -> None:
    runs, _ = _runs(4, "r", 0)
    grades = [
        _grade("a", "r0", "plus"),
        _grade("b", "r1", "minus"),
        _grade("c", "r2", "not_gradable"),
        _grade("d", "r3", None),
    ]
    made = one(graded(frames({"runs": runs, "grades": grades})))
    assert (made["set"], made["checkpoint"], made["grades"]) == ("keel", "wall", 4)
    assert (made["done_k"], made["done_n"], made["done_asked"], made["not_gradable"]) == (1, 2, 4, 1)


def test_a_planted_habit_costs_what_was_missed_times_the_difference() -> None:
    met_runs, met_shots = _runs(40, "a", 32)
    missed_runs, missed_shots = _runs(30, "b", 9)
    grades = [_grade(f"ga{at}", f"a{at}", "plus") for at in range(40)] + [
        _grade(f"gb{at}", f"b{at}", "minus") for at in range(30)
    ]
    grades += [_grade(f"x{at}", f"a{at}", "plus" if at % 2 else "minus", checkpoint="wait") for at in range(40)]
    tables = frames({"runs": met_runs + missed_runs, "shots": met_shots + missed_shots, "grades": grades})
    made = worth(tables)
    assert made["checkpoint"].tolist() == ["wall", "wait"]
    wall, wait = records(made)
    assert (wall["met_k"], wall["met_n"], wall["missed_k"], wall["missed_n"]) == (32, 40, 9, 30)
    assert wall["difference"] == pytest.approx(0.5) and wall["cost"] == pytest.approx(15) and wall["cost_lo"] > 0
    assert wall["difference_lo"] > 0 > wait["difference_lo"]


def test_one_minus_makes_a_run_missed() -> None:
    runs, shots = _runs(1, "r", 1)
    grades = [_grade("a", "r0", "plus", player="7"), _grade("b", "r0", "minus", player="8")]
    made = one(worth(frames({"runs": runs, "shots": shots, "grades": grades})))
    assert (made["met_n"], made["missed_n"], made["missed_k"]) == (0, 1, 1)


@settings(max_examples=cases(4, many=8), deadline=None)
@given(st.integers(0, 10_000), st.sets(st.sampled_from(BY), max_size=4))
def test_grades_add_up_however_they_are_split(seed: int, by: set[str]) -> None:
    tables = season(seed, n_games=2, n_possessions=12)
    made = graded(tables, by=tuple(sorted(by)))
    assert sorted(row for ids in made["grades_ids"] for row in ids) == sorted(tables["grades"]["id"])


def _possession(name: str, start_s: float, team: str, ended: str | None = None, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": name, "team": team, "start_ms": int(start_s * 1000), "ended": ended} | how


def test_a_lost_ball_costs_what_the_very_next_possession_of_the_others_brought_in_time() -> None:
    tables = frames(
        {
            "possessions": [
                _possession("a", 0, "ours", "turnover"), _possession("b", 20, "theirs", "goal"),
                _possession("c", 60, "ours", "save"), _possession("d", 80, "theirs", "save"),
                _possession("e", 120, "ours", "turnover"), _possession("f", 130, "ours", "turnover"),
                _possession("g", 150, "theirs", "turnover", period=2),
            ],
            "shots": [
                HEAD | {"id": "s1", "team": "theirs", "possession": "b", "at_ms": 30_000, "result": "goal"},
                HEAD | {"id": "s2", "team": "theirs", "possession": "d", "at_ms": 99_000, "result": "saved"},
            ],
            "runs": [
                HEAD | {"id": "r1", "possession": "a", "order": 1, "phase": "set", "set": "ferry"},
                HEAD | {"id": "r2", "possession": "a", "order": 2, "phase": "set", "set": "keel"},
            ],
            "grades": [_grade("x", "r1", "minus", checkpoint="safety"), _grade("y", "r2", "plus", checkpoint="safety")],
            "turnovers": [HEAD | {"id": "t", "possession": "a", "where": "far_end"}],
        }
    )  # fmt: skip
    turnover, save = (
        one(lost_balls(tables), team="ours", ended="turnover"),
        one(lost_balls(tables), ended="save", team="ours"),
    )
    assert (turnover["lost"], turnover["answered_k"], turnover["shot_against_k"], turnover["goal_against_k"]) == (
        3,
        1,
        1,
        1,
    )
    assert turnover["goal_against_ids"] == ("b",) and turnover["lost_ids"] == ("a", "e", "f")
    assert (save["shot_against_k"], save["shot_against_n"]) == (0, 1)
    assert one(lost_balls(tables, within_s=20), ended="save", team="ours")["shot_against_k"] == 1
    split = one(lost_balls(tables, by=("set", "where", "safety")), set="keel")
    assert (split["where"], split["safety"], split["goal_against_k"]) == ("far_end", "missed", 1)


def test_a_checkpoint_is_met_with_or_without_its_sets_name() -> None:
    runs, _ = _runs(3, "r", 0)
    grades = [_grade("a", "r0", "plus", checkpoint="keel.safety"), _grade("b", "r1", "minus", checkpoint="safety")]
    assert met(frames({"runs": runs, "grades": grades}), "safety").tolist() == [1, 0, -1]


@pytest.mark.parametrize("make", [graded, worth, lost_balls])
def test_nothing_and_coded_tables(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=14)
    full, nothing = make(tables), make(frames({}))
    assert len(nothing) == 0
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))


@pytest.mark.parametrize(
    ("make", "how"), [(graded, {"by": ("hat",)}), (worth, {"fact": "hat"}), (lost_balls, {"by": ("hat",)})]
)
def test_what_does_not_exist_is_refused_by_name(make: Any, how: dict[str, Any]) -> None:
    with pytest.raises(QuestionError, match="hat"):
        make(frames({}), **how)


def test_what_a_lost_ball_cost_is_withheld_by_a_place_said_mostly_where_it_cost_something() -> None:
    """Of 20 lost balls with a shot right after, all have their place; of 20 without one, so many."""

    def made(n_told: int) -> pd.DataFrame:
        possessions, shots, turnovers = [], [], []
        for n in range(40):
            possessions += [
                _possession(f"a{n}", n * 100, "ours", "turnover"),
                _possession(f"b{n}", n * 100 + 20, "theirs", "save"),
            ]
            if n < 20:
                at_ms = n * 100_000 + 25_000
                shots.append(
                    HEAD | {"id": f"s{n}", "team": "theirs", "possession": f"b{n}", "at_ms": at_ms, "result": "saved"}
                )
            told = n < 20 + n_told
            turnovers.append(HEAD | {"id": f"t{n}", "possession": f"a{n}", "where": "far_end" if told else None})
        tables = frames({"possessions": possessions, "shots": shots, "turnovers": turnovers})
        return lost_balls(tables, by=("where",))

    leaning, even = one(made(5), team="ours", where="far_end"), one(made(19), team="ours", where="far_end")
    assert (leaning["shot_against"], leaning["shot_against_k"], leaning["shot_against_withheld"]) == (None, 20, True)
    assert (even["shot_against"], even["shot_against_withheld"]) == (20 / 39, False)
    assert not lost_balls(season(3))["shot_against_withheld"].any(), "how a possession ended is always said"
