"""What counts as a shot, on goal, a goal.

A **shot** is an attempt to score: goal, saved, post, wide, blocked, and one whose result nobody saw. A blocked shot
is a shot and is also counted apart. A goal that was waved off and a ball dumped as the clock dies are no attempts:
they are counted apart and are in no rate. **On goal** are goals and saves; a shot off the post is not (NCAA Men's
Lacrosse Statisticians' Manual 2009/2017). What refreshes the shot clock is another question, and the rule code's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.codes import among

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

GOAL = "goal"
SAVED = "saved"
BLOCKED = "blocked"
WAVED_OFF = "waved_off"
DUMP = "dump"
ON_GOAL = (GOAL, SAVED)
NO_ATTEMPT = (WAVED_OFF, DUMP)

YES = np.int8(1)
NO = np.int8(0)
UNKNOWN = np.int8(-1)


def attempts(shots: pd.DataFrame) -> NDArray[np.bool_]:
    """Say of every row of the shots table whether it is a shot.

    Parameters
    ----------
    shots : DataFrame
        The event table.

    Returns
    -------
    bool array
        One per row; a row with no or an unseen result is a shot.
    """
    return ~among(shots["result"], NO_ATTEMPT)


def resulted(shots: pd.DataFrame, results: tuple[str, ...]) -> NDArray[np.int8]:
    """Say of every row whether its result is one of those named.

    Parameters
    ----------
    shots : DataFrame
        The event table.
    results : tuple of str
        As `ON_GOAL`.

    Returns
    -------
    int8 array
        1 yes, 0 no, −1 when the result is missing or unseen.
    """
    made = np.where(among(shots["result"], results), YES, NO)
    made[~seen(shots)] = UNKNOWN
    return made


def seen(shots: pd.DataFrame) -> NDArray[np.bool_]:
    """Say of every row whether its result is known.

    Parameters
    ----------
    shots : DataFrame
        The event table.

    Returns
    -------
    bool array
        One per row.
    """
    return shots["result"].notna().to_numpy(dtype=bool) & ~among(shots["result"], ("unseen",))
