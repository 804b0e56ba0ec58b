"""The chain of stretches: against the published walk, and against following the possessions."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.chain import absorb, arrows, destinies
from analysis.codes import coded
from analysis.errors import NumbersError
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, records, season
from tests.analysis.published import WALK_ENDS, WALK_INNER, WALK_OUT, WALK_STEPS, WALK_VISITS

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
