"""Probabilities of being better and of being best, and looking at many things at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.stats.multiplicity import family_wise
from analysis.stats.ranking import ranks
from tests.analysis.published import BEST_OF_THREE, SECOND_BEATS_FIRST, THROMBOLYSIS_P


@pytest.mark.parametrize(("counts", "exact"), SECOND_BEATS_FIRST.items())
def test_the_chance_that_one_beats_another_is_the_closed_forms(
    counts: tuple[int, int, int, int], exact: tuple[int, int]
) -> None:
    k1, n1, k2, n2 = counts
    found = ranks([k1 + 1, k2 + 1], [n1 - k1 + 1, n2 - k2 + 1])
    assert found.better[1, 0] == pytest.approx(exact[0] / exact[1], abs=1e-9)


@pytest.mark.parametrize(("arms", "exact"), BEST_OF_THREE.items())
def test_the_chance_to_be_best_is_the_exact_integral(
    arms: tuple[tuple[int, int], ...], exact: tuple[float, ...]
) -> None:
    found = ranks([k + 1 for k, _ in arms], [n - k + 1 for k, n in arms])
    np.testing.assert_allclose(found.best, exact, atol=6e-7)


def test_every_rank_agrees_with_drawing_rates_at_random() -> None:
    a, b = np.array([2.0, 5.5, 12.0, 1.2]), np.array([6.0, 8.0, 20.0, 1.5])
    drawn = np.random.default_rng(5).beta(a, b, (200_000, 4))
    place = (-drawn).argsort(axis=1).argsort(axis=1)
    shares = np.array([[np.mean(place[:, one] == rank) for rank in range(4)] for one in range(4)])
    found = ranks(a, b)
    np.testing.assert_allclose(found.places, shares, atol=0.005)
    np.testing.assert_allclose(found.expected, shares @ [1, 2, 3, 4], atol=0.01)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(0.3, 300), st.floats(0.3, 300)), min_size=1, max_size=6))
def test_ranks_are_shared_out_completely(parameters: list[tuple[float, float]]) -> None:
    found = ranks([a for a, _ in parameters], [b for _, b in parameters])
    np.testing.assert_allclose(found.places.sum(axis=0), 1, atol=1e-3)
    np.testing.assert_allclose(found.places.sum(axis=1), 1, atol=1e-6)
    np.testing.assert_allclose(found.better + found.better.T, 1)
    first, last = found.between()
    assert (first >= 1).all() and (first <= last).all() and (last <= len(parameters)).all()


def test_nothing_to_rank_is_ranked_without_a_warning() -> None:
    assert ranks([], []).better.shape == (0, 0)
    assert ranks([], []).between()[0].tolist() == []


def test_of_fifteen_published_comparisons_three_stand_out() -> None:
    assert sum(p <= 0.05 / 15 for p in THROMBOLYSIS_P) == 3  # Bonferroni's, as printed
    assert family_wise(THROMBOLYSIS_P).sum() == 3
    assert family_wise([]).tolist() == [] and family_wise([0.04]).tolist() == [True]


def test_what_stands_out_agrees_with_statsmodels_on_random_numbers() -> None:
    from statsmodels.stats.multitest import multipletests

    rng = np.random.default_rng(1)
    for _ in range(30):
        p = rng.beta(0.4, 2, rng.integers(1, 25))
        np.testing.assert_array_equal(family_wise(p), multipletests(p, 0.05, "holm")[0])
