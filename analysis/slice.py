"""A slice of the season: which games, periods, strengths, whose ball, which sides and phases.

One rule decides what falls in it. Possessions, runs, shots and turnovers carry their own period, team and strength
and are judged by these. Everything else is judged by the run it stands in, else by its possession, else by its own
period. Where sides, phases or sets are asked for, only what stands in such a run is kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analysis.codes import among, places
from analysis.errors import SliceError
from analysis.strength import is_strength, matching

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

TEAMS = ("ours", "theirs")
OTHER_TEAM = {"ours": "theirs", "theirs": "ours"}
SIDES = ("left", "right", "unseen")
PHASES = ("set", "family", "freelance", "transition", "second_chance", "broken", "not_tagged")
SETTLED_PHASES = ("set", "family", "freelance", "not_tagged")
_WHOLE_GAME = ("periods", "detail")


@dataclass(frozen=True)
class Slice:
    """What part of the season is looked at; None means all of it.

    Attributes
    ----------
    games : tuple of str or None
        Ids of games.
    periods : tuple of int or None
        Numbers of periods, from 1.
    strengths : tuple of str or None
        Classes ("even", "up", "down", "empty_net") or exact strengths ("5v4"), seen from the team with the ball.
    team : str or None
        "ours" or "theirs": the team of each row (for possessions, runs and shots the one with the ball, for penalties
        the one they were called against).
    sides, phases, sets : tuple of str or None
        Of the runs.

    Raises
    ------
    SliceError
        An unknown team, side, phase or strength.
    """

    games: tuple[str, ...] | None = None
    periods: tuple[int, ...] | None = None
    strengths: tuple[str, ...] | None = None
    team: str | None = None
    sides: tuple[str, ...] | None = None
    phases: tuple[str, ...] | None = None
    sets: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        """Refuse what does not exist, by name."""
        if self.team is not None and self.team not in TEAMS:
            raise SliceError(f"slice: no team “{self.team}”; it is one of {', '.join(TEAMS)}")
        for name, given, choices in (("side", self.sides, SIDES), ("phase", self.phases, PHASES)):
            for word in given or ():
                if word not in choices:
                    raise SliceError(f"slice: no {name} “{word}”; it is one of {', '.join(choices)}")
        for word in self.strengths or ():
            if not is_strength(word):
                raise SliceError(f"slice: no strength “{word}”; it is even, up, down, empty_net, or as 5v4")

    @property
    def of_runs(self) -> bool:
        """Whether it asks for something that only runs have."""
        return self.sides is not None or self.phases is not None or self.sets is not None

    def against(self, opponents: tuple[str, ...], opponent_of: Mapping[str, str]) -> Slice:
        """Narrow the slice to the games against some opponents.

        Parameters
        ----------
        opponents : tuple of str
            Their names.
        opponent_of : mapping of str to str
            Game id → opponent.

        Returns
        -------
        Slice
            With only those of its games.
        """
        met = tuple(game for game, opponent in opponent_of.items() if opponent in opponents)
        return replace(self, games=met if self.games is None else tuple(game for game in self.games if game in met))


EVERYTHING = Slice()


def keep(frame: pd.DataFrame, part: Slice) -> NDArray[np.bool_]:
    """Say of every row of a table that carries its own columns whether it falls in the slice.

    Parameters
    ----------
    frame : DataFrame
        An event table; a column that it lacks is not asked about.
    part : Slice
        What is looked at.

    Returns
    -------
    bool array
        One per row.
    """
    kept = np.ones(len(frame), dtype=bool)
    if part.games is not None:
        kept &= among(frame["game"], part.games)
    if part.periods is not None and "period" in frame:
        kept &= among(frame["period"], part.periods)
    if part.strengths is not None and "strength" in frame:
        kept &= among(frame["strength"], matching(frame["strength"], part.strengths))
    if part.team is not None and "team" in frame:
        kept &= among(frame["team"], (part.team,))
    for column, wanted in (("side", part.sides), ("phase", part.phases), ("set", part.sets)):
        if wanted is not None and "phase" in frame:
            kept &= among(frame[column], wanted)
    return kept


def cut(tables: Mapping[str, pd.DataFrame], part: Slice, *names: str) -> dict[str, pd.DataFrame]:
    """Keep of every event table what falls in the slice.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    *names : str
        The tables wanted; all of them if none is named.

    Returns
    -------
    dict of str to DataFrame
        The same tables, fewer rows, index kept; periods and detail are narrowed by game only.
    """
    wanted = {name: tables[name] for name in names or tables}
    if part == EVERYTHING:
        return wanted
    possessions, runs = tables["possessions"], tables["runs"]
    run_in = keep(runs, part)
    possession_in = keep(possessions, part)
    if part.of_runs:
        held = places(possessions["id"], runs["possession"])[run_in]
        has_run = np.zeros(len(possessions), dtype=bool)
        has_run[held[held >= 0]] = True
        possession_in &= has_run
    made = {}
    for name, frame in wanted.items():
        if name == "possessions":
            made[name] = frame[possession_in]
        elif name == "runs":
            made[name] = frame[run_in]
        else:
            made[name] = frame[_keep_event(name, frame, tables, part, run_in, possession_in)]
    return made


def _keep_event(
    name: str,
    frame: pd.DataFrame,
    tables: Mapping[str, pd.DataFrame],
    part: Slice,
    run_in: NDArray[np.bool_],
    possession_in: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    if name in _WHOLE_GAME:
        return keep(frame[["game"]], part)
    kept = keep(frame, part)
    if "run" not in frame:
        return kept & (not part.of_runs)
    at = places(tables["runs"]["id"], frame["run"])
    in_run = at >= 0
    if part.of_runs:
        run_of_kind = keep(tables["runs"], replace(part, games=None, periods=None, strengths=None, team=None))
        kept &= in_run & _looked_up(run_of_kind, at)
    if part.strengths is not None and "strength" not in frame:
        possession_at = places(tables["possessions"]["id"], frame["possession"])
        by_stretch = Slice(strengths=part.strengths)
        in_strength = np.where(
            in_run,
            _looked_up(keep(tables["runs"], by_stretch), at),
            _looked_up(keep(tables["possessions"], by_stretch), possession_at),
        )
        kept &= in_strength
    if part.team is not None and "team" not in frame:
        possession_at = places(tables["possessions"]["id"], frame["possession"])
        by_team = Slice(team=part.team)
        kept &= np.where(
            in_run,
            _looked_up(keep(tables["runs"], by_team), at),
            _looked_up(keep(tables["possessions"], by_team), possession_at) | (possession_at < 0),
        )
    return kept


def _looked_up(flags: NDArray[np.bool_], at: NDArray[np.intp]) -> NDArray[np.bool_]:
    return np.append(flags, False)[at]
