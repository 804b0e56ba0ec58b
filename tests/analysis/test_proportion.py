"""Intervals for proportions against the published values and against what must always hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import NumbersError
from analysis.stats.exposure import garwood
from analysis.stats.proportion import newcombe, wilson
from tests.analysis.published import GARWOOD, NEWCOMBE_DIFFERENCE, WILSON_DIGITS, WILSON_PRINTED


@pytest.mark.parametrize(("counts", "bounds"), WILSON_PRINTED.items())
def test_wilson_gives_the_values_newcombe_printed(counts: tuple[int, int], bounds: tuple[float, float]) -> None:
    found = wilson(*counts)
    assert (round(float(found.lo), 4), round(float(found.hi), 4)) == pytest.approx(bounds, abs=5e-5)


@pytest.mark.parametrize(("counts", "bounds"), WILSON_DIGITS.items())
def test_wilson_holds_to_ten_decimals(counts: tuple[int, int], bounds: tuple[float, float]) -> None:
    found = wilson(*counts)
    assert (float(found.lo), float(found.hi)) == pytest.approx(bounds, abs=1e-10)


def test_wilson_agrees_with_statsmodels_on_every_count_up_to_sixty() -> None:
    from statsmodels.stats.proportion import proportion_confint

    pairs = np.array([(k, n) for n in range(1, 61) for k in range(n + 1)])
    for level in (0.8, 0.95, 0.99):
        lo, hi = proportion_confint(pairs[:, 0], pairs[:, 1], alpha=1 - level, method="wilson")
        found = wilson(pairs[:, 0], pairs[:, 1], level)
        np.testing.assert_allclose(found.lo, lo, atol=1e-12)
        np.testing.assert_allclose(found.hi, hi, atol=1e-12)


def test_no_trials_give_no_estimate_and_no_warning() -> None:
    found = wilson([0, 0, 3], [0, 4, 3])
    assert np.isnan([found.estimate[0], found.lo[0], found.hi[0]]).all()
    assert (found.estimate[1], found.lo[1], found.hi[2]) == (0.0, 0.0, 1.0)
    assert np.isnan(newcombe(0, 0, 1, 2).estimate)


@settings(deadline=None)
@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_wilson_contains_its_estimate_mirrors_and_stays_inside(counts: tuple[int, int]) -> None:
    k, n = counts
    found, mirrored = wilson(k, n), wilson(n - k, n)
    assert 0 <= found.lo <= k / n <= found.hi <= 1
    assert (float(found.lo), float(found.hi)) == pytest.approx((1 - mirrored.hi, 1 - mirrored.lo), abs=1e-12)
    narrower = wilson(2 * k, 2 * n)
    assert narrower.hi - narrower.lo < found.hi - found.lo


@pytest.mark.parametrize(("counts", "bounds"), NEWCOMBE_DIFFERENCE.items())
def test_differences_give_the_values_newcombe_printed(
    counts: tuple[int, int, int, int], bounds: tuple[float, float]
) -> None:
    found = newcombe(*counts)
    assert (float(found.lo), float(found.hi)) == pytest.approx(bounds, abs=5e-5)


def test_differences_agree_with_statsmodels() -> None:
    from statsmodels.stats.proportion import confint_proportions_2indep

    for k1, n1, k2, n2 in [(5, 12, 9, 31), (1, 40, 3, 22), (17, 18, 2, 9)]:
        lo, hi = confint_proportions_2indep(k1, n1, k2, n2, method="newcomb", compare="diff")
        found = newcombe(k1, n1, k2, n2)
        assert (float(found.lo), float(found.hi)) == pytest.approx((lo, hi), abs=1e-9)


@settings(deadline=None)
@given(
    st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
)
def test_differences_turn_round_with_their_sides(first: tuple[int, int], second: tuple[int, int]) -> None:
    one, other = newcombe(*first, *second), newcombe(*second, *first)
    assert -1 <= one.lo <= one.estimate <= one.hi <= 1
    assert (float(one.lo), float(one.hi)) == pytest.approx((-other.hi, -other.lo), abs=1e-12)


@pytest.mark.parametrize(("k", "bounds"), GARWOOD.items())
def test_counts_per_exposure_give_the_values_garwood_printed(k: int, bounds: tuple[float, float]) -> None:
    found = garwood(k, 1)
    assert (float(found.lo), float(found.hi)) == pytest.approx(bounds, abs=6e-4)
    scaled = garwood(k, 50, per=100)
    assert (float(scaled.lo), float(scaled.hi)) == pytest.approx((2 * found.lo, 2 * found.hi))


def test_counts_without_exposure_give_no_estimate() -> None:
    found = garwood([0, 3], [0, 10])
    assert np.isnan(found.estimate[0]) and found.estimate[1] == pytest.approx(0.3)


@pytest.mark.parametrize(("k", "n"), [(3, 2), (-1, 4)])
def test_counts_that_cannot_be_are_refused(k: int, n: int) -> None:
    with pytest.raises(NumbersError, match="successes"):
        wilson(k, n)
    with pytest.raises(NumbersError):
        garwood(-1, n)
    with pytest.raises(NumbersError, match="level"):
        wilson(1, 2, 95)
