"""Proportions out of few trials: an estimate is never shown without the interval that goes with it.

The intervals are Wilson's for one proportion and Newcombe's for the difference of two: both keep inside 0 to 1
(−1 to 1), both stay honest at 0 and at n of n, where the textbook interval has no width at all.
"""

from __future__ import annotations

from statistics import NormalDist
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from analysis.errors import NumbersError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


class Interval(NamedTuple):
    """Estimates with their intervals, one per place; NaN where there were no trials.

    Attributes
    ----------
    estimate, lo, hi : float64 array
        Same shape as the counts.
    """

    estimate: NDArray[np.float64]
    lo: NDArray[np.float64]
    hi: NDArray[np.float64]


def z_of(level: float) -> float:
    """Return the standard normal's two-sided critical value.

    Parameters
    ----------
    level : float
        Between 0 and 1, as .95.

    Returns
    -------
    float
        1.96 for .95.

    Raises
    ------
    NumbersError
        The level is not between 0 and 1.
    """
    if not 0 < level < 1:
        raise NumbersError(f"interval level {level!r}: it must lie between 0 and 1, as .95")
    return NormalDist().inv_cdf(0.5 + level / 2)


def counts(k: ArrayLike, n: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Check successes and trials, and bring them to one shape.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials; broadcast against each other.

    Returns
    -------
    tuple of float64 array
        The same numbers.

    Raises
    ------
    NumbersError
        A negative count, or more successes than trials.
    """
    successes, trials = np.broadcast_arrays(np.asarray(k, dtype=np.float64), np.asarray(n, dtype=np.float64))
    if not (np.all(successes >= 0) and np.all(successes <= trials)):
        raise NumbersError("successes must lie between 0 and the number of trials")
    return successes, trials


def wilson(k: ArrayLike, n: ArrayLike, level: float = 0.95) -> Interval:
    """Estimate proportions with Wilson's score interval.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials; broadcast against each other.
    level : float
        Coverage aimed at.

    Returns
    -------
    Interval
        k / n and its bounds; NaN where n is 0.

    Raises
    ------
    NumbersError
        Counts that cannot be, or a level outside 0 to 1.

    Notes
    -----
    E. B. Wilson 1927, Journal of the American Statistical Association 22:209–212; the "score method without
    continuity correction", method 3 of Newcombe 1998, Statistics in Medicine 17:857–872. The bounds are
    exactly 0 at no success and exactly 1 at nothing but success. statsmodels' `proportion_confint(method="wilson")`
    gives the same numbers where there are trials, and a warning where there are none.

    Examples
    --------
    >>> rate = wilson(3, 20)
    >>> round(float(rate.lo), 3), round(float(rate.hi), 3)
    (0.052, 0.36)
    """
    successes, trials = counts(k, n)
    z = z_of(level)
    some = trials > 0
    safe = np.where(some, trials, 1.0)
    p = successes / safe
    widened = 1 + z * z / safe
    middle = (p + z * z / (2 * safe)) / widened
    half = z * np.sqrt(p * (1 - p) / safe + z * z / (4 * safe * safe)) / widened
    lo = np.where(successes == 0, 0.0, np.maximum(middle - half, 0.0))
    hi = np.where(successes == trials, 1.0, np.minimum(middle + half, 1.0))
    return Interval(_where(some, p), _where(some, lo), _where(some, hi))


def newcombe(k1: ArrayLike, n1: ArrayLike, k2: ArrayLike, n2: ArrayLike, level: float = 0.95) -> Interval:
    """Estimate differences of two independent proportions with Newcombe's hybrid score interval.

    Parameters
    ----------
    k1, n1, k2, n2 : array-like of int
        Successes and trials of the first and of the second; broadcast.
    level : float
        Coverage aimed at.

    Returns
    -------
    Interval
        k1 / n1 − k2 / n2 and its bounds; NaN where either has no trials.

    Raises
    ------
    NumbersError
        Counts that cannot be, or a level outside 0 to 1.

    Notes
    -----
    Newcombe 1998, Statistics in Medicine 17:873–890, method 10: the distances from each proportion to its Wilson
    bounds, put together as the sides of a right angle.

    Examples
    --------
    >>> lift = newcombe(56, 70, 48, 80)
    >>> round(float(lift.lo), 4), round(float(lift.hi), 4)
    (0.0524, 0.3339)
    """
    return apart(wilson(k1, n1, level), wilson(k2, n2, level))


def apart(first: Interval, second: Interval) -> Interval:
    """Estimate the difference of two rates from an interval of each.

    Parameters
    ----------
    first, second : Interval
        Of independent rates.

    Returns
    -------
    Interval
        First − second and its bounds.

    Notes
    -----
    From each rate's distances to its bounds, put together as the sides of a right angle (G. Y. Zou & A. Donner 2008,
    Statistics in Medicine 27:1693–1702); of Wilson's bounds it is Newcombe's interval.
    """
    gap = first.estimate - second.estimate
    down = np.sqrt((first.estimate - first.lo) ** 2 + (second.hi - second.estimate) ** 2)
    up = np.sqrt((first.hi - first.estimate) ** 2 + (second.estimate - second.lo) ** 2)
    return Interval(gap, gap - down, gap + up)


def _where(some: NDArray[np.bool_], values: NDArray[Any]) -> NDArray[np.float64]:
    return np.where(some, values, np.nan)
