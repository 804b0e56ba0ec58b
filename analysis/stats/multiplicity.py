"""Looking at many things at once: something always looks remarkable, so what is found by looking must clear a higher
bar."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


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
