"""Did something change, and when: one break in a row of games, and how surprising the largest break is among all that
were tried."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

FEWEST = 15
FEWEST_ON_A_SIDE = 3


@dataclass(frozen=True)
class Break:
    """The likeliest single break.

    Attributes
    ----------
    after : int
        How many games lie before it; 0 when there are too few games to look for one.
    before, since : float
        Mean or rate on either side; NaN likewise.
    p : float
        Share of shuffled seasons with a break as large anywhere; NaN likewise.
    """

    after: int
    before: float
    since: float
    p: float


def in_mean(values: ArrayLike, *, n_shuffles: int = 999, seed: int = 0, fewest: int = FEWEST) -> Break:
    """Look for one break in the mean of a row of numbers.

    Parameters
    ----------
    values : array-like of float, shape (n,)
        In order of time.
    n_shuffles : int
        How many shuffled rows the largest break is compared with.
    seed : int
        Same seed, same p.
    fewest : int
        With fewer numbers nothing is said.

    Returns
    -------
    Break
        Where the sum of squares falls most.

    Notes
    -----
    Least squares as in J. Bai 1994, Journal of Time Series Analysis 15:453–472; p by permutation, which takes the
    games as exchangeable when nothing changed.
    """
    y = np.asarray(values, dtype=np.float64)
    return _search(y, np.ones_like(y), n_shuffles, seed, fewest)


def in_rate(k: ArrayLike, n: ArrayLike, *, n_shuffles: int = 999, seed: int = 0, fewest: int = FEWEST) -> Break:
    """Look for one break in a rate.

    Parameters
    ----------
    k, n : array-like of int, shape (games,)
        Successes and trials per game, in order of playing; games without trials are left out of the count of games.
    n_shuffles, seed, fewest
        As in `in_mean`.

    Returns
    -------
    Break
        Where the weighted sum of squares of the rates falls most; games are shuffled whole.
    """
    successes, trials = np.asarray(k, dtype=np.float64), np.asarray(n, dtype=np.float64)
    some = trials > 0
    found = _search(successes[some] / trials[some], trials[some], n_shuffles, seed, fewest)
    if not found.after:
        return found
    place = np.flatnonzero(some)
    return Break(int(place[found.after - 1]) + 1, found.before, found.since, found.p)


def _search(y: NDArray[np.float64], weight: NDArray[np.float64], n_shuffles: int, seed: int, fewest: int) -> Break:
    if len(y) < max(fewest, 2 * FEWEST_ON_A_SIDE):
        return Break(0, float("nan"), float("nan"), float("nan"))
    gains = _gains(y[None, :], weight[None, :])[0]
    best = int(np.argmax(gains))
    after = best + FEWEST_ON_A_SIDE
    rng = np.random.default_rng(seed)
    orders = rng.permuted(np.tile(np.arange(len(y)), (n_shuffles, 1)), axis=1)
    largest = _gains(y[orders], weight[orders]).max(axis=1)
    p = (1 + np.sum(largest >= gains[best] - 1e-12)) / (n_shuffles + 1)
    return Break(
        after,
        float(np.average(y[:after], weights=weight[:after])),
        float(np.average(y[after:], weights=weight[after:])),
        float(p),
    )


def _gains(y: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Say by how much the sum of squares falls with a break after each place; one row per season."""
    n, total = np.cumsum(weight, axis=1), np.cumsum(weight * y, axis=1)
    inside = slice(FEWEST_ON_A_SIDE - 1, y.shape[1] - FEWEST_ON_A_SIDE)
    left, left_n = total[:, inside], n[:, inside]
    right, right_n = total[:, -1:] - left, n[:, -1:] - left_n
    return left**2 / left_n + right**2 / right_n - total[:, -1:] ** 2 / n[:, -1:]
