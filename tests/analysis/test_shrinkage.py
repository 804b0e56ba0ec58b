"""Rates drawn together: from the raw batting data to the published estimates, and what happens without spread."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.stats.shrinkage import by_likelihood, by_moments, posterior, shrunken
from tests.analysis.published import (
    AT_BATS,
    BETA_BY_MOMENTS,
    HITS,
    JEFFREYS,
    REST_OF_SEASON,
)
from tests.counts import cases

_COUNTS = st.lists(st.integers(0, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), max_size=8)


def test_the_beta_binomial_by_moments_has_the_recomputed_parameters() -> None:
    spread = by_moments(HITS, [AT_BATS] * len(HITS))
    assert (spread.a, spread.b) == pytest.approx(BETA_BY_MOMENTS, abs=0.001)
    assert spread.method == "moments" and spread.n == 18


def test_beta_binomial_rates_predict_the_rest_of_the_season_better_than_raw_ones() -> None:
    trials = [AT_BATS] * len(HITS)
    truth = np.array(REST_OF_SEASON)
    raw_error = np.sum((np.array(HITS) / AT_BATS - truth) ** 2)
    for fit in (by_moments, by_likelihood):
        drawn = shrunken(HITS, trials, fit(HITS, trials))
        assert np.sum((drawn.estimate - truth) ** 2) < raw_error / 3


def test_maximum_likelihood_is_the_top_of_scipys_own_likelihood() -> None:
    from scipy.stats import betabinom

    k, n = np.array([2, 9, 4, 14, 1]), np.array([12, 20, 15, 22, 18])
    found = by_likelihood(k, n)

    def height(a: float, b: float) -> float:
        return float(betabinom.logpmf(k, n, a, b).sum())

    top = height(found.a, found.b)
    assert found.method == "likelihood"
    assert all(
        height(found.a * up, found.b * across) <= top + 1e-9 for up in (0.97, 1, 1.03) for across in (0.97, 1, 1.03)
    )


def test_sets_without_more_spread_than_chance_are_pooled_and_say_so() -> None:
    for fit in (by_moments, by_likelihood):
        spread = fit([5, 5, 5, 5], [10, 10, 10, 10])
        drawn = shrunken([5, 5, 5, 0], [10, 10, 10, 0], spread)
        assert spread.pooled and spread.method == "pooled"
        assert len(set(drawn.estimate.tolist())) == 1 and drawn.estimate[0] == pytest.approx(0.5)


@pytest.mark.parametrize(("counts", "bounds"), JEFFREYS.items())
def test_pooled_rates_have_jeffreys_interval(counts: tuple[int, int], bounds: tuple[float, float]) -> None:
    k, n = counts
    drawn = shrunken([k], [n], by_moments([k], [n]))
    assert (float(drawn.lo[0]), float(drawn.hi[0])) == pytest.approx(bounds, abs=1e-8)


def test_a_set_that_was_never_run_gets_the_common_rate() -> None:
    spread = by_moments([2, 18, 9], [20, 20, 20])
    drawn = shrunken([2, 18, 0], [20, 20, 0], spread)
    assert not spread.pooled and drawn.estimate[2] == pytest.approx(spread.mean)
    assert drawn.hi[2] - drawn.lo[2] > drawn.hi[0] - drawn.lo[0]


@settings(max_examples=cases(15, many=40), deadline=None)
@given(_COUNTS)
def test_drawn_rates_lie_between_the_raw_and_the_common_one(pairs: list[tuple[int, int]]) -> None:
    k, n = np.array([k for k, _ in pairs], dtype=int), np.array([n for _, n in pairs], dtype=int)
    for fit in (by_moments, by_likelihood):
        spread = fit(k, n)
        drawn = shrunken(k, n, spread)
        a, b = posterior(k, n, spread)
        assert a.shape == b.shape == k.shape
        if n.sum() == 0:
            assert np.isnan(drawn.estimate).all()
            continue
        assert ((drawn.lo <= drawn.estimate) & (drawn.estimate <= drawn.hi)).all()
        if not spread.pooled:
            raw = k[n > 0] / n[n > 0]
            low, high = np.minimum(raw, spread.mean), np.maximum(raw, spread.mean)
            assert ((low - 1e-9 <= drawn.estimate[n > 0]) & (drawn.estimate[n > 0] <= high + 1e-9)).all()


def test_over_many_playbooks_drawn_rates_miss_by_less_than_raw_ones() -> None:
    rng = np.random.default_rng(20)
    raw_error = drawn_error = 0.0
    for _ in range(200):
        truth = rng.beta(12, 16, 6)
        n = rng.integers(5, 50, 6)
        k = rng.binomial(n, truth)
        raw_error += np.sum((k / n - truth) ** 2)
        drawn_error += np.sum((shrunken(k, n, by_moments(k, n)).estimate - truth) ** 2)
    assert drawn_error < 0.75 * raw_error
