"""Runs of one game resemble each other: how much wider an interval must be for that.

Wilson's interval takes every run as a draw of its own. Within one game the opponent, the line-up and the day are the
same, so ten games of six runs tell less than sixty games of one. From the spread between games follows by how much;
the interval is then Wilson's for as many runs as the games are really worth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.stats.proportion import Interval, counts, wilson

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

WIDENED = "wilson, widened for games"
FEWEST_GAMES = 6


@dataclass(frozen=True)
class Widened:
    """Rates with intervals that take games as the draws.

    Attributes
    ----------
    interval : Interval
        Estimates and bounds; Wilson's own where they could not be widened.
    effect : float64 array
        How many times larger the variance is than if runs were draws of their own (the design effect), at least 1;
        NaN where there are too few games to say: the true interval is then at least as wide as the one given.
    """

    interval: Interval
    effect: NDArray[np.float64]


def widened(k: ArrayLike, n: ArrayLike, level: float = 0.95) -> Widened:
    """Estimate rates from their counts per game.

    Parameters
    ----------
    k, n : array-like of int, shape (…, games)
        Successes and trials; the last axis runs over games.
    level : float
        Coverage aimed at.

    Returns
    -------
    Widened
        Shape (…). With fewer than `FEWEST_GAMES` games that have trials, or with none or nothing but successes,
        Wilson's own interval.

    Notes
    -----
    The variance of the ratio Σk / Σn over games is m / (m − 1) · Σ (k − p n)² / (Σn)² (W. G. Cochran 1977, Sampling
    Techniques, 3rd ed., §2.11); divided by p(1 − p) / Σn it is the design effect (L. Kish 1965), and Σn over that is
    put into the interval (E. L. Korn & B. I. Graubard 1998, Survey Methodology 24:193–201, who also shorten the
    effective n by the squared ratio of the quantiles of Student's distribution, as is done here).
    """
    successes, trials = counts(k, n)
    total_k, total_n = successes.sum(axis=-1), trials.sum(axis=-1)
    n_games = np.sum(trials > 0, axis=-1)
    plain = wilson(total_k, total_n, level)
    enough = (n_games >= FEWEST_GAMES) & (total_k > 0) & (total_k < total_n)
    if not np.any(enough):
        return Widened(plain, np.full(np.shape(total_k), np.nan))
    from scipy.special import stdtrit

    safe_n, safe_games = np.where(enough, total_n, 2.0), np.where(enough, n_games, 2)
    p = np.where(enough, total_k / safe_n, 0.5)
    square = np.sum((successes - p[..., None] * trials) ** 2, axis=-1)
    between = safe_games / (safe_games - 1) * square / safe_n**2
    effect = np.maximum(1.0, between / (p * (1 - p) / safe_n))
    tail = (1 + level) / 2
    shorter = (stdtrit(safe_n - 1, tail) / stdtrit(safe_games - 1, tail)) ** 2
    worth = np.minimum(safe_n / effect * shorter, safe_n)
    found = wilson(p * worth, worth, level)
    interval = Interval(plain.estimate, np.where(enough, found.lo, plain.lo), np.where(enough, found.hi, plain.hi))
    return Widened(interval, np.where(enough, effect, np.nan))


def bootstrap(
    k: ArrayLike, n: ArrayLike, level: float = 0.95, *, n_draws: int = 2000, seed: int = 0
) -> tuple[float, float]:
    """Bound a rate by drawing whole games again and again.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials, one per game.
    level : float
        Coverage aimed at.
    n_draws : int
        How often the games are drawn.
    seed : int
        Same seed, same bounds.

    Returns
    -------
    tuple of float
        Lower and upper percentile of the rate; NaN without trials. With a handful of games it is too narrow; it checks
        `widened` where there are many.

    Notes
    -----
    The cluster bootstrap: A. C. Davison & D. V. Hinkley 1997, Bootstrap Methods and their Application, §3.8.
    """
    successes, trials = counts(k, n)
    successes, trials = successes[trials > 0], trials[trials > 0]
    if len(trials) == 0:
        return float("nan"), float("nan")
    rng = np.random.default_rng(seed)
    drawn = rng.integers(0, len(trials), (n_draws, len(trials)))
    rates = successes[drawn].sum(axis=1) / trials[drawn].sum(axis=1)
    tail = (1 - level) / 2
    lo, hi = np.quantile(rates, [tail, 1 - tail])
    return float(lo), float(hi)


def per_game(yes: NDArray[np.bool_], game: NDArray[np.intp]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Count successes and trials per game.

    Parameters
    ----------
    yes : bool array
        One per row.
    game : intp array
        Number of each row's game, from 0.

    Returns
    -------
    tuple of int64 array
        k and n, one per game.
    """
    n = np.bincount(game)
    return np.bincount(game[yes], minlength=len(n)), n
