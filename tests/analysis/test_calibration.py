"""Calibration within games, and drawing in: against published fits, a library, and seasons whose chances are known."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.stats.calibration import bounds, calibration, drawn_in, errors
from analysis.stats.logistic import LIKELIHOOD, fit
from tests.bench.honesty.quality import Kind, judged, told


def _spector() -> tuple[np.ndarray, np.ndarray]:
    from statsmodels.datasets import spector

    data = spector.load_pandas().data
    x = np.column_stack([np.ones(len(data)), data["GPA"], data["TUCE"], data["PSI"]])
    return x, data["GRADE"].to_numpy()


def test_drawing_in_keeps_what_the_published_likelihood_ratio_leaves() -> None:
    # Spector & Mazzeo 1980: log likelihoods −12.8896 and −20.5917, three terms: (15.4042 − 3) / 15.4042.
    x, y = _spector()
    found = fit(x, y, method=LIKELIHOOD)
    drawn, kept = drawn_in(found, x, y)
    assert kept == pytest.approx(0.80525, abs=2e-5)
    assert drawn.coef[1:] == pytest.approx(kept * found.coef[1:])
    assert drawn.chances(x).sum() == pytest.approx(y.sum())


def test_what_is_no_better_than_chance_keeps_nothing() -> None:
    x = np.column_stack([np.ones(40), np.tile([0.0, 1.0], 20)])
    y = np.tile([0, 0, 1, 1], 10)
    drawn, kept = drawn_in(fit(x, y), x, y)
    assert kept == 0 and drawn.chances(x) == pytest.approx(np.full(40, 0.5))
    assert calibration(drawn.chances(x), y, np.arange(40) % 5) is None


def test_errors_by_game_are_statsmodels_where_they_are_the_larger() -> None:
    import statsmodels.api as sm

    rng = np.random.default_rng(3)
    game = np.repeat(np.arange(12), 30)
    x = np.column_stack([np.ones(360), rng.normal(size=12)[game], rng.normal(size=360)])
    y = (rng.random(360) < 1 / (1 + np.exp(-x[:, 1] - rng.normal(0, 1.5, 12)[game]))).astype(float)
    theirs = sm.Logit(y, x).fit(disp=0, cov_type="cluster", cov_kwds={"groups": game})
    ours = errors(fit(x, y, method=LIKELIHOOD), x, y, game)
    freer = theirs.bse / np.sqrt(359 / 357)  # statsmodels has (n − 1) / (n − p) in it too
    plain = sm.Logit(y, x).fit(disp=0).bse
    assert ours == pytest.approx(freer, rel=1e-5)
    lo, hi = bounds(fit(x, y, method=LIKELIHOOD), x, y, game)
    assert (hi - lo) / 2 == pytest.approx(np.maximum(2.200985 * freer, 1.959964 * plain), rel=1e-5)
    assert freer[1] > plain[1]


def test_one_game_bounds_nothing() -> None:
    x, y = _spector()
    found = fit(x, y)
    lo, hi = bounds(found, x, y, np.zeros(len(y), dtype=np.intp))
    assert np.isneginf(lo).all() and np.isposinf(hi).all()
    assert calibration(found.chances(x), y, np.zeros(len(y), dtype=np.intp)) is None


def test_chances_too_far_apart_by_half_have_a_slope_of_half_although_games_differ() -> None:
    rng = np.random.default_rng(4)
    game = np.repeat(np.arange(20), 400)
    true = rng.normal(0, 1, 8000)
    y = rng.random(8000) < 1 / (1 + np.exp(-true - rng.normal(0, 1, 20)[game]))
    found = calibration(1 / (1 + np.exp(-2 * true)), y, game)
    assert found is not None and found.estimate == pytest.approx(0.5, abs=0.03) and found.games == 20
    assert found.lo < 0.5 < found.hi < 0.6


def test_the_bench_judges_seasons_as_it_says() -> None:
    found = [judged(seed, Kind("small", per_game=30, n_games=5, sd=0.44)) for seed in (1, 2)]
    assert all(each.slope is not None and each.error > 0 and len(each.odds) >= 1 for each in found)
    figures = {figure.name: figure for figure in told("small", found)}
    assert figures["small: slope's interval holds 1"].value == np.mean([each.holds for each in found])
    assert judged(1, Kind("small", per_game=30, n_games=5, sd=0.44)) == found[0]
