"""Whether chances that were given are as far apart as what happened, and chances drawn together so that they are.

A model that has seen few goals takes some of their luck for a pattern: on new shots its high chances are too high and
its low ones too low. How much, is foreseen from how little better than the base rate the model is on its own shots;
whether that was enough, is asked of shots that it has not seen, game by game.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analysis.stats.logistic import Fit, fit, levelled
from analysis.stats.proportion import z_of

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_LEAST_APART = 1e-6


@dataclass(frozen=True)
class Slope:
    """By how much what happened lies apart for a step of the log odds that were given.

    Attributes
    ----------
    estimate, se : float
        1 is right; below 1 the chances are too far apart. The error is the one that its bounds come to.
    lo, hi : float
        Its bounds.
    games : int
        Games that it was learned from: those with both goals and other shots.
    """

    estimate: float
    se: float
    lo: float
    hi: float
    games: int


def calibration(p: ArrayLike, y: ArrayLike, game: NDArray[np.intp], *, level: float = 0.95) -> Slope | None:
    """Fit the slope of what happened on the log odds that were given for it, within games.

    Parameters
    ----------
    p : array-like of float
        Probabilities for rows that the model had not seen.
    y : array-like of bool
        What happened.
    game : intp array
        The game of each row.
    level : float
        Coverage of the bounds.

    Returns
    -------
    Slope or None
        None where fewer than two games have both outcomes, or chances hardly differ within games.

    Notes
    -----
    D. R. Cox 1958, Biometrika 45:562–565, by Firth’s fit with a constant for each game: games differ, and a model that
    has not seen a game with many goals has a lower base rate for just that game, which would lean the slope. Bounds as
    of `bounds`.
    """
    chance, came = np.clip(np.asarray(p, dtype=np.float64), 1e-9, 1 - 1e-9), np.asarray(y, dtype=np.float64)
    size = int(game.max(initial=-1)) + 1
    n, k = np.bincount(game, minlength=size), np.bincount(game, weights=came, minlength=size)
    mixed = (k > 0) & (k < n)
    some, n_games = mixed[game], int(mixed.sum())
    if n_games < 2:
        return None
    odds, came = np.log(chance / (1 - chance))[some], came[some]
    at = np.cumsum(mixed)[game[some]] - 1
    odds = odds - (np.bincount(at, weights=odds) / np.bincount(at))[at]
    if np.ptp(odds) < _LEAST_APART:
        return None
    x = np.column_stack([odds, np.eye(n_games)[at]])
    found = fit(x, came)
    slope, (lo, _) = float(found.coef[0]), bounds(found, x, came, at, level)
    half = float(slope - lo[0])
    return Slope(slope, half / z_of(level), slope - half, slope + half, n_games)


def bounds(
    found: Fit, x: ArrayLike, y: ArrayLike, game: NDArray[np.intp], level: float = 0.95
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Bound coefficients, allowing for rows of one game resembling each other.

    Parameters
    ----------
    found : Fit
        Of these rows.
    x : array-like of shape (n, p)
        Columns.
    y : array-like of bool, shape (n,)
        Successes.
    game : intp array of shape (n,)
        The game of each row.
    level : float
        Coverage aimed at.

    Returns
    -------
    tuple of float64 array
        Lower and upper bounds: the wider of Wald's, by the model's own errors, and those by errors that take games as
        draws, with Student's quantile for one game less than there are; without end for one game.

    Notes
    -----
    K.-Y. Liang & S. L. Zeger 1986, Biometrika 73:13–22, times √(G / (G − 1)) for G games. With few games such errors
    are too small as often as too large, so they only ever widen.
    """
    from scipy.special import stdtrit

    n_games = len(np.unique(game))
    if n_games < 2:
        return np.full(len(found.coef), -np.inf), np.full(len(found.coef), np.inf)
    by_game = errors(found, x, y, game)
    half = np.maximum(z_of(level) * found.se, stdtrit(n_games - 1, (1 + level) / 2) * by_game)
    return found.coef - half, found.coef + half


def errors(found: Fit, x: ArrayLike, y: ArrayLike, game: NDArray[np.intp]) -> NDArray[np.float64]:
    """Give the errors of coefficients that take games as draws.

    Parameters
    ----------
    found, x, y, game
        As in `bounds`; at least two games.

    Returns
    -------
    float64 array of shape (p,)
        Liang & Zeger's, see `bounds`.
    """
    columns, came = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    p, n_games = found.chances(columns), len(np.unique(game))
    bread = np.linalg.pinv(columns.T @ (columns * (p * (1 - p))[:, None]))
    pulls = np.zeros((int(game.max()) + 1, columns.shape[1]))
    np.add.at(pulls, game, columns * (came - p)[:, None])
    spread = bread @ (pulls.T @ pulls) @ bread * n_games / (n_games - 1)
    return np.sqrt(np.maximum(np.diag(spread), 0))


def drawn_in(found: Fit, x: ArrayLike, y: ArrayLike) -> tuple[Fit, float]:
    """Draw the chances of a model towards the base rate by as much as it must be too sure.

    Parameters
    ----------
    found : Fit
        A fit whose first column is a constant, the same for all rows.
    x : array-like of shape (n, p)
        The rows it was fitted on.
    y : array-like of bool, shape (n,)
        Their successes.

    Returns
    -------
    tuple of (Fit, float)
        The fit with all coefficients but the constant times the share that is kept, from 0 to 1, its constant set anew
        (`levelled`); and that share.

    Notes
    -----
    (χ² − p) / χ² of the model's likelihood-ratio χ² with p terms, not below 0 (J. C. van Houwelingen & S. le Cessie
    1990, Statistics in Medicine 9:1303–1325; E. W. Steyerberg 2019, Clinical Prediction Models, 2nd ed., §13.2: uniform
    shrinkage).
    """
    came = np.asarray(y, dtype=np.float64)
    k, n, n_terms = float(came.sum()), len(came), len(found.coef) - 1
    base = k * np.log(k / n) + (n - k) * np.log1p(-k / n) if 0 < k < n else 0.0
    square = 2 * (found.log_likelihood - base)
    kept = max(0.0, (square - n_terms) / square) if square > 0 else 0.0
    coef = found.coef.copy()
    coef[1:] *= kept
    return levelled(replace(found, coef=coef), x, came), kept
