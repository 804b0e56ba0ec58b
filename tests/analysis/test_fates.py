"""What each run became: the first that holds, one word a run."""

from __future__ import annotations

from typing import Any

import pytest

from analysis.fates import FATES, fates
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import season

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5", "possession": "p"}


def _became(ended: str | None, *results: str | None, **how: Any) -> str:
    run = HEAD | {"id": "r", "phase": "set", "set": "keel", "start_ms": 0, "ended": ended, "penalty_drawn": False}
    shots = [
        HEAD | {"id": f"s{n}", "run": "r", "at_ms": 1000 + n, "result": result} for n, result in enumerate(results)
    ]
    lost = [HEAD | {"id": "t", "run": "r", "at_ms": 5000}] if ended == "turnover" else []
    [fate] = fates(frames({"runs": [run | how], "shots": shots, "turnovers": lost}))["fate"]
    return str(fate)


@pytest.mark.parametrize(
    ("fate", "ended", "results"),
    [
        ("goal", "shot", ["saved", "goal"]),
        ("saved", "shot", ["wide", "saved"]),
        ("missed", "shot", ["wide"]),
        ("shot", "shot", ["unseen"]),  # it may have been a goal
        ("shot", "shot", ["saved", "unseen"]),
        ("goal", "shot", ["goal", "unseen"]),
        ("pull_out", "pull_out", []),
        ("lost", "turnover", []),
        ("saved", "turnover", ["saved"]),  # the shot comes first
        ("unknown", None, []),
    ],
)
def test_a_run_became_the_first_that_holds(fate: str, ended: str | None, results: list[str | None]) -> None:
    assert _became(ended, *results) == fate


def test_a_penalty_drawn_is_said_where_no_shot_was() -> None:
    assert _became("whistle", penalty_drawn=True) == "penalty"
    assert _became("shot", "wide", penalty_drawn=True) == "missed"


def test_every_run_of_a_part_has_one_in_the_order_of_the_table() -> None:
    tables = season(7, n_games=2, n_possessions=12)
    runs = tables["runs"]
    assert fates(tables)["id"].tolist() == runs["id"].tolist()
    left = fates(tables, Slice(team="ours", sides=("left",)))
    assert left["id"].tolist() == runs["id"][(runs["team"] == "ours") & (runs["side"] == "left")].tolist()
    assert set(left["fate"]) <= set(FATES) and len(left)
    assert fates(frames({})).empty
