"""Rates drawn together with how little is known of their spread: published examples, and coverage on small seasons."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.stats.ranking import mixed, ranks
from analysis.stats.together import of_games, together
from tests.analysis.published import RAT_TUMOURS, SCHOOLS, SCHOOLS_BOUNDS, SCHOOLS_MEANS


def test_eight_schools_have_the_published_means_and_bounds() -> None:
    # Normal effects with known errors, as shares of very many trials about one half: 1 point is one in a thousand.
    effect, error = (np.array(column, dtype=float) for column in zip(*SCHOOLS, strict=True))
    n = 0.25 / (error / 1000) ** 2
    found = together(n * (0.5 + effect / 1000), n).interval()
    means, lo, hi = ((each - 0.5) * 1000 for each in found)
    np.testing.assert_allclose(means, SCHOOLS_MEANS, atol=0.3)
    for school, bounds in SCHOOLS_BOUNDS.items():
        assert (lo[school], hi[school]) == pytest.approx(bounds, abs=0.5)


def test_rat_tumours_have_the_published_spread() -> None:
    k, n = np.array(RAT_TUMOURS).T
    assert len(k) == 71 and np.mean(k[:70] / n[:70]) == pytest.approx(0.136, abs=5e-4)
    assert np.std(k[:70] / n[:70], ddof=1) == pytest.approx(0.103, abs=5e-4)
    found = together(k, n)
    evidence = 1 / found.alike - 1
    assert found.weight @ (found.mean * evidence) == pytest.approx(2.4, abs=0.1)
    assert found.weight @ ((1 - found.mean) * evidence) == pytest.approx(14.3, abs=0.5)


def test_sets_that_look_alike_are_not_said_to_be_one() -> None:
    found = together([20, 20, 20, 20], [40, 40, 40, 40]).interval()
    assert found.estimate == pytest.approx([0.5] * 4, abs=1e-3)
    assert (found.hi - found.lo > 1.2 * 2 * 1.96 * np.sqrt(0.25 / 160)).all()  # wider than of all runs as one set


def test_nothing_and_one_set_alone_are_drawn_without_a_warning() -> None:
    empty = together([0, 0], [0, 0])
    assert np.isnan(empty.interval().lo).all() and np.isnan(empty.common) and np.isnan(empty.evidence)
    assert of_games(np.empty((0, 1)), np.empty((0, 1))).ranks(np.empty(0, dtype=np.intp)).places.shape == (0, 0)
    alone = together([3, 0], [10, 0])
    found = alone.interval()
    assert found.lo[1] < found.lo[0] < 0.3 < found.hi[0] < found.hi[1]
    assert alone.ranks(np.array([0])).best.tolist() == pytest.approx([1])


def test_ranks_over_steps_are_those_of_the_integral() -> None:
    a, b = np.array([6.0, 9, 5]), np.array([10.0, 8, 12])
    angle = (np.arange(800) + 0.5) / 800 * np.pi / 2
    height = 2 * ((a - 0.5)[:, None] * np.log(np.sin(angle)) + (b - 0.5)[:, None] * np.log(np.cos(angle)))
    mass = np.exp(height - height.max(axis=1, keepdims=True))
    found, exact = mixed([1.0], [mass / mass.sum(axis=1, keepdims=True)]), ranks(a, b)
    np.testing.assert_allclose(found.places, exact.places, atol=1e-4)
    np.testing.assert_allclose(found.better, exact.better, atol=1e-4)


def test_days_that_are_good_for_all_sets_make_every_set_less_sure_and_no_order_of_them() -> None:
    day = np.array([2, 8, 2, 8, 2, 8])
    n = np.full((3, 6), 10)
    common, apart = of_games([day, day, day], n), of_games([day, day[::-1], np.full(6, 5)], n)
    assert common.shift > 0 and apart.shift == 0
    wide = common.interval()
    found = together(common.k, common.n).interval()
    assert (wide.hi - wide.lo > found.hi - found.lo).all()


@pytest.mark.parametrize("spread", [0.0, 0.1])
def test_over_small_seasons_whose_games_differ_nineteen_of_twenty_intervals_hold(spread: float) -> None:
    rng = np.random.default_rng(31)
    held = []
    for _ in range(60):
        truth = np.clip(0.45 + spread * rng.standard_normal(6), 0.1, 0.9)
        rates = rng.beta(truth[:, None] * 19, (1 - truth)[:, None] * 19, (6, 8))  # games' sd is .11
        n = rng.poisson(10, (6, 8))
        found = of_games(rng.binomial(n, rates), n).interval()
        held.append((found.lo <= truth) & (truth <= found.hi))
    assert np.mean(held) >= 0.925
