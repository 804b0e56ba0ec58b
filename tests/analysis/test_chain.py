"""Where possessions go from each kind of stretch."""

from __future__ import annotations

import pandas as pd

from analysis.chain import arrows
from analysis.codes import coded
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import records, season

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


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
        ("transition", "set", 1, 1, False),
    ], "where one went that nobody knows is in neither"
    assert [row["step_asked"] for row in records(arrows(tables))] == [1, 2]


def test_every_stretch_goes_to_one_place_and_coded_tables_say_the_same() -> None:
    tables = season(2, n_games=4, n_possessions=30)
    part = Slice(team="ours")
    made, nothing = arrows(tables, part), arrows(frames({}))
    known = tables["runs"]["team"] == "ours"
    assert made["step_k"].sum() == known.sum() and len(nothing) == 0
    pd.testing.assert_series_equal(made.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(made, arrows(coded(tables), part))
