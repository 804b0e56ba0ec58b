"""Trends: planted ones are found, still seasons raise no alarm, and few games give no slope."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.errors import QuestionError
from analysis.findings import findings
from analysis.trend import dots, running, slope, slopes
from tagger.tables import frames
from tests.analysis.invented import one, records, season

GAMES = tuple(f"g{n}" for n in range(1, 15))


def test_no_slope_under_twelve_games() -> None:
    few = slope([3] * 11, [6] * 11)
    assert np.isnan([few.per_game, few.lo, few.hi, few.first, few.last]).all() and few.n_games == 11
    assert not np.isnan(slope([3] * 12, [6] * 12).per_game)


def test_the_slope_is_the_weighted_glm_of_statsmodels_but_for_firths_correction() -> None:
    import statsmodels.api as sm

    rng = np.random.default_rng(4)
    n = rng.integers(60, 120, 16)
    k = rng.binomial(n, 1 / (1 + np.exp(0.6 - 0.08 * np.arange(16))))
    x = sm.add_constant(np.arange(16.0) - np.average(np.arange(16), weights=n))
    theirs = sm.GLM(np.column_stack([k, n - k]), x, family=sm.families.Binomial()).fit()
    found = slope(k, n)
    assert found.per_game == pytest.approx(theirs.params[1], rel=0.02)
    assert found.last - found.first == pytest.approx(theirs.fittedvalues[-1] - theirs.fittedvalues[0], abs=0.01)


def test_still_seasons_raise_alarms_in_no_more_than_five_of_a_hundred() -> None:
    # Games differ much by opponent (beta-distributed rates), the mean does not move. 1000 seasons: 5 % ± 1.4 % at two
    # standard errors. Without allowing for games that differ, one season in four would raise one.
    rng = np.random.default_rng(6)
    alarms = 0
    for _ in range(1000):
        n = rng.integers(8, 16, 16)
        found = slope(rng.binomial(n, rng.beta(2.5, 4, 16)), n)
        alarms += int(found.lo > 0 or found.hi < 0)
    assert alarms <= 64


def test_a_planted_trend_is_found() -> None:
    rng = np.random.default_rng(7)
    hits = 0
    for _ in range(100):
        n = rng.integers(5, 12, 16)
        found = slope(rng.binomial(n, np.linspace(0.2, 0.7, 16)), n)
        hits += int(found.lo > 0)
    assert hits >= 85


@settings(deadline=None)
@given(st.lists(st.integers(0, 8).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), max_size=20))
def test_the_running_estimate_stays_in_its_bounds_and_forgets(games: list[tuple[int, int]]) -> None:
    k, n = np.array([k for k, _ in games], dtype=int), np.array([n for _, n in games], dtype=int)
    found = running(k, n)
    there = np.cumsum(n) > 0
    assert np.isnan(found.estimate[~there]).all()
    # A beta far out on one side can have its mean outside its middle 95 %; with Jeffreys' half added it does not here.
    assert ((found.lo <= found.estimate) & (found.estimate <= found.hi))[there].all()
    whole = running(k, n, remembered=1)
    if n.sum():
        assert whole.estimate[-1] == pytest.approx((k.sum() + 0.5) / (n.sum() + 1))


def test_the_running_estimate_is_the_discounted_count() -> None:
    found = running([1, 2, 0], [2, 2, 0], remembered=0.5)
    assert found.estimate.tolist() == pytest.approx([1.5 / 3, 3.0 / 4, 1.75 / 2.5])


def test_the_running_estimate_follows_a_jump_sooner_than_the_mean_does() -> None:
    k, n = np.array([1] * 8 + [7] * 4), np.full(12, 8)
    assert running(k, n).estimate[-1] > running(k, n, remembered=1).estimate[-1] + 0.15


def test_dots_have_a_place_for_every_game_in_order_even_without_runs() -> None:
    tables = season(2, n_games=3, n_possessions=20)
    made = dots(tables, ("g3", "g1", "g9"))
    lantern = [row for row in records(made) if (row["set"], row["strength"]) == ("lantern", "even")]
    assert [(row["game"], row["place"]) for row in lantern] == [("g3", 1), ("g1", 2), ("g9", 3)]
    assert lantern[2]["rate_n"] == 0 and lantern[2]["rate"] is None and lantern[2]["running"] is not None
    runs = tables["runs"]
    own = runs[(runs["set"] == "lantern") & (runs["strength"] == "5v5") & (runs["game"] == "g3")]
    assert lantern[0]["rate_n"] == len(own) and set(lantern[0]["rate_n_ids"]) == set(own["id"])


def test_a_set_that_gets_better_moves_and_the_rest_does_not() -> None:
    runs: list[dict[str, Any]] = []
    shots: list[dict[str, Any]] = []
    for place, game in enumerate(GAMES):
        for name, hits in (("keel", min(place, 9)), ("ferry", 5)):
            for at in range(10):
                head = {"game": game, "team": "ours", "strength": "5v5", "id": f"{game}{name}{at}"}
                runs.append(head | {"phase": "set", "set": name, "ended": "shot"})
                if at < hits:
                    shots.append(head | {"id": f"s{game}{name}{at}", "run": f"{game}{name}{at}", "result": "wide"})
    tables = frames({"runs": runs, "shots": shots})
    found = findings(tables, games=GAMES)
    made = found.slopes["shot"]
    keel, ferry = one(made, set="keel"), one(made, set="ferry")
    assert keel["moves"] and keel["slope_lo"] > 0 and keel["last"] > keel["first"] + 0.5 and keel["games"] == 14
    assert not ferry["moves"] and len(ferry["slope_ids"]) == 140
    assert found.looked_at == len(found.compared) + 2


@pytest.mark.parametrize("make", [dots, slopes])
@pytest.mark.parametrize("what", ["shot", "done"])
def test_nothing_and_coded_tables(make: Any, what: str) -> None:
    tables = season(7, n_games=2, n_possessions=14)
    full, nothing = make(tables, GAMES, what=what), make(frames({}), GAMES, what=what)
    assert len(nothing) == 0 and len(full) > 0
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables), GAMES, what=what))
    with pytest.raises(QuestionError, match="luck"):
        make(tables, GAMES, what="luck")
