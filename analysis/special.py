"""Face-offs, loose balls, power play and penalty kill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, whole, words
from analysis.groups import Games, games_of
from analysis.shots import GOAL
from analysis.slice import EVERYTHING, TEAMS, Slice, cut
from analysis.strength import DOWN, UP, classes

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


def power_plays(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what came of the power plays, for us and against us.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Games, periods and team are looked at; the rest is not asked.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team: `team`; count `power_plays` (ids of the possessions in them); rate `scored` (power plays
        with at least one goal of the side with more runners) and rate `killed` (the other team's power plays without
        one); count `shorthanded_goals` (of the team, while the other had more runners; ids of shots); rate `goal_up`
        (the team's possessions with more runners that brought a goal); `method`, `level`, `width`. Except in
        `goal_up`, whose ids are as always, ids of a power play are those of all its possessions.

    Notes
    -----
    A power play is an unbroken stretch of possessions, of either team, in which the same team has more runners; it
    may begin in one period and end in the next. Two penalties that follow each other without a possession between are
    one stretch.
    """
    kept = cut(tables, Slice(part.games, part.periods), "possessions", "shots")
    possessions, shots = kept["possessions"], kept["shots"]
    order = np.lexsort((whole(possessions["start_ms"]), words(possessions["game"])))
    possessions = possessions.iloc[order]
    side = _side_with_more(possessions)
    stretch = _stretches(possessions, side)
    goal = shots[among(shots["result"], (GOAL,))]
    at = places(possessions["id"], goal["possession"])
    goal_ids, goal_team = words(goal["id"]), words(goal["team"])
    stretch_of_goal = np.append(stretch, -1)[at]
    side_of_goal = np.append(side, "")[at]
    ids = words(possessions["id"])
    held: dict[int, list[str]] = {}
    for place, one in zip(ids.tolist(), stretch.tolist(), strict=True):
        if one >= 0:
            held.setdefault(one, []).append(place)
    side_of = dict(zip(stretch.tolist(), side.tolist(), strict=True))
    scored = set(stretch_of_goal[(stretch_of_goal >= 0) & (goal_team == side_of_goal)].tolist())
    teams = TEAMS if part.team is None else (part.team,)
    own = {team: [one for one in held if side_of[one] == team] for team in TEAMS}
    other = {"ours": "theirs", "theirs": "ours"}
    numbers = {
        "power_plays": [own[team] for team in teams],
        "scored": [[one for one in own[team] if one in scored] for team in teams],
        "faced": [own[other[team]] for team in teams],
        "killed": [[one for one in own[other[team]] if one not in scored] for team in teams],
    }
    game = games_of(possessions)
    game_of = dict(zip(stretch.tolist(), game.codes.tolist(), strict=True))
    n_in = {
        name: np.array(
            [np.bincount(np.array([game_of[one] for one in each], dtype=np.intp), minlength=game.size) for each in rows]
        )
        for name, rows in numbers.items()
    }
    n = {name: np.array([len(stretches) for stretches in rows]) for name, rows in numbers.items()}
    row_ids = {name: _gathered(held, rows) for name, rows in numbers.items()}
    against = (side_of_goal != "") & (goal_team != side_of_goal)
    short = [goal_ids[against & (goal_team == team)] for team in teams]
    with_more = [(side == team) & (words(possessions["team"]) == team) for team in teams]
    with_goal = np.zeros(len(possessions) + 1, dtype=bool)
    with_goal[at] = True
    hit = [more & with_goal[:-1] for more in with_more]
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    return rate.table(
        {"team": list(teams)},
        rate.count("power_plays", n["power_plays"], row_ids["power_plays"]),
        rate.share("scored", n_in["scored"], n_in["power_plays"], row_ids["scored"], **how),
        rate.share("killed", n_in["killed"], n_in["faced"], row_ids["killed"], **how),
        rate.count("shorthanded_goals", np.array([len(one) for one in short]), rate.tuples(short)),
        rate.share(
            "goal_up",
            _per_game(game, hit),
            _per_game(game, with_more),
            rate.tuples([ids[one] for one in hit]),
            **how,
        ),
        level=level,
    )


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


def _side_with_more(possessions: pd.DataFrame) -> NDArray[np.object_]:
    """Name for each possession the team with more runners, "" for none."""
    kind = words(classes(possessions["strength"]))
    team = words(possessions["team"])
    other = np.where(team == "ours", "theirs", "ours")
    made = np.full(len(possessions), "", dtype=object)
    made[kind == UP] = team[kind == UP]
    made[kind == DOWN] = other[kind == DOWN]
    return made


def _stretches(possessions: pd.DataFrame, side: NDArray[np.object_]) -> NDArray[np.intp]:
    """Number the unbroken stretches in which one team has more runners; −1 outside of any."""
    game = words(possessions["game"])
    if len(game) == 0:
        return np.empty(0, dtype=np.intp)
    begins = np.append(True, (game[1:] != game[:-1]) | (side[1:] != side[:-1]))
    return np.where(side == "", -1, np.cumsum(begins) - 1)


def _gathered(held: Mapping[int, list[str]], rows: list[list[int]]) -> NDArray[np.object_]:
    return rate.tuples([[row for one in stretches for row in held[one]] for stretches in rows])
