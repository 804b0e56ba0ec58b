"""Sets: what came of their runs, row by row, and that nothing is lost or counted twice."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.rate import ALLOWED_FOR, ONE_GAME
from analysis.sets import naming, sets
from analysis.slice import Slice
from analysis.stats.proportion import wilson
from tagger.tables import frames
from tests.analysis.invented import one, rates_in, season, season_rows
from tests.counts import cases

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _run(run: str, **how: Any) -> dict[str, Any]:
    return (
        HEAD
        | {"id": run, "possession": "p", "phase": "set", "set": "keel", "ended": "shot", "penalty_drawn": False}
        | how
    )


def _shot(shot: str, run: str, result: str | None, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": shot, "possession": "p", "run": run, "result": result, "at_ms": 5000} | how


def _one(table: pd.DataFrame, **where: str) -> pd.Series:
    for column, value in where.items():
        table = table[table[column] == value]
    assert len(table) == 1
    return table.iloc[0]


def test_a_run_counts_once_and_put_backs_count_apart() -> None:
    tables = frames(
        {
            "possessions": [HEAD | {"id": "p", "settled_ms": 0, "start_ms": 0, "end_ms": 30_000}],
            "runs": [
                _run("r1"),
                _run("r2", phase="second_chance", set=None, parent="r1"),
                _run("r3", phase="second_chance", set=None, parent="r2"),
                _run("r4", ended="turnover"),
            ],
            "shots": [
                _shot("s1", "r1", "saved"),
                _shot("s2", "r1", "wide"),
                _shot("s3", "r2", "wide"),
                _shot("s4", "r3", "goal"),
            ],
            "turnovers": [HEAD | {"id": "t1", "possession": "p", "run": "r4"}],
        }
    )
    keel = _one(sets(tables), set="keel")
    assert (keel["runs"], keel["shot_k"], keel["shot_n"], keel["shots"]) == (2, 1, 2, 2)
    assert (keel["goal_k"], keel["goal_any_k"], keel["put_backs"], keel["put_back_goals"]) == (0, 1, 2, 1)
    assert keel["put_backs_ids"] == ("s3", "s4") and keel["goal_any_ids"] == ("r1",)
    assert (keel["second_chance_k"], keel["turnover_ids"]) == (1, ("r4",))
    assert (keel["share_k"], keel["share_n"], keel["share_ids"]) == (1, 1, ("p",))
    chances = _one(sets(tables), phase="second_chance")
    assert (chances["shots"], chances["goals"], chances["put_backs"]) == (2, 1, 0)


def test_the_share_of_possessions_is_of_all_settled_ones_whatever_is_looked_at() -> None:
    possessions = [HEAD | {"id": name, "settled_ms": 0} for name in ("p", "q")] + [HEAD | {"id": "unsettled"}]
    runs = [_run("r1"), _run("r2"), _run("r3", possession="q", set="ferry"), _run("r4", possession="unsettled")]
    tables = frames({"possessions": possessions, "runs": runs})
    for part in (Slice(), Slice(sets=("keel",)), Slice(phases=("set",), sets=("keel",))):
        keel = one(sets(tables, part), set="keel")
        assert (keel["share_k"], keel["share_n"], keel["share_ids"]) == (1, 2, ("p",))


def test_a_set_named_after_a_recovered_shot_is_a_new_try_and_no_put_back() -> None:
    tables = frames(
        {
            "runs": [
                _run("r1"),
                _run("r2", set="ferry", parent="r1"),
                _run("r3", phase="second_chance", set=None, parent="r2"),
            ],
            "shots": [_shot("s1", "r1", "saved"), _shot("s2", "r2", "wide"), _shot("s3", "r3", "goal")],
        }
    )
    keel, ferry = one(sets(tables), set="keel"), one(sets(tables), set="ferry")
    assert (keel["shots"], keel["put_backs"], keel["goal_any_k"], keel["second_chance_k"]) == (1, 0, 0, 1)
    assert (ferry["shots"], ferry["put_backs"], ferry["goal_any_k"], ferry["second_chance_k"]) == (1, 1, 1, 1)


def test_power_play_never_stands_beside_even_strength() -> None:
    tables = frames({"runs": [_run("r1"), _run("r2", strength="5v4"), _run("r3", strength=None)]})
    made = sets(tables)
    assert made["runs"].tolist() == [1, 1, 1]
    assert made["strength"].tolist()[:2] == ["even", "up"] and pd.isna(made["strength"].iloc[2])


def test_what_nobody_saw_is_neither_yes_nor_no() -> None:
    tables = frames(
        {
            "runs": [_run("r1"), _run("r2"), _run("r3", penalty_drawn=None, ended=None)],
            "shots": [_shot("s1", "r1", None), _shot("s2", "r2", "goal"), _shot("s3", "r2", "unseen")],
        }
    )
    keel = _one(sets(tables), set="keel")
    assert (keel["shot_k"], keel["shot_n"]) == (2, 3)
    assert (keel["goal_k"], keel["goal_n"], keel["goal_asked"]) == (1, 2, 3)
    assert (keel["penalty_n"], keel["pull_out_n"]) == (2, 2)


def test_pull_outs_and_penalties_are_counted_by_how_the_run_went() -> None:
    runs = [_run("r1", ended="pull_out"), _run("r2", ended="turnover", penalty_drawn=True), _run("r3", ended="whistle")]
    keel = one(sets(frames({"runs": runs})), set="keel")
    assert (keel["pull_out_ids"], keel["pull_out_n"], keel["penalty_ids"]) == (("r1",), 3, ("r2",))


def test_waved_off_goals_and_dumps_are_no_shots() -> None:
    tables = frames(
        {
            "runs": [_run("r1")],
            "shots": [_shot("s1", "r1", "waved_off"), _shot("s2", "r1", "dump"), _shot("s3", "r1", "blocked")],
        }
    )
    keel = _one(sets(tables), set="keel")
    assert (keel["shots"], keel["blocked"], keel["shot_k"], keel["on_goal_k"], keel["goal_k"]) == (1, 1, 1, 0, 0)


def test_a_shot_in_time_is_measured_from_settling_and_censored_by_nothing() -> None:
    runs = [
        _run("r1", settled_ms=10_000, start_ms=10_000, end_ms=22_000),
        _run("r2", settled_ms=10_000, start_ms=40_000, end_ms=66_000),
        _run("r3", settled_ms=10_000, start_ms=70_000, end_ms=73_000, ended="turnover"),
        _run("r4", settled_ms=None, start_ms=80_000, end_ms=83_000),
    ]
    shots = [
        _shot("s1", "r1", "saved", at_ms=20_000),
        _shot("s2", "r2", "wide", at_ms=65_000),
        _shot("s4", "r4", "wide", at_ms=82_000),
    ]
    keel = _one(sets(frames({"runs": runs, "shots": shots})), set="keel")
    assert [(keel[f"shot_{s}s_k"], keel[f"shot_{s}s_n"]) for s in (10, 20, 30)] == [(1, 3), (1, 3), (2, 3)]


def test_sets_of_the_playbook_that_were_never_run_have_a_row() -> None:
    tables = frames({"runs": [_run("r1")]})
    made = sets(tables, playbook={"keel": "5v5", "ferry": "5v5", "samphire": "5v4"})
    assert made[["strength", "set"]].values.tolist() == [["even", "ferry"], ["even", "keel"], ["up", "samphire"]]
    ferry = made.iloc[0]
    assert ferry["runs"] == 0 and pd.isna(ferry["shot"]) and ferry["shot_few"] and ferry["runs_ids"] == ()
    assert sets(tables, Slice(strengths=("even",)), playbook={"samphire": "5v4"})["set"].tolist() == ["keel"]
    by_side = sets(tables, by_side=True, playbook={"ferry": "5v5"})
    assert by_side[by_side["set"] == "ferry"]["side"].tolist() == ["left", "right"]


def test_pull_outs_and_penalties_of_second_chances_count_for_the_run_that_began_them() -> None:
    runs = [
        _run("r1"),
        _run("r2", phase="second_chance", set=None, parent="r1", ended="pull_out", penalty_drawn=True),
        _run("r3", ended="turnover"),
        _run("r4", phase="second_chance", set=None, parent="r3", ended=None, penalty_drawn=None),
    ]
    keel = one(sets(frames({"runs": runs})), set="keel")
    assert (keel["pull_out_k"], keel["pull_out_any_ids"], keel["pull_out_any_n"]) == (0, ("r1",), 1)
    assert (keel["penalty_k"], keel["penalty_any_ids"], keel["penalty_any_n"]) == (0, ("r1",), 1)


@settings(max_examples=cases(5, many=12), deadline=None)
@given(st.integers(0, 10_000), st.booleans())
def test_sets_other_phases_and_not_tagged_are_all_runs(seed: int, by_side: bool) -> None:
    tables = season(seed, n_games=2, n_possessions=10)
    made = sets(tables, by_side=by_side)
    in_runs = tables["shots"]["run"].notna() & ~tables["shots"]["result"].isin(["waved_off", "dump"])
    assert made["runs"].sum() == len(tables["runs"])
    assert sorted(row for ids in made["runs_ids"] for row in ids) == sorted(tables["runs"]["id"])
    assert made["shots"].sum() == in_runs.sum()
    assert made["goals"].sum() == (tables["shots"]["result"] == "goal").sum()
    assert made["turnovers"].sum() == len(tables["turnovers"])
    second = made[made["phase"] == "second_chance"]
    assert made["put_backs"].sum() == second["shots"].sum()
    for name in rates_in(made):
        assert made[f"{name}_ids"].map(len).tolist() == made[f"{name}_k"].tolist()
        assert (made[f"{name}_k"] <= made[f"{name}_n"]).all()
        some = made[made[f"{name}_n"] > 0]
        assert ((some[f"{name}_lo"] <= some[name]) & (some[name] <= some[f"{name}_hi"])).all()


@settings(max_examples=cases(4, many=6), deadline=None)
@given(st.integers(0, 10_000), st.randoms(use_true_random=False))
def test_the_order_of_rows_and_games_changes_no_number(seed: int, shuffle: Any) -> None:
    rows = season_rows(seed, n_games=3, n_possessions=6)
    mixed = {name: shuffle.sample(table, len(table)) for name, table in rows.items()}
    one, other = sets(frames(rows)), sets(frames(mixed))
    ids = [name for name in one.columns.tolist() if name.endswith("_ids")]
    pd.testing.assert_frame_equal(one.drop(columns=ids), other.drop(columns=ids))
    for name in ids:
        assert [set(held) for held in one[name]] == [set(held) for held in other[name]]


def test_rates_by_side_are_withheld_when_sides_are_named_for_shots_only() -> None:
    runs = [_run(f"a{at}", side="left") for at in range(20)] + [_run(f"b{at}", ended="turnover") for at in range(20)]
    shots = [_shot(f"s{at}", f"a{at}", "wide") for at in range(20)]
    left = one(sets(frames({"runs": runs, "shots": shots}), by_side=True), side="left")
    assert left["shot_withheld"] and left["shot"] is None and (left["shot_k"], left["shot_n"]) == (20, 20)
    assert one(sets(frames({"runs": runs, "shots": shots})), set="keel")["shot"] == 0.5


def test_intervals_allow_for_games_that_differ_and_say_of_one_game_that_they_are_of_it() -> None:
    tables = season(8, n_games=8, n_possessions=60)
    every, one = sets(tables), sets(tables, Slice(games=("g1",)))
    assert set(every["method"]) == {"wilson, widened for games"}
    assert set(every["width"]) == {ALLOWED_FOR} and set(one["width"]) == {ONE_GAME}
    enough = every["shot_n"] >= 30
    assert (every["shot_effect"][enough] > 1).all() and one["shot_effect"].isna().all()
    plain = wilson(every["shot_k"][enough].to_numpy(int), every["shot_n"][enough].to_numpy(int))
    assert (every["shot_lo"][enough] < plain.lo).all() and (every["shot_hi"][enough] > plain.hi).all()


@pytest.mark.parametrize("by_side", [False, True])
def test_coded_tables_give_the_same_table(by_side: bool) -> None:
    tables = season(11, n_games=2, n_possessions=20)
    pd.testing.assert_frame_equal(sets(tables, by_side=by_side), sets(coded(tables), by_side=by_side))


def test_all_unknown_and_nothing_at_all_give_tables_without_warnings() -> None:
    nothing = sets(frames({}))
    assert len(nothing) == 0
    bare = frames({"runs": [{"game": "g", "id": "r"}], "shots": [{"game": "g", "id": "s"}]})
    made = sets(bare)
    assert len(made) == 1 and made["runs"].iloc[0] == 1
    pd.testing.assert_series_equal(nothing.dtypes, made.dtypes)
    assert len(naming(frames({}))) == 0


def test_stretches_that_nobody_named_are_told_apart_from_named_ones() -> None:
    tables = frames(
        {
            "runs": [
                _run("r1"),
                _run("r2", phase="not_tagged", set=None, ended="turnover"),
                _run("r3", phase="transition", set=None),
            ],
            "shots": [_shot("s1", "r1", "wide")],
        }
    )
    made = naming(tables).iloc[0]
    assert (made["stretches"], made["unnamed_k"], made["unnamed_n"], made["unnamed_ids"]) == (2, 1, 2, ("r2",))
    assert (made["named_shot"], made["unnamed_shot"]) == (1.0, 0.0)
