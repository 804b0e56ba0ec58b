"""Numbers as people say them: "3 of 20; plausibly 5–36 in 100"."""

from __future__ import annotations


def said(k: int, n: int, lo: float, hi: float, *, small_n: int = 10) -> str:
    """Say a rate with what is plausible.

    Parameters
    ----------
    k, n : int
        How often, out of how many.
    lo, hi : float
        What is plausible, from 0 to 1.
    small_n : int
        Under this n it is too few to say.

    Returns
    -------
    str
        One phrase.

    Examples
    --------
    >>> said(3, 20, 0.052, 0.36), said(2, 5, 0.1, 0.8), said(0, 0, 0, 1)
    ('3 of 20; plausibly 5–36 in 100', '2 of 5; too few to say', 'none yet')
    """
    if n == 0:
        return "none yet"
    if n < small_n:
        return f"{k} of {n}; too few to say"
    return f"{k} of {n}; plausibly {span(lo, hi)} in 100"


def span(lo: float, hi: float) -> str:
    """Say a range of shares as whole numbers out of 100.

    Parameters
    ----------
    lo, hi : float
        From 0 to 1.

    Returns
    -------
    str
        As "5–36".
    """
    low, high = round(lo * 100), round(hi * 100)
    return f"{low}–{high}" if low != high else str(low)
