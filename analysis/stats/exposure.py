"""Counts per exposure: shots per 100 possessions, goals per game. What can happen more than once is no proportion."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import NumbersError
from analysis.stats.proportion import Interval, z_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

GARWOOD = "garwood"


def garwood(k: ArrayLike, exposure: ArrayLike, level: float = 0.95, per: float = 1.0) -> Interval:
    """Estimate rates of counts with the exact Poisson interval.

    Parameters
    ----------
    k : array-like of int
        How often it happened.
    exposure : array-like of float
        In how many possessions, games, seconds; broadcast.
    level : float
        Coverage aimed at.
    per : float
        Exposure that the rate is given for, as 100.

    Returns
    -------
    Interval
        per · k / exposure and its bounds; NaN where there was no exposure.

    Raises
    ------
    NumbersError
        A negative count or exposure, or a level outside 0 to 1.

    Notes
    -----
    F. Garwood 1936, Biometrika 28:437–442: the bounds are quantiles of the gamma distribution. Counts in possessions
    are a little less spread than Poisson counts, so that it errs on the wide side.
    """
    z_of(level)
    events, time = np.broadcast_arrays(np.asarray(k, dtype=np.float64), np.asarray(exposure, dtype=np.float64))
    if not (np.all(events >= 0) and np.all(time >= 0)):
        raise NumbersError("counts and exposures must not be negative")
    from scipy.special import gammaincinv

    tail = (1 - level) / 2
    some = time > 0
    scale = per / np.where(some, time, 1.0)
    lo = np.where(events > 0, gammaincinv(np.maximum(events, 1), tail), 0.0)
    hi = gammaincinv(events + 1, 1 - tail)
    return Interval(
        np.where(some, events * scale, np.nan), np.where(some, lo * scale, np.nan), np.where(some, hi * scale, np.nan)
    )
