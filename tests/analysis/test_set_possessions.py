"""Sets by the possession they were run in, and what their runs became."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.codes import coded
from analysis.set_possessions import by_possession
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, season

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}
RUN = HEAD | {"phase": "set", "set": "keel", "penalty_drawn": False}


def _run(name: str, possession: str, start_s: int, ended: str | None, **how: Any) -> dict[str, Any]:
    return RUN | {"id": name, "possession": possession, "start_ms": start_s * 1000, "ended": ended} | how


def test_a_set_started_again_comes_to_its_shot_once_and_a_shot_before_it_is_not_its_own() -> None:
    tables = frames(
        {
            "possessions": [HEAD | {"id": "p1", "start_ms": 0}, HEAD | {"id": "p2", "start_ms": 50_000}],
            "runs": [
                _run("r1", "p1", 5, "pull_out"), _run("r2", "p1", 15, "shot"),
                _run("r3", "p2", 60, "whistle", penalty_drawn=True), _run("r4", "p2", 70, None),
                _run("r5", "p2", 80, "turnover", set="ferry"),
            ],
            "shots": [
                HEAD | {"id": "s0", "possession": "p2", "at_ms": 55_000, "result": "goal"},
                HEAD | {"id": "s1", "possession": "p1", "run": "r2", "at_ms": 20_000, "result": "unseen"},
            ],
            "turnovers": [HEAD | {"id": "t", "possession": "p2", "run": "r5", "at_ms": 85_000}],
        }
    )  # fmt: skip
    keel, ferry = one(by_possession(tables), set="keel"), one(by_possession(tables), set="ferry")
    assert (keel["possessions_ids"], keel["shot_ids"], keel["shot_n"]) == (("p1", "p2"), ("p1",), 2)
    assert (keel["goal_k"], keel["goal_n"], keel["goal_asked"], keel["again_k"]) == (0, 1, 2, 2)
    fates = ("shot", "penalty", "pull_out", "lost", "other", "unknown")
    assert [keel[f"became_{name}_ids"] for name in fates] == [("r2",), ("r3",), ("r1",), (), (), ("r4",)]
    assert (ferry["possessions"], ferry["shot_k"], ferry["became_lost"]) == (1, 0, 1)


def test_every_run_becomes_one_thing_and_coded_tables_say_the_same() -> None:
    tables = season(7, n_games=2, n_possessions=12)
    made, nothing = by_possession(tables), by_possession(frames({}))
    n = sum(made[name].sum() for name in made.columns.tolist() if name.startswith("became") and "ids" not in name)
    assert n == len(tables["runs"]) and made["possessions"].sum() <= n
    pd.testing.assert_series_equal(made.dtypes, nothing.dtypes)
    part = Slice(team="ours", sides=("left",))
    pd.testing.assert_frame_equal(by_possession(tables, part), by_possession(coded(tables), part))
