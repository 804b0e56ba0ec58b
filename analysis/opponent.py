"""The other team, by the same tables: what they run, who shoots, to which side, and what we give up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from analysis import rate
from analysis.games import box
from analysis.lines import goals_against
from analysis.lost_ball import lost_balls
from analysis.players import players
from analysis.sets import sets
from analysis.slice import EVERYTHING, Slice
from analysis.standing import standings
from analysis.tempo import tempo

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
        `box` (one row per game), `actions` (their families of actions, as `analysis.sets`), `sides` (the same by
        side), `standing` (which of them brings shots; `analysis.standing`), `shooters` (`analysis.players`), `causes`
        (why we let goals in), `tempo`, and `after_ours` (what they made of the balls that we lost;
        `analysis.lost_ball`).

    Notes
    -----
    Their sets have no names for us; what is tagged are families of actions. Rates of one opponent rest on one or two
    games.
    """
    theirs = replace(part, team="theirs")
    ours = replace(part, team="ours")
    return {
        "box": box(tables, theirs, small_n=small_n, level=level),
        "actions": sets(tables, theirs, small_n=small_n, level=level),
        "sides": sets(tables, theirs, by_side=True, small_n=small_n, level=level),
        "standing": standings(tables, theirs, small_n=small_n, level=level),
        "shooters": players(tables, theirs, small_n=small_n, level=level),
        "causes": goals_against(tables, theirs, small_n=small_n, level=level),
        "tempo": tempo(tables, theirs, small_n=small_n, level=level),
        "after_ours": lost_balls(tables, ours, small_n=small_n, level=level),
    }
