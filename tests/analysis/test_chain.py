"""The chain of stretches, single breaks, and players among the others on the floor."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.adjusted import effects
from analysis.chain import absorb, arrows, destinies
from analysis.codes import coded
from analysis.errors import NumbersError
from analysis.slice import Slice
from analysis.stats.change_point import in_mean, in_rate
from tagger.tables import frames
from tests.analysis.invented import one, records, season
from tests.analysis.published import NILE_BREAK, WALK_ENDS, WALK_INNER, WALK_OUT, WALK_STEPS, WALK_VISITS

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def test_the_drunkard_walks_home_as_published() -> None:
    found = absorb(WALK_INNER, WALK_OUT)
    np.testing.assert_allclose(found.visits, WALK_VISITS)
    np.testing.assert_allclose(found.steps, WALK_STEPS)
    np.testing.assert_allclose(found.ends, WALK_ENDS)


def test_chains_that_cannot_be_are_refused() -> None:
    with pytest.raises(NumbersError, match="add up"):
        absorb([[0.5]], [[0.4]])
    with pytest.raises(NumbersError, match="no end"):
        absorb([[1.0]], [[0.0]])


def test_arrows_go_to_the_next_stretch_or_to_the_end() -> None:
    tables = frames(
        {
            "possessions": [HEAD | {"id": "p", "ended": "goal"}, HEAD | {"id": "q"}],
            "runs": [
                HEAD | {"id": "r2", "possession": "p", "order": 2, "phase": "set"},
                HEAD | {"id": "r1", "possession": "p", "order": 1, "phase": "transition"},
                HEAD | {"id": "r3", "possession": "q", "order": 1, "phase": "transition"},
            ],
        }
    )
    rows = [(row["from"], row["to"], row["step_k"], row["step_n"], row["end"]) for row in records(arrows(tables))]
    assert rows == [
        ("set", "goal", 1, 1, True),
        ("transition", "set", 1, 2, False),
        ("transition", "unknown", 1, 2, True),
    ]


def test_destinies_are_what_following_the_possessions_gives() -> None:
    tables = season(2, n_games=4, n_possessions=60)
    part = Slice(team="ours")
    made, steps = destinies(tables, part), arrows(tables, part)
    ends = [name for name in made.columns.tolist() if name.startswith("to_")]
    assert made[ends].sum(axis=1).tolist() == pytest.approx([1.0] * len(made))
    assert made["runs"].sum() == (tables["runs"]["team"] == "ours").sum() == steps["step_k"].sum()
    # All first stretches taken together end in a goal as often as possessions do: the chain keeps its totals.
    runs, possessions = tables["runs"], tables["possessions"]
    first = runs[(runs["team"] == "ours") & (runs["order"] == 1)]["phase"].value_counts()
    expected = sum(n * one(made, **{"from": phase})["to_goal"] for phase, n in first.items())
    goals = ((possessions["team"] == "ours") & (possessions["ended"] == "goal")).sum()
    assert expected == pytest.approx(goals, abs=1e-6)
    few = destinies(season(2, n_games=1, n_possessions=10))
    assert len(few) == 0 and few.dtypes.to_dict() == made.dtypes[list(few.columns)].to_dict()
    held = [row for ids in made["runs_ids"] for row in ids]
    assert sorted(held) == sorted(runs[runs["team"] == "ours"]["id"]) and made["runs"].sum() == len(held)
    pd.testing.assert_frame_equal(made, destinies(coded(tables), part))


def test_the_nile_broke_after_1898() -> None:
    from statsmodels.datasets import nile

    data = nile.load_pandas().data
    found = in_mean(data["volume"])
    year, before, since = NILE_BREAK
    assert int(data["year"].iloc[found.after - 1]) == year
    assert (found.before, found.since) == pytest.approx((before, since), abs=0.005)
    assert found.p == pytest.approx(0.001)


def test_still_seasons_break_in_no_more_than_five_of_a_hundred_and_planted_breaks_are_found() -> None:
    rng = np.random.default_rng(5)
    still = planted = 0
    for seed in range(200):
        n = rng.integers(4, 10, 16)
        still += int(in_rate(rng.binomial(n, 0.4), n, n_shuffles=99, seed=seed).p <= 0.05)
        moved = in_rate(rng.binomial(n, np.repeat([0.2, 0.65], 8)), n, n_shuffles=99, seed=seed)
        planted += int(moved.p <= 0.05 and 6 <= moved.after <= 10)
    assert still <= 18 and planted >= 150  # 10 expected of 200; 18 is 2.6 standard errors above


def test_few_games_have_no_break_and_games_without_runs_keep_their_place() -> None:
    assert in_rate([1] * 14, [3] * 14).after == 0 and np.isnan(in_mean([]).p)
    k, n = np.array([0] * 9 + [5] * 9), np.full(18, 5)
    k[2], n[2] = 0, 0
    assert in_rate(k, n, fewest=15).after == 9


def _floor(seed: int, effect: float) -> tuple[dict[str, pd.DataFrame], dict[str, tuple[str, ...]]]:
    """Possessions of units drawn anew from eight players; player 1 adds to the share with a shot."""
    rng = np.random.default_rng(seed)
    members = {f"u{at}": tuple(str(number) for number in rng.choice(8, 4, replace=False)) for at in range(40)}
    rows: dict[str, list[dict[str, Any]]] = {"possessions": [], "lines": [], "shots": []}
    for at in range(700):
        unit = f"u{rng.integers(40)}"
        out = " ".join(members[unit])
        rows["lines"].append(HEAD | {"id": f"l{at}", "at_ms": at * 1000, "unit": unit, "players": out})
        rows["possessions"].append(HEAD | {"id": f"p{at}", "start_ms": at * 1000})
        if rng.random() < 0.4 + (effect if "1" in members[unit] else 0):
            rows["shots"].append(HEAD | {"id": f"s{at}", "possession": f"p{at}", "result": "wide"})
    return frames(rows), members


def test_a_planted_player_is_found_among_the_others_and_a_missing_one_is_not() -> None:
    hits = false = 0
    for seed in range(5):
        tables, members = _floor(seed, 0.25)
        made = effects(tables, members)
        hits += int(one(made, player="1")["effect_lo"] > 0.05)
        others = made[made["player"] != "1"]
        false += int(((others["effect_lo"] > 0) | (others["effect_hi"] < 0)).sum())
    assert hits >= 4 and false <= 4  # 35 others, 5 % of them expected at most
    assert one(made, player="1")["possessions"] == 700
    pd.testing.assert_frame_equal(effects(tables), made)  # who is out by the lines marked, without a list beside them


def test_effects_are_refused_under_the_floor() -> None:
    tables, members = _floor(1, 0.0)
    few = {name: frame.iloc[:300] for name, frame in tables.items()}
    empty = effects(few, members)
    assert len(empty) == 0 and len(effects(frames({}), members)) == 0
    pd.testing.assert_series_equal(empty.dtypes, effects(tables, members).dtypes)
