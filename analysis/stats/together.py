"""Rates drawn together, with how little the sets themselves say about how far sets differ.

Where the spread of sets is fitted and then taken as known, every interval is too narrow, most of all where the fit says
that there is none. Here every spread counts as much as the runs make it likely: the rates are worked out for each of a
grid of spreads and common rates, and averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.stats.cluster import alike_plain, effects
from analysis.stats.proportion import Interval, counts
from analysis.stats.ranking import Ranks, mixed

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

FULL = "beta-binomial, averaged over the spread"
_N_NODES = 18
_N_ZOOMS = 3
_NEGLIGIBLE = 9.0  # of logarithms of weights
_REACH = 7.0  # standard deviations
_FEWEST_STEPS, _MOST_STEPS = 160, 1500


@dataclass(frozen=True)
class Together:
    """What the runs say of all sets' true rates at once.

    Attributes
    ----------
    k, n : float64 array of shape (sets,)
        Successes and trials, as many as they are worth.
    weight, mean, alike : float64 array of shape (nodes,)
        Probability of each node of the grid, its common rate, and its spread: the variance of sets' true rates over
        mean (1 − mean), from 0 to 1.
    shift : float
        Variance of what all sets have in common, for having been run in the same few games.
    """

    k: NDArray[np.float64]
    n: NDArray[np.float64]
    weight: NDArray[np.float64]
    mean: NDArray[np.float64]
    alike: NDArray[np.float64]
    shift: float = 0.0

    @property
    def common(self) -> float:
        """The common rate; NaN when there are no runs at all."""
        return float(self.weight @ self.mean) if len(self.weight) else float("nan")

    @property
    def evidence(self) -> float:
        """How many runs' worth the common rate counts for; NaN when there are no runs at all."""
        return float(1 / (self.weight @ self.alike) - 1) if len(self.weight) else float("nan")

    def interval(self, level: float = 0.95) -> Interval:
        """Estimate each set's rate.

        Parameters
        ----------
        level : float
            Probability that the interval holds.

        Returns
        -------
        Interval
            Means and equal-tailed intervals; a set without trials gets the common rate; NaN when no set has any.
        """
        if not len(self.weight):
            nothing = np.full(len(self.n), np.nan)
            return Interval(nothing, nothing, nothing)
        angle, mass = self._mass(np.arange(len(self.n)))
        each = np.einsum("h,hst->st", self.weight, mass)
        rate = np.sin(angle) ** 2
        mean = each @ rate
        spread = np.maximum(each @ rate**2 - mean**2, 1e-18)
        below = np.cumsum(each, axis=1)
        half = (angle[1] - angle[0]) / 2
        tail = (1 - level) / 2
        ends = [np.array([np.interp(at, row, angle + half) for row in below]) for at in (tail, 1 - tail)]
        lo, hi = (np.sin(np.clip(end, 0, np.pi / 2)) ** 2 for end in ends)
        longer = np.sqrt(1 + self.shift / spread)
        return Interval(mean, np.maximum(mean - (mean - lo) * longer, 0), np.minimum(mean + (hi - mean) * longer, 1))

    def ranks(self, which: NDArray[np.intp]) -> Ranks:
        """Work out how some sets may be ordered among each other.

        Parameters
        ----------
        which : intp array
            Their places.

        Returns
        -------
        Ranks
            Probabilities. What sets have in common changes no order.
        """
        if not len(which) or not len(self.weight):
            return mixed(np.empty(0), np.empty((0, len(which), 1)))
        return mixed(self.weight, self._mass(which)[1])

    def _mass(self, which: NDArray[np.intp]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Angles in equal steps, whose squared sines are rates; and each node's probability of each set and step."""
        evidence = (1 / self.alike - 1)[:, None]
        a = self.mean[:, None] * evidence + self.k[which]
        b = (1 - self.mean[:, None]) * evidence + self.n[which] - self.k[which]
        middle, reach = np.arcsin(np.sqrt(a / (a + b))), _REACH / (2 * np.sqrt(a + b))
        lo, hi = max(0.0, float(np.min(middle - reach))), min(np.pi / 2, float(np.max(middle + reach)))
        steps = int(np.clip((hi - lo) / np.min(reach) * 5 * _REACH / 2, _FEWEST_STEPS, _MOST_STEPS))
        angle = lo + (hi - lo) * (np.arange(steps) + 0.5) / steps
        near, far = 2 * np.log(np.sin(angle)), 2 * np.log(np.cos(angle))
        height = (a - 0.5)[..., None] * near + (b - 0.5)[..., None] * far
        mass = np.exp(height - height.max(axis=2, keepdims=True))
        return angle, mass / mass.sum(axis=2, keepdims=True)


def together(k: ArrayLike, n: ArrayLike, shift: float = 0.0) -> Together:
    """Draw rates together, averaging over how far they may differ.

    Parameters
    ----------
    k, n : array-like of float
        Successes and trials, one per set; fewer than counted where trials resemble each other.
    shift : float
        Variance of what all sets have in common.

    Returns
    -------
    Together
        Without nodes when no set has trials.

    Notes
    -----
    The hierarchical beta-binomial model in full (A. Gelman et al., Bayesian Data Analysis, 3rd ed., §5.3), with its
    prior: flat in the common rate and in 1 / √(a + b), which is nearly the standard deviation of sets' true rates. The
    grid is laid three times, each time closer about what the runs make likely.
    """
    successes, trials = counts(k, n)
    some = trials > 0
    if not some.any():
        return Together(successes, trials, np.empty(0), np.empty(0), np.empty(0))
    from scipy.special import betaln

    own_k, own_n = successes[some], trials[some]
    angles, roots = (0.0, np.pi / 2), (0.0, 1.0)
    for _ in range(_N_ZOOMS):
        angle = angles[0] + (angles[1] - angles[0]) * (np.arange(_N_NODES) + 0.5) / _N_NODES
        root = roots[0] + (roots[1] - roots[0]) * (np.arange(_N_NODES) + 0.5) / _N_NODES
        mean, between = (axis.ravel() for axis in np.meshgrid(np.sin(angle) ** 2, root**2, indexing="ij"))
        evidence = 1 / between - 1
        a, b = (mean * evidence)[:, None], ((1 - mean) * evidence)[:, None]
        height = np.sum(betaln(own_k + a, own_n - own_k + b) - betaln(a, b), axis=1)
        height += np.log(np.repeat(np.sin(2 * angle), _N_NODES))  # flat in the rate, not in its angle
        height -= height.max()
        likely = (height > -_NEGLIGIBLE - 3).reshape(_N_NODES, _N_NODES)
        angles = _around(angle, likely.any(axis=1), angles)
        roots = _around(root, likely.any(axis=0), roots)
    kept = height > -_NEGLIGIBLE + 2
    weight = np.exp(height[kept])
    return Together(successes, trials, weight / weight.sum(), mean[kept], between[kept], shift)


def of_games(k: ArrayLike, n: ArrayLike) -> Together:
    """Draw rates together from their counts per game.

    Parameters
    ----------
    k, n : array-like of int, shape (sets, games)
        Successes and trials.

    Returns
    -------
    Together
        With as many trials as they are worth where games differ (J. N. K. Rao & A. J. Scott 1992, Biometrics
        48:577–585), and with what a good or bad day of all sets adds to the uncertainty of every one.
    """
    successes, trials = (np.asarray(each, dtype=np.float64) for each in counts(k, n))
    effect = effects(successes, trials)
    effect = np.where(np.isnan(effect), 1.0, effect)
    worth_k, worth_n = successes.sum(axis=1) / effect, trials.sum(axis=1) / effect
    return together(np.minimum(worth_k, worth_n), worth_n, _in_common(successes, trials, effect))


def _in_common(k: NDArray[np.float64], n: NDArray[np.float64], effect: NDArray[np.float64]) -> float:
    """Variance of the mean of all sets beyond what their own games make of it."""
    total = n.sum(axis=1)
    every = float(total.sum())
    if every == 0:
        return 0.0
    p = float(k.sum()) / every
    day_k, day_n = k.sum(axis=0, keepdims=True), n.sum(axis=0, keepdims=True)
    rho = alike_plain(day_k, day_n)
    size = float((day_n**2).sum()) / every
    apart = float((total * effect).sum()) / every
    return max(0.0, 1 + (size - 1) * rho - apart) * p * (1 - p) / every


def _around(axis: NDArray[np.float64], likely: NDArray[np.bool_], ends: tuple[float, float]) -> tuple[float, float]:
    """The part of an axis that matters, and half a step about it."""
    at = np.flatnonzero(likely)
    step = axis[1] - axis[0]
    return max(ends[0], float(axis[at[0]] - step)), min(ends[1], float(axis[at[-1]] + step))
