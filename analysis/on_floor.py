"""Turns: who was on the floor when in each possession, line change by line change.

Offence and defence change after the ball is gained, so that the five at a possession's beginning are often not those
who shoot. A turn is a part of a possession with one and the same five; a change on the very frame of something comes
after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.codes import among, whole, words

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Turns:
    """Turns in order of possession and time.

    Attributes
    ----------
    possession : intp array
        Place of the possession of each.
    change : intp array
        Place of the line change that brought those who are on; −1 where none was marked before in the period.
    start_ms, end_ms : int64 array
        From when to when, ms of game time line; the end −1 where it is not known.
    first : intp array
        The first turn of each possession, and at the end how many there are.
    """

    possession: NDArray[np.intp]
    change: NDArray[np.intp]
    start_ms: NDArray[np.int64]
    end_ms: NDArray[np.int64]
    first: NDArray[np.intp]

    @property
    def ms(self) -> NDArray[np.int64]:
        """How long each lasted, 0 where its end is not known."""
        return np.where(self.end_ms >= 0, self.end_ms - self.start_ms, 0)

    def at(self, possession: NDArray[np.intp], at_ms: NDArray[np.int64]) -> NDArray[np.intp]:
        """Find the turn in which things happened.

        Parameters
        ----------
        possession : intp array
            Places of their possessions, −1 for none.
        at_ms : int64 array
            When.

        Returns
        -------
        intp array
            One turn for each, −1 where it stands in no possession.
        """
        made = np.full(len(possession), -1, dtype=np.intp)
        if not len(self.start_ms):
            return made
        inside = possession >= 0
        own, when = possession[inside], at_ms[inside]
        least = int(min(self.start_ms.min(), when.min(initial=0)))
        span = int(max(self.start_ms.max(), when.max(initial=0))) - least + 1  # one possession's times below the next's
        begins = self.possession * span + (self.start_ms - least)
        later = np.searchsorted(begins, own * span + (when - least), side="left") - self.first[own]
        made[inside] = self.first[own] + np.maximum(later - 1, 0)
        return made


def turns(lines: pd.DataFrame, possessions: pd.DataFrame, of: str) -> Turns:
    """Part possessions at a team's line changes.

    Parameters
    ----------
    lines, possessions : DataFrame
        Event tables.
    of : str
        Whose changes: "ours" or "theirs".

    Returns
    -------
    Turns
        At least one for each possession.
    """
    held: dict[tuple[str, int], list[tuple[int, int]]] = {}
    at = whole(lines["at_ms"])
    keys = list(zip(words(lines["game"]).tolist(), whole(lines["period"]).tolist(), strict=True))
    whose = among(lines["team"], (of,))
    for row in np.argsort(at, kind="stable").tolist():
        if whose[row]:
            held.setdefault(keys[row], []).append((int(at[row]), row))
    made: list[tuple[int, int, int, int]] = []
    first = []
    start, end = whole(possessions["start_ms"]), whole(possessions["end_ms"])
    where = zip(words(possessions["game"]).tolist(), whole(possessions["period"]).tolist(), strict=True)
    for place, (key, begin, over) in enumerate(zip(where, start.tolist(), end.tolist(), strict=True)):
        first.append(len(made))
        changes = held.get(key, [])
        before = [row for when, row in changes if when <= begin]
        within = [(when, row) for when, row in changes if begin < when and (over < 0 or when < over)]
        edges = [begin, *(when for when, _ in within), over]
        on = [before[-1] if before else -1, *(row for _, row in within)]
        made += [(place, row, edges[turn], edges[turn + 1]) for turn, row in enumerate(on)]
    columns = np.array(made, dtype=np.int64).reshape(len(made), 4).T
    return Turns(
        columns[0].astype(np.intp),
        columns[1].astype(np.intp),
        columns[2],
        columns[3],
        np.array([*first, len(made)], dtype=np.intp),
    )
