"""Which is better, and how sure is that: probabilities between beta-distributed rates, never a bare order.

All of it comes from one integral. Take set i at its quantile u: its rate is then x. Every other set j lies above x with
probability 1 − F_j(x), independently. So how many lie above is known exactly, and averaging over u from 0 to 1 gives
the probability of each rank. No random numbers are drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_N_NODES = 320


@dataclass(frozen=True)
class Ranks:
    """How sets with beta-distributed rates may be ordered; the highest rate is rank 1.

    Attributes
    ----------
    better : float64 array of shape (m, m)
        [i, j]: probability that i has the higher rate than j; ½ on the diagonal.
    places : float64 array of shape (m, m)
        [i, r]: probability that i stands at rank r + 1.
    """

    better: NDArray[np.float64]
    places: NDArray[np.float64]

    @property
    def best(self) -> NDArray[np.float64]:
        """Probability that each has the highest rate."""
        return self.places[:, 0]

    @property
    def expected(self) -> NDArray[np.float64]:
        """Mean rank of each."""
        return self.places @ np.arange(1, self.places.shape[1] + 1)

    def between(self, level: float = 0.9) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Say between which ranks each stands.

        Parameters
        ----------
        level : float
            At least this probability lies between them; at most half of the rest on either side.

        Returns
        -------
        tuple of int64 array
            First and last rank.
        """
        below = np.cumsum(self.places, axis=1)
        tail = (1 - level) / 2
        first = np.sum(below <= tail, axis=1) + 1
        last = np.sum(below < 1 - tail - 1e-12, axis=1) + 1
        return first.astype(np.int64), np.minimum(last, self.places.shape[1]).astype(np.int64)


def ranks(a: ArrayLike, b: ArrayLike) -> Ranks:
    """Work out how independent beta-distributed rates may be ordered.

    Parameters
    ----------
    a, b : array-like of float
        Parameters of each.

    Returns
    -------
    Ranks
        Probabilities, to about six decimals.

    Notes
    -----
    P(i at rank r + 1) = ∫ P(r of the others above F_i⁻¹(u)) du over 0 to 1. The number above is a sum of independent
    yes-or-no draws (Poisson-binomial), built up one set at a time. Gauss–Legendre nodes, gathered towards both ends
    by u = s²(3 − 2s). For two sets of whole-number parameters there is a closed form (E. Miller 2015, "Formulas for
    Bayesian A/B testing").
    """
    from scipy.special import betainc, betaincinv

    alpha, beta = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    n_sets = len(alpha)
    u, du = _nodes()
    better = np.full((n_sets, n_sets), 0.5)
    places = np.zeros((n_sets, n_sets))
    for one in range(n_sets):
        x = betaincinv(alpha[one], beta[one], u)
        above = np.zeros((n_sets, len(u)))
        above[0] = 1
        for other in range(n_sets):
            if other == one:
                continue
            higher = 1 - betainc(alpha[other], beta[other], x)
            better[one, other] = np.sum(du * (1 - higher))
            above[1:] = above[1:] * (1 - higher) + above[:-1] * higher
            above[0] *= 1 - higher
        places[one] = above @ du
    upper = np.triu_indices(n_sets, 1)
    halfway = (better[upper] + 1 - better.T[upper]) / 2
    better[upper] = halfway
    better.T[upper] = 1 - halfway
    return Ranks(better, places)


def mixed(weight: ArrayLike, mass: ArrayLike) -> Ranks:
    """Work out how rates may be ordered that are independent once something common to all of them is known.

    Parameters
    ----------
    weight : array-like of shape (nodes,)
        Probability of each case of what is common.
    mass : array-like of shape (nodes, sets, steps)
        In each case, each set's probability of lying in each of some small steps, in rising order.

    Returns
    -------
    Ranks
        Probabilities. Two in the same step are as likely in either order.

    Notes
    -----
    As `ranks`, by sums over the steps, averaged over the cases.
    """
    w, held = np.asarray(weight, dtype=np.float64), np.asarray(mass, dtype=np.float64)
    n_sets = held.shape[1]
    below = np.cumsum(held, axis=2) - held / 2
    weighted = held * w[:, None, None]
    flat, under = (np.swapaxes(each, 0, 1).reshape(n_sets, len(w) * held.shape[2]) for each in (weighted, below))
    better = flat @ under.T
    better = (better + 1 - better.T) / 2
    np.fill_diagonal(better, 0.5)
    places = np.zeros((n_sets, n_sets))
    for one in range(n_sets):
        above = np.zeros((n_sets, *held.shape[::2]))
        above[0] = 1
        for other in range(n_sets):
            if other != one:
                higher = 1 - below[:, other]
                above[1:] = above[1:] * (1 - higher) + above[:-1] * higher
                above[0] *= 1 - higher
        places[one] = np.tensordot(above, weighted[:, one], axes=2)
    return Ranks(better, places)


@cache
def _nodes() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return places and weights for integrals from 0 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(_N_NODES)
    s = (nodes + 1) / 2
    return s * s * (3 - 2 * s), weights / 2 * 6 * s * (1 - s)
