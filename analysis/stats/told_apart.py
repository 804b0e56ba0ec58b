"""Whether two rates differ by more than chance, by more than games differ, and by more than each swings between games.

Both are compared within each game, so that an opponent or a day that was good for all is no difference between them.
What is left is held against how much such differences swing from game to game in all comparisons of the same kind: a
single set's eight games say little of how far a set swings, six sets' games do.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.stats.proportion import Interval, counts

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

WITHIN_GAMES = "Mantel–Haenszel within games, widened for swings"


@dataclass(frozen=True)
class ToldApart:
    """What comparisons within games say.

    Attributes
    ----------
    p : float64 array of shape (comparisons,)
        Two-sided probability of as much by chance; 1 where no game has both, or all of one outcome.
    chi2 : float64 array of shape (comparisons,)
        Mantel's and Haenszel's, corrected for continuity, before swings are allowed for.
    odds_ratio : float64 array of shape (comparisons,)
        Of the one over the other within games, Mantel's and Haenszel's; NaN where it cannot be said.
    swing : float
        How many times larger than chance alone differences vary from game to game; at least 1.
    difference : Interval
        Of the one less the other within games, −1 to 1: Mantel's and Haenszel's, with the bounds that go with p (test
        based, without the correction); NaN where p is 1 for want of games.
    """

    p: NDArray[np.float64]
    chi2: NDArray[np.float64]
    odds_ratio: NDArray[np.float64]
    swing: float
    difference: Interval


def told_apart(
    k: ArrayLike,
    n: ArrayLike,
    other_k: ArrayLike,
    other_n: ArrayLike,
    *,
    games: ArrayLike | None = None,
    level: float = 0.95,
) -> ToldApart:
    """Compare pairs of rates within games.

    Parameters
    ----------
    k, n, other_k, other_n : array-like of int, shape (comparisons, strata)
        Successes and trials of the one and of the other in each game, or in each part of a game within which they are
        compared (a side, a strength); of comparisons of one kind: they share how much differences swing.
    games : array-like of int, shape (strata,), optional
        The game of each stratum, numbered from 0; left out, each is a game of its own.
    level : float
        Coverage of the difference's bounds.

    Returns
    -------
    ToldApart
        One value per comparison.

    Raises
    ------
    NumbersError
        Counts below zero, or more successes than trials.

    Notes
    -----
    N. Mantel & W. Haenszel 1959, Journal of the National Cancer Institute 22:719–748: the sum over games of successes
    less those expected from both, over its variance, less ½. Its variance is multiplied by the swing, a heterogeneity
    factor (D. J. Finney 1952, Statistical Method in Biological Assay; W. G. Cochran 1943, Annals of Mathematical
    Statistics 14:205): squares of games' departures from the common difference (each over 1 less its game's weight, as
    of R. M. Bell & D. F. McCaffrey 2002, Survey Methodology 28:169–181) over what chance gives, all comparisons
    together. Student's t then, with as many degrees of freedom as the games that made up the swing are worth (F. E.
    Satterthwaite 1946, Biometrics Bulletin 2:110–114); one comparison's are lost, for all share their rows.
    """
    from scipy.special import stdtr, stdtrit

    own_k, own_n, k_2, n_2 = _checked(k, n, other_k, other_n)
    total, came = own_n + n_2, own_k + k_2
    both = (own_n > 0) & (n_2 > 0)
    at_least_1, at_least_2 = np.fmax(total, 1), np.fmax(total, 2)
    left = np.where(both, own_k - own_n * came / at_least_1, 0.0)
    chance = np.where(both, own_n * n_2 * came * (total - came) / (at_least_2**2 * (at_least_2 - 1)), 0.0)
    weight = np.where(both, own_n * n_2 / at_least_1, 0.0)
    if games is not None:
        left, chance, weight = (_by_game(each, np.asarray(games, dtype=np.intp)) for each in (left, chance, weight))
    variance, far = chance.sum(axis=1), np.fmax(np.abs(left.sum(axis=1)) - 0.5, 0)
    said = variance > 0
    chi2 = np.divide(far**2, variance, out=np.zeros(len(far)), where=said)
    swing, df = _swing(left[said], chance[said], weight[said])
    p = np.ones(len(far))
    p[said] = 2 * stdtr(df, -np.sqrt(chi2[said] / swing)) if df > 0 else 1.0
    with np.errstate(divide="ignore", invalid="ignore"):
        odds = np.sum(np.where(both, own_k * (n_2 - k_2) / at_least_1, 0), axis=1) / np.sum(
            np.where(both, k_2 * (own_n - own_k) / at_least_1, 0), axis=1
        )
        made = left.sum(axis=1) / weight.sum(axis=1)
        half = stdtrit(df, (1 + level) / 2) * np.sqrt(variance * swing) / weight.sum(axis=1) if df > 0 else np.nan
    made = np.where(said & (df > 0), made, np.nan)
    bounds = Interval(made, np.fmax(made - half, -1.0), np.fmin(made + half, 1.0))
    bounds = Interval(made, *(np.where(np.isnan(made), np.nan, bound) for bound in bounds[1:]))
    return ToldApart(p, chi2, np.where(np.isfinite(odds), odds, np.nan), swing, bounds)


def _by_game(strata: NDArray[np.float64], games: NDArray[np.intp]) -> NDArray[np.float64]:
    """Add up the strata of each game."""
    made = np.zeros((int(games.max(initial=-1)) + 1, len(strata)))
    np.add.at(made, games, strata.T)
    return made.T


def _swing(left: NDArray[np.float64], chance: NDArray[np.float64], weight: NDArray[np.float64]) -> tuple[float, float]:
    """How many times chance's variance there is between games, and with how many degrees of freedom that is known."""
    if not len(left):
        return 1.0, 0.0
    share = weight / weight.sum(axis=1, keepdims=True)
    off = left - weight * (left.sum(axis=1) / weight.sum(axis=1))[:, np.newaxis]
    worth = 1 / (share**2).sum(axis=1) - 1
    known = worth > 0.5
    if not known.any():
        return 1.0, 0.0
    squares = np.sum(off**2 / np.fmax(1 - share, 1e-9), axis=1)
    ratio = squares / chance.sum(axis=1)
    df = float(worth[known].sum())
    n = int(known.sum())
    found = float((ratio[known] * worth[known]).sum()) / df
    return max(found, 1.0), df * (n - 1) / n if n > 1 else df


def _checked(*given: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    plain = [np.asarray(one, dtype=np.float64) for one in given]
    for k, n in ((plain[0], plain[1]), (plain[2], plain[3])):
        counts(k, n)
    return tuple(plain)
