"""Rates drawn towards the playbook's common rate, as far as the runs themselves say that sets differ.

Five sets with ten runs each always spread, even if they are equally good. The spread that chance alone makes is
known; what is left over says how far the sets truly differ, and each set's rate is drawn towards the common one
accordingly: much where its runs are few, little where they are many. When nothing is left over, the sets are pooled
and the result says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.stats.proportion import Interval, counts

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

MOMENTS = "moments"
LIKELIHOOD = "likelihood"
POOLED = "pooled"
_MOST_EVIDENCE = 1e5
_LEAST_EVIDENCE = 2.0  # rates all over the place: no set is believed to differ from the others more than that


@dataclass(frozen=True)
class Spread:
    """How the true rates of a family of sets lie: a beta distribution.

    Attributes
    ----------
    a, b : float
        Its parameters; the mean is a / (a + b), and a + b runs' worth of evidence stand behind it. When pooled, both
        are as large as if there were no spread at all.
    method : str
        "moments", "likelihood", or "pooled" when the runs show no more spread than chance makes.
    n : int
        How many sets with runs it rests on.
    """

    a: float
    b: float
    method: str
    n: int

    @property
    def pooled(self) -> bool:
        """Whether the runs show no spread, so that all sets get one rate."""
        return self.method == POOLED

    @property
    def mean(self) -> float:
        """The common rate; NaN when there are no runs at all."""
        return self.a / (self.a + self.b) if self.a + self.b > 0 else float("nan")


def by_moments(k: ArrayLike, n: ArrayLike) -> Spread:
    """Fit the spread by matching the mean and the variance of the raw rates.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials, one per set; sets without trials are left out.

    Returns
    -------
    Spread
        Pooled when fewer than two sets have runs or their rates spread no more than chance makes them.

    Notes
    -----
    J. C. Kleinman 1973, Journal of the American Statistical Association 68:46–54, weights n: with w = n, W = Σw,
    p̂ = Σk / W and S = Σ w (k/n − p̂)², the share of the variance that is between sets is
    ρ = (S − p̂q̂ (m − 1)) / (p̂q̂ (W − Σw² / W − (m − 1))), and a + b = 1/ρ − 1, at least 2.
    """
    successes, trials = _with_runs(k, n)
    if len(trials) < 2:
        return _pooled(successes, trials)
    weight = trials.sum()
    mean = successes.sum() / weight
    chance = mean * (1 - mean)
    spread = np.sum(trials * (successes / trials - mean) ** 2)
    room = weight - np.sum(trials**2) / weight - (len(trials) - 1)
    if chance <= 0 or room <= 0:
        return _pooled(successes, trials)
    rho = (spread - chance * (len(trials) - 1)) / (chance * room)
    if rho <= 1 / _MOST_EVIDENCE:
        return _pooled(successes, trials)
    evidence = max(1 / rho - 1, _LEAST_EVIDENCE)
    return Spread(float(mean * evidence), float((1 - mean) * evidence), MOMENTS, len(trials))


def by_likelihood(k: ArrayLike, n: ArrayLike) -> Spread:
    """Fit the spread by maximum likelihood of the beta-binomial distribution.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials, one per set; sets without trials are left out.

    Returns
    -------
    Spread
        Pooled when the likelihood is highest without any spread.

    Notes
    -----
    log L = Σ ln B(k + a, n − k + b) − ln B(a, b) (J. G. Skellam 1948, Journal of the Royal Statistical Society B
    10:257–261), climbed over the mean and the logarithm of a + b, and compared with the binomial likelihood at its
    limit.
    """
    successes, trials = _with_runs(k, n)
    if len(trials) < 2 or successes.sum() in {0, trials.sum()}:
        return _pooled(successes, trials)
    from scipy.optimize import minimize
    from scipy.special import betaln, expit, logit

    def below(at: NDArray[np.float64]) -> float:
        mean, evidence = expit(at[0]), np.exp(at[1])
        a, b = mean * evidence, (1 - mean) * evidence
        return float(-np.sum(betaln(successes + a, trials - successes + b) - betaln(a, b)))

    pooled_mean = successes.sum() / trials.sum()
    flat = -float(successes.sum() * np.log(pooled_mean) + (trials - successes).sum() * np.log1p(-pooled_mean))
    least, limit = np.log(_LEAST_EVIDENCE), np.log(_MOST_EVIDENCE)
    best = min(
        (
            minimize(
                below, np.array([logit(pooled_mean), start]), bounds=[(-12, 12), (least, limit)], method="L-BFGS-B"
            )
            for start in (1.0, 3.0, 6.0)
        ),
        key=lambda found: found.fun,
    )
    if best.fun >= flat - 1e-6 or best.x[1] >= limit - 1e-3:
        return _pooled(successes, trials)
    mean, evidence = float(expit(best.x[0])), float(np.exp(best.x[1]))
    return Spread(mean * evidence, (1 - mean) * evidence, LIKELIHOOD, len(trials))


def posterior(k: ArrayLike, n: ArrayLike, spread: Spread) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the beta distribution of each set's true rate, given its runs and how sets spread.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials, one per set.
    spread : Spread
        From `by_moments` or `by_likelihood`.

    Returns
    -------
    tuple of float64 array
        a and b of each.
    """
    successes, trials = counts(k, n)
    if spread.pooled:
        return np.full(trials.shape, spread.a), np.full(trials.shape, spread.b)
    return successes + spread.a, trials - successes + spread.b


def shrunken(k: ArrayLike, n: ArrayLike, spread: Spread, level: float = 0.95) -> Interval:
    """Estimate each set's rate, drawn towards the common one.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials, one per set.
    spread : Spread
        How sets spread.
    level : float
        Probability that the interval holds.

    Returns
    -------
    Interval
        Means and equal-tailed intervals of the posterior; a set without trials gets the common rate; NaN when no set
        has any.

    Notes
    -----
    When pooled, every set gets the common rate with the interval of all runs together (Jeffreys). The uncertainty of
    the spread itself is not in the intervals.
    """
    from scipy.special import betaincinv

    a, b = posterior(k, n, spread)
    if not spread.a + spread.b > 0:
        nothing = np.full(a.shape, np.nan)
        return Interval(nothing, nothing, nothing)
    tail = (1 - level) / 2
    return Interval(a / (a + b), betaincinv(a, b, tail), betaincinv(a, b, 1 - tail))


def _with_runs(k: ArrayLike, n: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    successes, trials = counts(k, n)
    some = trials > 0
    return successes[some], trials[some]


def _pooled(successes: NDArray[np.float64], trials: NDArray[np.float64]) -> Spread:
    if trials.sum() == 0:
        return Spread(0.0, 0.0, POOLED, 0)
    return Spread(float(successes.sum() + 0.5), float(trials.sum() - successes.sum() + 0.5), POOLED, len(trials))
