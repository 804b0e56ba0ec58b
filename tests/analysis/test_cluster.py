"""Intervals over a season-like grid: what they cover, and what games that differ do to them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.stats.cluster import bootstrap, per_game, widened
from analysis.stats.proportion import wilson


def test_wilson_covers_what_it_says_over_a_seasons_counts() -> None:
    from scipy.stats import binom

    covered = []
    for n in range(5, 61):
        k = np.arange(n + 1)
        found = wilson(k, n)
        for p in np.arange(0.05, 0.501, 0.05):
            covered.append(binom.pmf(k, n, p)[(found.lo <= p) & (p <= found.hi)].sum())
    assert 0.94 <= np.mean(covered) <= 0.96
    assert np.min(covered) >= 0.89  # exact, no simulation; the sorest spot is n = 11, p = .05


def test_the_coverage_of_the_textbook_interval_is_what_brown_cai_and_dasgupta_print() -> None:
    # Brown, Cai & DasGupta 2001, Statistical Science 16:101–133 (from memory): why Wald's interval is not used here.
    from scipy.stats import binom
    from statsmodels.stats.proportion import proportion_confint

    for p, n, printed in [(0.5, 17, 0.951), (0.5, 18, 0.904), (0.5, 40, 0.919), (0.2, 30, 0.946)]:
        k = np.arange(n + 1)
        lo, hi = proportion_confint(k, n, method="normal")
        assert binom.pmf(k, n, p)[(lo <= p) & (p <= hi)].sum() == pytest.approx(printed, abs=6e-4)


def _season(rng: np.random.Generator, n_games: int, differ: bool) -> tuple[np.ndarray, np.ndarray]:
    n = rng.integers(3, 9, n_games)
    p = rng.beta(3, 5, n_games) if differ else 0.375
    return rng.binomial(n, p), n


def test_when_games_differ_the_widened_interval_covers_and_the_plain_one_does_not() -> None:
    rng = np.random.default_rng(8)
    plain = wide = 0
    for _ in range(600):
        k, n = _season(rng, 16, differ=True)
        found, narrow = widened(k, n).interval, wilson(k.sum(), n.sum())
        plain += int(narrow.lo <= 0.375 <= narrow.hi)
        wide += int(found.lo <= 0.375 <= found.hi)
    assert plain / 600 < 0.9 < 0.93 <= wide / 600 <= 0.98


def test_when_games_do_not_differ_it_is_hardly_wider() -> None:
    rng = np.random.default_rng(9)
    ratios, hits = [], 0
    for _ in range(400):
        k, n = _season(rng, 16, differ=False)
        found, narrow = widened(k, n).interval, wilson(k.sum(), n.sum())
        ratios.append((found.hi - found.lo) / (narrow.hi - narrow.lo))
        hits += int(found.lo <= 0.375 <= found.hi)
    assert np.median(ratios) < 1.2 and hits / 400 >= 0.94


def test_the_bootstrap_over_games_agrees_where_there_are_many() -> None:
    rng = np.random.default_rng(10)
    k, n = _season(rng, 150, differ=True)
    found = widened(k, n)
    lo, hi = bootstrap(k, n)
    assert found.effect > 1.2
    assert (lo, hi) == pytest.approx((float(found.interval.lo), float(found.interval.hi)), abs=0.012)


def test_too_few_games_give_wilsons_interval_and_say_so() -> None:
    found = widened([1, 2, 0, 3], [5, 5, 5, 5])
    assert np.isnan(found.effect)
    assert float(found.interval.lo) == float(wilson(6, 20).lo)
    assert np.isnan(widened([], []).interval.estimate) and np.isnan(bootstrap([0], [0])[0])


@settings(deadline=None)
@given(st.lists(st.integers(0, 9).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), max_size=14))
def test_widened_is_never_narrower_and_knows_no_order_of_games(games: list[tuple[int, int]]) -> None:
    k, n = np.array([k for k, _ in games], dtype=int), np.array([n for _, n in games], dtype=int)
    found, plain = widened(k, n).interval, wilson(k.sum(), n.sum())
    backwards = widened(k[::-1], n[::-1]).interval
    if n.sum():
        assert found.lo <= plain.lo + 1e-12 and found.hi >= plain.hi - 1e-12
        assert (float(found.lo), float(found.hi)) == pytest.approx((float(backwards.lo), float(backwards.hi)))


def test_many_rates_are_widened_at_once_as_one_by_one() -> None:
    rng = np.random.default_rng(12)
    n = rng.integers(0, 6, (9, 11))
    k = rng.binomial(n, 0.4)
    k[3], k[4], n[5, :7], k[5, :7] = 0, n[4], 0, 0
    found = widened(k, n)
    for row in range(9):
        one = widened(k[row], n[row])
        assert float(found.interval.lo[row]) == pytest.approx(float(one.interval.lo))
        assert np.isnan(found.effect[row]) == np.isnan(one.effect) == (row in {3, 4, 5})


def test_rows_are_counted_per_game() -> None:
    k, n = per_game(np.array([True, False, True]), np.array([0, 0, 2]))
    assert k.tolist() == [1, 0, 1] and n.tolist() == [2, 0, 1]
