"""The bench of widths on small cases: its seasons have the rates they say, and it counts what it says."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.honesty.still import Kind, about, season
from tests.bench.honesty.widths import alone, chances, covered, held, together


def test_games_differ_by_as_much_as_is_said_about_the_mean_that_is_said() -> None:
    luck = (np.arange(4000) + 0.5) / 4000
    rates = about(np.random.default_rng(0), 0.5, 0.11, luck)
    assert (rates.mean(), rates.std()) == pytest.approx((0.5, 0.11), abs=1e-3)
    assert about(np.random.default_rng(0), 0.3, 0.0, luck).tolist() == [0.3] * 4000


def test_a_season_has_every_kind_of_rate_and_is_the_same_from_its_seed() -> None:
    kind = Kind("differ", 0.11, per_game=6, n_games=3)
    found = held(4, kind)
    assert {name for name, _, _ in found} == {
        "sets", "looks", "screens", "players", "lines", "goalkeeper", "opponents",
    }  # fmt: skip
    assert season(4, kind).rows == season(4, kind).rows and all(width > 0 for _, _, width in found)


def test_coverage_and_chances_are_counted_against_their_goals() -> None:
    seasons = [[("sets", True, 0.1)] * 19 + [("sets", False, 0.1), ("looks", False, 0.2)]] * 40
    ok, missed = covered("alike", seasons)
    assert (ok.value, ok.ok, missed.value, missed.ok) == (0.95, True, 0.0, False)
    fair, over_sure = chances(
        "alike", [(0.05, False)] * 38 + [(0.05, True)] * 2 + [(0.9, True)] * 15 + [(0.9, False)] * 15
    )
    assert fair.ok and not over_sure.ok and over_sure.value == pytest.approx(-0.4)


def test_intervals_that_fail_together_are_luck_and_those_that_fail_by_themselves_are_not() -> None:
    """19 of 200 seasons: a tenth of all intervals either way, but drawn 200 times in the one and 1200 in the other."""
    one_draw = [[("sets", seed >= 19, 0.1)] * 6 for seed in range(200)]
    own_draws = [[("sets", (6 * seed + place) % 10 > 0, 0.1) for place in range(6)] for seed in range(200)]
    assert [figure.ok for found in (one_draw, own_draws) for figure in covered("differ", found)] == [True, False]


def test_the_formula_alone_holds_the_truth_where_games_differ() -> None:
    hits = [hit for seed in range(150) for hit in alone(seed, Kind("differ", 0.11), (0.45,) * 6, 10.0)]
    assert 0.92 < np.mean(hits) < 0.98


def test_rates_drawn_together_are_held_against_every_spread() -> None:
    found, said = together(2, Kind("alike", 0.0, per_game=4, n_games=3))
    assert {name.removesuffix(", taken as one") for name, _, _ in found} == {
        f"sets' spread {spread:g}" for spread in (0, 0.03, 0.06, 0.1)
    }
    assert 1 <= sum(so for _, so in said) <= 3 and all(0 <= p <= 1 for p, _ in said)
