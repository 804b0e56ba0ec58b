"""Intervals over a season-like grid: what they cover, and what games that differ do to them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import NumbersError
from analysis.stats.cluster import alike, difference, per_game, widened, widened_counts
from analysis.stats.exposure import garwood
from analysis.stats.proportion import newcombe, wilson


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
        found, narrow = widened([k], [n]).interval, wilson(k.sum(), n.sum())
        plain += int(narrow.lo <= 0.375 <= narrow.hi)
        wide += int(found.lo[0] <= 0.375 <= found.hi[0])
    assert plain / 600 < 0.9 < 0.93 <= wide / 600 <= 0.98


def test_when_games_do_not_differ_it_is_hardly_wider() -> None:
    rng = np.random.default_rng(9)
    ratios, hits = [], 0
    for _ in range(400):
        k, n = _season(rng, 16, differ=False)
        found, narrow = widened([k], [n]).interval, wilson(k.sum(), n.sum())
        ratios.append((found.hi - found.lo) / (narrow.hi - narrow.lo))
        hits += int(found.lo[0] <= 0.375 <= found.hi[0])
    assert np.median(ratios) < 1.2 and hits / 400 >= 0.94


def test_how_alike_rows_of_a_game_are_is_the_analysis_of_variance_drawn_towards_the_usual() -> None:
    k, n = np.array([[1.0, 2, 0, 3]]), np.full((1, 4), 5.0)
    between = 5 * ((k / 5 - 0.3) ** 2).sum() / 3
    within = float((k - k * k / 5).sum()) / 16
    rho = (between - within) / (between + 4 * within)
    assert rho == pytest.approx((1 / 3 - 0.2) / (1 / 3 + 0.8))
    assert alike(k, n) == pytest.approx((3 * rho + 4 * 0.05) / 7)


def test_where_no_row_has_two_games_the_interval_is_of_that_game_and_says_so() -> None:
    found = widened([[6, 0], [0, 4]], [[20, 0], [0, 10]])
    plain = wilson([6, 4], [20, 10])
    assert np.isnan(found.effect).all() and found.interval.lo == pytest.approx(plain.lo)
    assert found.interval.hi == pytest.approx(plain.hi)
    assert np.isnan(widened([[0]], [[0]]).interval.estimate[0])
    assert len(widened(np.empty((0, 1)), np.empty((0, 1))).effect) == 0


def test_a_rate_without_its_games_is_refused() -> None:
    with pytest.raises(NumbersError, match="per game"):
        widened([3], [20])


@settings(deadline=None)
@given(st.lists(st.integers(0, 9).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))), min_size=1, max_size=14))
def test_widened_is_never_narrower_and_knows_no_order_of_games(games: list[tuple[int, int]]) -> None:
    k, n = np.array([k for k, _ in games], dtype=int), np.array([n for _, n in games], dtype=int)
    found, plain = widened([k], [n]).interval, wilson(k.sum(), n.sum())
    backwards = widened([k[::-1]], [n[::-1]]).interval
    if n.sum():
        assert found.lo[0] <= plain.lo + 1e-12 and found.hi[0] >= plain.hi - 1e-12
        assert found.lo[0] <= found.estimate[0] <= found.hi[0]
        assert (found.lo[0], found.hi[0]) == pytest.approx((backwards.lo[0], backwards.hi[0]))


def test_a_set_with_few_games_learns_from_the_others_by_how_much_games_differ() -> None:
    rng = np.random.default_rng(12)
    luck = rng.beta(1.5, 1.5, 12)
    n = np.full((6, 12), 10)
    n[5, 3:] = 0
    k = rng.binomial(n, luck)
    alone, among_others = widened(k[5:], n[5:]), widened(k, n)
    assert alike(k.astype(float), n.astype(float)) > 0.1
    assert among_others.effect[5] > 1 and among_others.effect[5] != pytest.approx(alone.effect[0])
    assert len(set(among_others.effect[:5].round(9))) == 1


def test_differences_are_newcombes_where_each_rate_is_of_one_game_and_wider_else() -> None:
    one = difference([[56, 0]], [[70, 0]], [[0, 48]], [[0, 80]])
    assert (one.lo[0], one.hi[0]) == pytest.approx((0.0524, 0.3339), abs=5e-5)
    more = difference([[28, 28]], [[35, 35]], [[24, 24]], [[40, 40]])
    plain = newcombe(56, 70, 48, 80)
    assert more.lo[0] < plain.lo and more.hi[0] > plain.hi and more.estimate[0] == pytest.approx(plain.estimate)


def test_counts_that_spread_more_than_poissons_from_game_to_game_have_wider_bounds() -> None:
    even, uneven = [[4, 4, 4, 4, 4, 4]], [[0, 9, 0, 8, 7, 0]]
    time = np.full((1, 6), 10)
    plain = garwood(24, 60, per=100)
    steady, jumpy = widened_counts(even, time, per=100), widened_counts(uneven, time, per=100)
    assert steady.effect[0] == 1 and (steady.interval.lo[0], steady.interval.hi[0]) == pytest.approx(
        (float(plain.lo), float(plain.hi))
    )
    chi = sum((k - 4) ** 2 / 4 for k in uneven[0]) / 5
    assert jumpy.effect[0] == pytest.approx(chi)
    assert jumpy.interval.lo[0] < plain.lo and jumpy.interval.hi[0] > plain.hi
    alone = widened_counts([[24]], [[60]], per=100)
    assert np.isnan(alone.effect[0]) and alone.interval.lo[0] == pytest.approx(plain.lo)


def test_rows_are_counted_per_game() -> None:
    k, n = per_game(np.array([True, False, True]), np.array([0, 0, 2]))
    assert k.tolist() == [1, 0, 1] and n.tolist() == [2, 0, 1]
