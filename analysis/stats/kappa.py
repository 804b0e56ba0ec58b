"""Measures of agreement: κ of answers, κ over time, F of paired marks, percentage error of counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import NumbersError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

BANDS = (
    (0.0, "poor"),
    (0.2, "slight"),
    (0.4, "fair"),
    (0.6, "moderate"),
    (0.8, "substantial"),
    (1.0, "almost perfect"),
)
BANDS_NOTE = "Words of Landis & Koch 1977; arbitrary by their own account."
USUAL_LIMIT_PERCENT = 5.0


@dataclass(frozen=True)
class Kappa:
    """Cohen's κ of two people's answers.

    Attributes
    ----------
    kappa : float
        (p₀ − pₑ) / (1 − pₑ); NaN without answers, and where both gave one and the same answer throughout.
    agreed, by_chance : float
        p₀ and pₑ.
    lo, hi : float
        95 % interval (Fleiss, Cohen & Everitt 1969, as statsmodels has it).
    n : int
        How many were answered by both.
    """

    kappa: float
    agreed: float
    by_chance: float
    lo: float
    hi: float
    n: int


def kappa(table: ArrayLike) -> Kappa:
    """Work out Cohen's κ of a table of answers.

    Parameters
    ----------
    table : array-like of shape (c, c)
        Counts: rows the first person's answers, columns the second's.

    Returns
    -------
    Kappa
        With its interval, which is missing or without width at perfect agreement.

    Notes
    -----
    J. Cohen 1960, Educational and Psychological Measurement 20:37–46. The interval is
    `statsmodels.stats.inter_rater.cohens_kappa`'s.
    """
    counts = np.asarray(table, dtype=np.float64)
    n = counts.sum()
    if n == 0:
        nan = float("nan")
        return Kappa(nan, nan, nan, nan, nan, 0)
    share = counts / n
    agreed, by_chance = float(np.trace(share)), float(share.sum(axis=1) @ share.sum(axis=0))
    if by_chance >= 1:
        return Kappa(float("nan"), agreed, by_chance, float("nan"), float("nan"), int(n))
    from statsmodels.stats.inter_rater import cohens_kappa

    with np.errstate(invalid="ignore"):  # at perfect agreement its variance may round to just under 0
        found = cohens_kappa(counts)
    return Kappa(float(found.kappa), agreed, by_chance, float(found.kappa_low), float(found.kappa_upp), int(n))


def band(value: float) -> str | None:
    """Name the band of a κ.

    Parameters
    ----------
    value : float
        κ.

    Returns
    -------
    str or None
        A word by convention, see `BANDS_NOTE`; None for NaN.
    """
    if np.isnan(value):
        return None
    return next(word for top, word in BANDS if value <= top + 1e-12)


def pair(one_ms: ArrayLike, other_ms: ArrayLike, tolerance_ms: float) -> list[tuple[int, int]]:
    """Pair two lists of times.

    Parameters
    ----------
    one_ms, other_ms : array-like of float
        Times.
    tolerance_ms : float
        The furthest that partners may lie apart, inclusive.

    Returns
    -------
    list of tuple of int
        Pairs of positions, by the first: as many as can be, then as near as can be.

    Notes
    -----
    Maximum bipartite matching as an assignment problem (`scipy.optimize.linear_sum_assignment`): a forbidden pair
    costs more than all allowed ones together.
    """
    first, second = np.asarray(one_ms, dtype=np.float64), np.asarray(other_ms, dtype=np.float64)
    if len(first) == 0 or len(second) == 0:
        return []
    from scipy.optimize import linear_sum_assignment

    apart = np.abs(first[:, None] - second[None, :])
    allowed = apart <= tolerance_ms * (1 + 1e-12) + 1e-9
    forbidden = (tolerance_ms + 1) * (min(len(first), len(second)) + 1)
    rows, columns = linear_sum_assignment(np.where(allowed, apart, forbidden))
    return [(int(row), int(column)) for row, column in zip(rows, columns, strict=True) if allowed[row, column]]


def f_measure(n_matched: int, n_one: int, n_other: int) -> float:
    """Give F, the harmonic mean of the shares of either list that found a partner.

    Parameters
    ----------
    n_matched, n_one, n_other : int
        Pairs, and lengths of both lists.

    Returns
    -------
    float
        2PR / (P + R) = 2 matched / (one + other); NaN when both lists are empty.
    """
    return 2 * n_matched / (n_one + n_other) if n_one + n_other else float("nan")


def time_kappa(one: Sequence[str], other: Sequence[str], tolerance: int = 0) -> Kappa:
    """Work out κ over time units.

    Parameters
    ----------
    one, other : sequence of str
        State of each unit of time, as two people saw it.
    tolerance : int
        A unit counts as agreed when the other's state there, or up to so many units away, is the same.

    Returns
    -------
    Kappa
        Of the units; its interval takes units as independent, which they are not: it is missing.

    Raises
    ------
    NumbersError
        The lists are of different length.

    Notes
    -----
    R. Bakeman, V. Quera & A. Gnisci 2009, Behavior Research Methods 41:137–147. With tolerance, each disagreeing unit
    whose first state is found near in the second's list is counted as that state for both.
    """
    first, second = list(one), list(other)
    if len(first) != len(second):
        raise NumbersError(f"time units: {len(first)} against {len(second)}; both must cover the same stretch")
    eased = [
        state if state in second[max(0, at - tolerance) : at + tolerance + 1] else second[at]
        for at, state in enumerate(first)
    ]
    states = sorted(set(first) | set(second))
    place = {state: at for at, state in enumerate(states)}
    table = np.zeros((len(states), len(states)))
    np.add.at(table, ([place[state] for state in first], [place[state] for state in eased]), 1)
    if not len(first):
        return kappa(table)
    share = table / table.sum()
    agreed, by_chance = float(np.trace(share)), float(share.sum(axis=1) @ share.sum(axis=0))
    value = (agreed - by_chance) / (1 - by_chance) if by_chance < 1 else float("nan")
    return Kappa(value, agreed, by_chance, float("nan"), float("nan"), len(first))


def percentage_error(one: ArrayLike, other: ArrayLike) -> float:
    """Give the percentage error of two people's counts.

    Parameters
    ----------
    one, other : array-like of float
        Counts per category.

    Returns
    -------
    float
        100 · Σ|V₁ − V₂| / V̄, with V̄ the mean of both totals; up to 5 is a usual limit. NaN without counts.

    Notes
    -----
    M. Hughes, S.-M. Cooper & A. Nevill 2002/2004, reliability in notational analysis. Counts that agree may count
    different things: look at F as well.
    """
    first, second = np.asarray(one, dtype=np.float64), np.asarray(other, dtype=np.float64)
    mean = (first.sum() + second.sum()) / 2
    return float(100 * np.abs(first - second).sum() / mean) if mean else float("nan")
