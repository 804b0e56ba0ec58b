"""Looking at many things at once: something always looks remarkable, so what is found by looking must clear a higher
bar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def fisher(k1: int, n1: int, k2: int, n2: int) -> float:
    """Give Fisher's exact two-sided probability that two rates differ as much by chance alone.

    Parameters
    ----------
    k1, n1, k2, n2 : int
        Successes and trials of the first and of the second.

    Returns
    -------
    float
        p; 1 when either has no trials.

    Notes
    -----
    R. A. Fisher 1935, The Design of Experiments, ch. 2; two-sided by adding up all tables that are no likelier.
    `scipy.stats.fisher_exact` gives the same in a hundred times the time, and hundreds are asked for.
    """
    if n1 == 0 or n2 == 0:
        return 1.0
    from scipy.special import gammaln

    total = k1 + k2
    k = np.arange(max(0, total - n2), min(n1, total) + 1)

    def ways(n: int, of: NDArray[np.int64]) -> NDArray[np.float64]:
        return gammaln(n + 1) - gammaln(of + 1) - gammaln(n - of + 1)

    log_p = ways(n1, k) + ways(n2, total - k)
    log_p -= np.logaddexp.reduce(log_p)
    likelier = log_p > log_p[k1 - k[0]] + 1e-7
    return float(min(1.0, np.exp(log_p[~likelier]).sum()))


def discoveries(p: ArrayLike, rate: float = 0.05) -> NDArray[np.bool_]:
    """Say which of many comparisons stand out, keeping the expected share of false ones among them low.

    Parameters
    ----------
    p : array-like of float
        One probability per comparison.
    rate : float
        Expected share of false ones allowed.

    Returns
    -------
    bool array
        True where it stands out.

    Notes
    -----
    Y. Benjamini & Y. Hochberg 1995, Journal of the Royal Statistical Society B 57:289–300: the largest i with
    p₍ᵢ₎ ≤ i rate / m, and all before it.
    """
    plain = np.asarray(p, dtype=np.float64)
    order = np.argsort(plain, kind="stable")
    under = plain[order] <= np.arange(1, len(plain) + 1) * rate / max(len(plain), 1)
    made = np.zeros(len(plain), dtype=bool)
    if under.any():
        made[order[: np.flatnonzero(under)[-1] + 1]] = True
    return made


def family_wise(p: ArrayLike, rate: float = 0.05) -> NDArray[np.bool_]:
    """Say which of many comparisons stand out, keeping the chance of even one false one low.

    Parameters
    ----------
    p : array-like of float
        One probability per comparison.
    rate : float
        Chance of at least one false one allowed.

    Returns
    -------
    bool array
        True where it stands out.

    Notes
    -----
    S. Holm 1979, Scandinavian Journal of Statistics 6:65–70: never fewer than Bonferroni's.
    """
    plain = np.asarray(p, dtype=np.float64)
    order = np.argsort(plain, kind="stable")
    over = plain[order] > rate / np.arange(len(plain), 0, -1)
    n_out = int(np.argmax(over)) if over.any() else len(plain)
    made = np.zeros(len(plain), dtype=bool)
    made[order[:n_out]] = True
    return made
