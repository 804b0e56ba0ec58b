"""How many cases a test takes: a few when a change is checked, many when `python -m tests.bench thorough` runs it."""

from __future__ import annotations

import os

MANY = "FLOORBOOK_MANY_CASES"


def cases(few: int, *, many: int) -> int:
    """How many cases to take now.

    Parameters
    ----------
    few, many : int
        In the check of a change; in the bench.

    Returns
    -------
    int
        One of the two.
    """
    return many if os.environ.get(MANY) else few
