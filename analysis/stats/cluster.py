"""Rows of one game resemble each other: how much wider an interval must be for that.

Wilson's interval takes every run as a draw of its own. Within one game the opponent, the line-up and the day are the
same, so eight games of ten runs tell less than eighty games of one. By how much games differ is worked out from all
rows of a table together, for a single set's eight games can't tell; the interval is then Wilson's for as many runs as
the games are really worth. Where no row has two games there is nothing to compare, and the interval is of that game.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import NumbersError
from analysis.stats.exposure import garwood
from analysis.stats.proportion import Interval, apart, counts, wilson, z_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

WIDENED = "wilson, widened for games"
DIFFERENCE = "newcombe, widened for games"
USUAL = 0.05  # games' true rates that differ by .11 around one half, until the season says otherwise
USUAL_WORTH = 4.0  # degrees of freedom


@dataclass(frozen=True)
class Widened:
    """Rates with intervals that take games as the draws.

    Attributes
    ----------
    interval : Interval
        Estimates and bounds.
    effect : float64 array
        How many times larger the variance is than if rows were draws of their own (the design effect), at least 1; NaN
        where no row of the table has two games: the bounds then are of that game and plain.
    """

    interval: Interval
    effect: NDArray[np.float64]


def alike(k: NDArray[np.float64], n: NDArray[np.float64]) -> float:
    """Work out how alike rows of one game are, from all rates together.

    Parameters
    ----------
    k, n : float64 array of shape (rates, games)
        Successes and trials.

    Returns
    -------
    float
        The correlation of two rows of one game: `alike_plain`, drawn towards `USUAL`, for a handful of games says
        little, as if that had been seen with `USUAL_WORTH` further degrees of freedom. NaN where no rate has two games.
    """
    df = float(np.maximum((n > 0).sum(axis=1) - 1, 0).sum())
    if df == 0:
        return float("nan")
    if not np.any(n > 1):
        return USUAL
    return (df * alike_plain(k, n) + USUAL_WORTH * USUAL) / (df + USUAL_WORTH)


def alike_plain(k: NDArray[np.float64], n: NDArray[np.float64]) -> float:
    """Work out how alike rows of one game are, by these counts alone.

    Parameters
    ----------
    k, n : float64 array of shape (rates, games)
        Successes and trials.

    Returns
    -------
    float
        The intraclass correlation: 0 where games are alike, else the variance of games' true rates over p(1 − p).

    Notes
    -----
    The analysis-of-variance estimate, pooled over the rates (A. Donner & N. Klar 2000, Design and Analysis of Cluster
    Randomization Trials, §6.2), not below 0.
    """
    held = n > 0
    total, n_games = n.sum(axis=1), held.sum(axis=1)
    between_df = float(np.maximum(n_games - 1, 0).sum())
    within_df = float(np.maximum(total - n_games, 0).sum())
    if between_df == 0 or within_df == 0:
        return 0.0
    some = np.where(held, n, 1.0)
    p = k.sum(axis=1) / np.maximum(total, 1)
    between = float(np.sum(np.where(held, (k - p[:, None] * n) ** 2 / some, 0.0))) / between_df
    within = float(np.sum(np.where(held, k - k * k / some, 0.0))) / within_df
    size = float(np.sum(total - (n * n).sum(axis=1) / np.maximum(total, 1))) / between_df
    room = between + (size - 1) * within
    return min(1.0, max(0.0, (between - within) / room)) if room > 0 else 0.0


def effects(k: ArrayLike, n: ArrayLike) -> NDArray[np.float64]:
    """Work out how many times larger the variance of each rate is because games differ.

    Parameters
    ----------
    k, n : array-like of int, shape (rates, games)
        Successes and trials.

    Returns
    -------
    float64 array
        One per rate, at least 1; NaN for all where no rate has two games, and where one has no trials.

    Notes
    -----
    1 + (Σn² / Σn − 1) ρ, with ρ from `alike` (L. Kish 1965, Survey Sampling; A. Donner & N. Klar 2000).
    """
    successes, trials = _cells(k, n)
    total = trials.sum(axis=1)
    rho = alike(successes, trials)
    size = np.sum(trials * trials, axis=1) / np.where(total > 0, total, np.nan)
    return 1 + np.maximum(size - 1, 0) * rho


def stretches(k: ArrayLike, n: ArrayLike, level: float = 0.95) -> NDArray[np.float64]:
    """Say by how much n is to be divided because games differ, for bounds that are made in another way.

    Parameters
    ----------
    k, n : array-like of int, shape (rates, games)
        Successes and trials.
    level : float
        Coverage aimed at.

    Returns
    -------
    float64 array
        One per rate, at least 1: what `widened` divides by; 1 where no rate has two games.
    """
    successes, trials = _cells(k, n)
    return _stretch(effects(successes, trials), trials, level)


def widened(k: ArrayLike, n: ArrayLike, *, level: float = 0.95) -> Widened:
    """Estimate rates from their counts per game.

    Parameters
    ----------
    k, n : array-like of int, shape (rates, games)
        Successes and trials; all rates of one kind, as of all sets of a table.
    level : float
        Coverage aimed at.

    Returns
    -------
    Widened
        One per rate. Wilson's own interval where no rate has two games.

    Notes
    -----
    Wilson's interval for Σn over the design effect of `effects` (E. L. Korn & B. I. Graubard 1998, Survey Methodology
    24:193–201; K. K. Saha, D. Miller & S. Wang 2016, International Journal of Biostatistics 12(2)). As there, the
    effective n is shortened by the squared ratio of the normal's and Student's quantile: the part of the variance that
    is between games has one degree of freedom less than there are games, the rest as good as unlimited ones (F. E.
    Satterthwaite 1946, Biometrics Bulletin 2:110–114).
    """
    successes, trials = _cells(k, n)
    total_k, total_n = successes.sum(axis=1), trials.sum(axis=1)
    effect = effects(successes, trials)
    worth = np.where(total_n > 0, total_n / _stretch(effect, trials, level), 0.0)
    found = wilson(np.minimum(worth * (total_k / np.maximum(total_n, 1)), worth), worth, level)
    some = total_n > 0
    lo, hi = np.where(total_k == 0, 0.0, found.lo), np.where(total_k == total_n, 1.0, found.hi)
    return Widened(
        Interval(
            np.where(some, total_k / np.maximum(total_n, 1), np.nan),
            np.where(some, lo, np.nan),
            np.where(some, hi, np.nan),
        ),
        effect,
    )


def difference(k1: ArrayLike, n1: ArrayLike, k2: ArrayLike, n2: ArrayLike, *, level: float = 0.95) -> Interval:
    """Estimate differences of two rates from their counts per game.

    Parameters
    ----------
    k1, n1, k2, n2 : array-like of int, shape (differences, games)
        Successes and trials of the first and of the second.
    level : float
        Coverage aimed at.

    Returns
    -------
    Interval
        First − second and its bounds, from the bounds of `widened` of all of them together.

    Notes
    -----
    A good game is often good for both, and then their difference is surer than this says.
    """
    first, second = _cells(k1, n1), _cells(k2, n2)
    both = widened(np.concatenate([first[0], second[0]]), np.concatenate([first[1], second[1]]), level=level).interval
    half = len(first[0])
    return apart(Interval(*(bound[:half] for bound in both)), Interval(*(bound[half:] for bound in both)))


def widened_counts(k: ArrayLike, exposure: ArrayLike, level: float = 0.95, per: float = 1.0) -> Widened:
    """Estimate rates of counts (shots per 100 possessions, say) from their counts per game.

    Parameters
    ----------
    k, exposure : array-like, shape (rates, games)
        How often it happened, in how many possessions, games or seconds.
    level : float
        Coverage aimed at.
    per : float
        Exposure that the rate is given for, as 100.

    Returns
    -------
    Widened
        One per rate; Garwood's own interval where no rate has two games.

    Notes
    -----
    Pearson's χ² of games about each rate over its degrees of freedom, pooled over the rates and not below 1, is how
    many times more counts spread than Poisson's (P. McCullagh & J. A. Nelder 1989, Generalized Linear Models, §6.2.3);
    Garwood's interval is that of counts and exposures divided by it.
    """
    events, time = np.broadcast_arrays(np.asarray(k, dtype=np.float64), np.asarray(exposure, dtype=np.float64))
    total_k, total_t = events.sum(axis=1), time.sum(axis=1)
    plain = garwood(total_k, total_t, level, per)
    held = time > 0
    df = float(np.maximum(held.sum(axis=1) - 1, 0)[total_k > 0].sum())
    if df == 0:
        return Widened(plain, np.full(len(total_k), np.nan))
    expected = (total_k / np.where(total_t > 0, total_t, 1.0))[:, None] * time
    seen = expected > 0
    square = float(np.sum(np.where(seen, (events - expected) ** 2 / np.where(seen, expected, 1.0), 0.0)))
    effect = np.maximum(1.0, np.full(len(total_k), square / df))
    stretch = _stretch(effect, time, level)
    found = garwood(total_k / stretch, total_t / stretch, level, per)
    lo, hi = np.minimum(found.lo, plain.lo), np.maximum(found.hi, plain.hi)
    return Widened(Interval(plain.estimate, lo, hi), effect)


def _stretch(effect: NDArray[np.float64], trials: NDArray[np.float64], level: float) -> NDArray[np.float64]:
    """By how much to divide n: the design effect, and Student's quantile in place of the normal one."""
    from scipy.special import stdtrit

    known = np.where(np.isnan(effect), 1.0, effect)
    games = np.maximum((trials > 0).sum(axis=1) - 1, 1)
    share = (known - 1) / known
    df = games / np.maximum(share * share, 1e-9)
    longer = stdtrit(np.minimum(df, 1e6), (1 + level) / 2) / z_of(level)
    return known * np.where(known > 1, np.maximum(longer, 1.0), 1.0) ** 2


def _cells(k: ArrayLike, n: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    successes, trials = counts(k, n)
    if trials.ndim != 2:
        raise NumbersError("successes and trials must be given per game, a row a rate: games differ, and bounds say so")
    return successes, trials


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
