"""Which set is better: never a bare order."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.slice import Slice
from analysis.standing import better, standings
from tagger.tables import frames
from tests.analysis.invented import one, records, season

EVEN = Slice(team="ours", strengths=("even",))


def _runs(counts: dict[str, tuple[int, int]]) -> dict[str, pd.DataFrame]:
    runs: list[dict[str, Any]] = []
    shots: list[dict[str, Any]] = []
    for name, (k, n) in counts.items():
        for at in range(n):
            head = {"game": "g", "team": "ours", "strength": "5v5"}
            phase = {"phase": "freelance"} if name == "freelance" else {"phase": "set", "set": name}
            runs.append(head | phase | {"id": f"{name}{at}", "ended": "shot" if at < k else "turnover"})
            if at < k:
                shots.append(head | {"id": f"s{name}{at}", "run": f"{name}{at}", "result": "wide"})
    return frames({"runs": runs, "shots": shots})


def test_sets_with_too_few_runs_are_not_ranked() -> None:
    made = standings(_runs({"ferry": (2, 5), "keel": (9, 20), "lantern": (45, 60)}), EVEN)
    ferry, keel, lantern = records(made)
    assert ferry["p_best"] is None and ferry["rank"] is None and ferry["shrunken_few"]
    assert lantern["ranked"] == 2 and lantern["p_best"] + keel["p_best"] == pytest.approx(1)
    assert ferry["raw"] < ferry["shrunken"]


def test_a_planted_difference_is_found_and_a_missing_one_is_not() -> None:
    apart = one(standings(_runs({"ferry": (12, 60), "keel": (15, 60), "lantern": (45, 60)}), EVEN), set="lantern")
    assert apart["p_best"] > 0.99 and (apart["rank_lo"], apart["rank_hi"]) == (1, 1)
    alike = standings(_runs({"ferry": (30, 60), "keel": (30, 60), "lantern": (31, 60)}), EVEN)
    assert (alike["spread"] == "pooled").all() and alike["p_best"].tolist() == pytest.approx([1 / 3] * 3, abs=0.05)
    assert (alike["rank_lo"] == 1).all() and (alike["rank_hi"] == 3).all()


def test_empty_coded_and_unknown() -> None:
    make = standings
    nothing, tables = make(frames({})), season(3, n_games=4, n_possessions=30)
    full = make(tables)
    assert len(nothing) == 0 and len(full) > 0
    pd.testing.assert_series_equal(nothing.dtypes, full.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))
    for fit in ("moments", "likelihood"):
        assert len(make(_runs({"ferry": (0, 12), "keel": (12, 12)}), fit=fit)) > 0
    with pytest.raises(QuestionError, match="goals"):
        make(tables, fact="goals")
    with pytest.raises(QuestionError, match="magic"):
        make(tables, fit="magic")


def test_the_chance_of_one_set_over_another_is_said_where_sets_differ_and_is_the_other_s_turned_round() -> None:
    tables = _runs({"ferry": (12, 60), "keel": (15, 60), "lantern": (45, 60)})
    chance, other = (better(tables, EVEN, "shot", *pair) for pair in (("lantern", "keel"), ("keel", "lantern")))
    assert chance is not None and other is not None
    assert chance > 0.99 and chance + other == pytest.approx(1)
    assert better(tables, EVEN, "shot", "keel", "tidepool") is None
    assert better(_runs({"ferry": (30, 60), "keel": (30, 60)}), EVEN, "shot", "ferry", "keel") is None
