"""Face-offs and loose balls."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, words
from analysis.groups import Games, games_of
from analysis.slice import EVERYTHING, TEAMS, Slice, cut

if TYPE_CHECKING:
    from numpy.typing import NDArray


def contests(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say who won the face-offs and the loose balls.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at (`team` narrows the rows).
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team: `team`; rates `faceoffs` (won, of those where the winner was seen) and `loose_balls` (won,
        of those marked with a winner); `method`, `level`, `width`.
    """
    both = cut(tables, replace(part, team=None), "faceoffs", "loose_balls")
    teams = TEAMS if part.team is None else (part.team,)
    columns = [
        _won("faceoffs", both["faceoffs"], "won", teams, small_n, level),
        _won("loose_balls", both["loose_balls"], "team", teams, small_n, level),
    ]
    return rate.table({"team": list(teams)}, *columns, level=level)


def _won(
    name: str, frame: pd.DataFrame, column: str, teams: tuple[str, ...], small_n: int, level: float
) -> dict[str, Any]:
    ids = words(frame["id"])
    seen = among(frame[column], TEAMS)
    wins = [among(frame[column], (team,)) for team in teams]
    game = games_of(frame)
    return rate.share(
        name,
        _per_game(game, wins),
        _per_game(game, [seen for _ in teams]),
        rate.tuples([ids[won] for won in wins]),
        small_n=small_n,
        level=level,
        asked=np.full(len(teams), len(frame)),
    )


def _per_game(game: Games, which: list[NDArray[np.bool_]]) -> NDArray[np.int64]:
    """Count the marked rows in each game, a row of the result for each kind of mark."""
    return np.array([np.bincount(game.codes[one], minlength=game.size) for one in which], dtype=np.int64)
