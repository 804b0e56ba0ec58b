"""Logistic regression against published fits, against libraries, and on data that it must not trust."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import NumbersError
from analysis.stats.logistic import LIKELIHOOD, fit, score, separated, unseen_chances
from tests.analysis.published import (
    FIRTH_SLOPES,
    SPECTOR,
    SPECTOR_BASE,
    SPECTOR_LOG_LIKELIHOOD,
    SPECTOR_UNSEEN,
)
from tests.counts import cases


def _spector() -> tuple[np.ndarray, np.ndarray]:
    from statsmodels.datasets import spector

    data = spector.load_pandas().data
    x = np.column_stack([np.ones(len(data)), data["GPA"], data["TUCE"], data["PSI"]])
    return x, data["GRADE"].to_numpy()


def test_plain_maximum_likelihood_gives_the_published_fit() -> None:
    x, y = _spector()
    found = fit(x, y, method=LIKELIHOOD)
    np.testing.assert_allclose(found.coef, list(SPECTOR.values()), atol=6e-5)
    assert found.log_likelihood == pytest.approx(SPECTOR_LOG_LIKELIHOOD, abs=6e-5) and found.converged


def test_errors_of_the_coefficients_are_statsmodels_errors() -> None:
    import statsmodels.api as sm

    x, y = _spector()
    theirs = sm.Logit(y, x).fit(disp=0)
    found = fit(x, y, method=LIKELIHOOD)
    np.testing.assert_allclose(found.se, theirs.bse, rtol=1e-5)


def test_counts_per_row_are_fitted_as_statsmodels_fits_its_own_school_data() -> None:
    # statsmodels.datasets.star98: 303 counties, pupils above and below the median of a test.
    import statsmodels.api as sm
    from statsmodels.datasets import star98

    data = star98.load_pandas()
    above, below = data.endog["NABOVE"].to_numpy(), data.endog["NBELOW"].to_numpy()
    plain = data.exog[["LOWINC", "PERASIAN", "PERBLACK", "PERHISP"]].to_numpy(dtype=float)
    x = np.column_stack([np.ones(len(plain)), (plain - plain.mean(axis=0)) / plain.std(axis=0)])
    theirs = sm.GLM(np.column_stack([above, below]), x, family=sm.families.Binomial()).fit()
    found = fit(x, above, above + below, method=LIKELIHOOD)
    np.testing.assert_allclose(found.coef, theirs.params, rtol=1e-7)
    np.testing.assert_allclose(found.se, theirs.bse, rtol=1e-6)


def test_shots_that_were_not_seen_are_judged_as_recomputed() -> None:
    x, y = _spector()
    chance, base = unseen_chances(x, y, np.arange(len(y)), lambda columns, came: fit(columns, came, method=LIKELIHOOD))
    assert (score(chance, y).brier, score(chance, y).log_loss) == pytest.approx(SPECTOR_UNSEEN, abs=1e-6)
    assert (score(base, y).brier, score(base, y).log_loss) == pytest.approx(SPECTOR_BASE, abs=1e-6)


@pytest.mark.parametrize(("counts", "slope"), FIRTH_SLOPES.items())
def test_firths_slope_of_a_two_by_two_table_has_half_a_case_in_each_cell(
    counts: tuple[int, int, int, int], slope: float
) -> None:
    k1, n1, k2, n2 = counts
    found = fit([[1, 0], [1, 1]], [k1, k2], [n1, n2])
    assert found.coef[1] == pytest.approx(slope, abs=1e-7) and found.converged
    rows = fit([[1, 0]] * n1 + [[1, 1]] * n2, [1] * k1 + [0] * (n1 - k1) + [1] * k2 + [0] * (n2 - k2))
    assert rows.coef[1] == pytest.approx(slope, abs=1e-7)


@settings(max_examples=cases(15, many=40), deadline=None)
@given(*[st.integers(1, 12).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))) for _ in range(2)])
def test_firths_slope_is_always_the_corrected_log_odds_ratio(one: tuple[int, int], other: tuple[int, int]) -> None:
    found = fit([[1, 0], [1, 1]], [one[0], other[0]], [one[1], other[1]])
    odds = [np.log((k + 0.5) / (n - k + 0.5)) for k, n in (one, other)]
    assert found.coef == pytest.approx([odds[0], odds[1] - odds[0]], abs=1e-6)


def test_separation_is_found_and_its_absence_too() -> None:
    x, y = _spector()
    assert not separated(x, y)
    assert separated([[1, 0]] * 5 + [[1, 1]] * 5, [1, 1, 1, 0, 0] + [1] * 5)
    assert separated(np.column_stack([np.ones(6), np.arange(6)]), [0, 0, 0, 1, 1, 1])
    assert separated([[1.0]], [True]) and separated(np.empty((0, 1)), [])
    on_separable = fit([[1, 0]] * 5 + [[1, 1]] * 5, [1, 1, 1, 0, 0] + [1] * 5)
    assert on_separable.converged and np.isfinite(on_separable.coef).all()


def test_firth_takes_the_bias_out_that_likelihood_has() -> None:
    # Firth 1993: with a true slope of 1 and 60 rows, maximum likelihood is too steep on average.
    rng = np.random.default_rng(3)
    plain, firth = [], []
    for _ in range(300):
        x = np.column_stack([np.ones(60), rng.normal(size=60)])
        y = rng.random(60) < 1 / (1 + np.exp(1 - x[:, 1]))
        if not separated(x, y):
            plain.append(fit(x, y, method=LIKELIHOOD).coef[1])
            firth.append(fit(x, y).coef[1])
    assert np.mean(plain) > 1.04 and abs(np.mean(firth) - 1) < 0.04


def test_odd_input() -> None:
    with pytest.raises(NumbersError):
        fit([[1.0]], [2], [1])
    assert np.isnan(score([], []).brier)
