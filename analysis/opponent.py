"""The other team, by the same tables: what they run, to which side, and who shoots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from analysis import rate
from analysis.players import players
from analysis.sets import sets
from analysis.slice import EVERYTHING, Slice

if TYPE_CHECKING:
    import pandas as pd


def scouting(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> dict[str, pd.DataFrame]:
    """Make the tables of the other team's possessions.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at; narrow it to one opponent with `Slice.against`. Its team is theirs whatever it says.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    dict of str to DataFrame
        `actions` (their families of actions, as `analysis.sets`), `sides` (the same by side) and `shooters`
        (`analysis.players`).

    Notes
    -----
    Their sets have no names for us; what is tagged are families of actions. Rates of one opponent rest on one or two
    games.
    """
    theirs = replace(part, team="theirs")
    return {
        "actions": sets(tables, theirs, small_n=small_n, level=level),
        "sides": sets(tables, theirs, by_side=True, small_n=small_n, level=level),
        "shooters": players(tables, theirs, small_n=small_n, level=level),
    }
