"""Lines: what happened while each unit was on the floor, bad changes, and why goals were let in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, known, places, whole, words
from analysis.groups import games_of, group
from analysis.man_up import MINUTE_MS
from analysis.on_floor import turns
from analysis.outcome import any_of
from analysis.shots import GOAL, YES, attempts, resulted
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.cluster import WIDENED
from analysis.stats.exposure import GARWOOD
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

WITHIN_S = 15.0


def units(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    of: str = "ours",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what happened while each of a team's units was on the floor, with the ball and without.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which possessions are looked at, of either team.
    of : str
        Whose units: "ours" or "theirs".
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per unit (missing where no line was marked yet in the period, or nothing was said of the last change),
        class of strength (of the possession, seen from the team with the ball) and `ball` ("with": the team has it,
        "without": the others have it): `unit`, `strength`, `ball`: string; count `possessions` in which it was on at
        some time; rates `shot`, `goal`, `turnover` of these: while it was on (whoever has the ball); rates per minute
        `shots_a_minute`, `goals_a_minute`, with the ms it was on as n (ids of shots; what has no known end is left
        out); `method`, `level`, `width`.

    Notes
    -----
    Offence and defence change after the ball is gained: a shot is of those who were on when it went. Units meet
    different opponents and times of the game; these are no effects of the units alone.
    """
    own = cut(tables, part, "possessions")["possessions"]
    lines = tables["lines"]
    held = turns(lines, own, of)
    ball = np.where(among(own["team"], (of,)), "with", "without")[held.possession]
    columns = {
        "unit": _column(np.append(words(lines["unit"]), "")[held.change]),
        "strength": classes(own["strength"]).iloc[held.possession].reset_index(drop=True),
        "ball": _column(ball),
    }
    groups = group(columns)
    n = max(len(own), 1)
    pairs, pair_of = np.unique(groups.codes * n + held.possession, return_inverse=True)
    of_pair, place = groups.only(pairs // n), pairs % n
    shots = tables["shots"][attempts(tables["shots"])]
    turnovers = tables["turnovers"]
    on = held.at(places(own["id"], shots["possession"]), whole(shots["at_ms"]))
    lost = held.at(places(own["id"], turnovers["possession"]), whole(turnovers["at_ms"]))
    facts = {
        "shot": any_of(np.full(len(shots), YES), np.append(pair_of, -1)[on], len(pairs)),
        "goal": any_of(resulted(shots, (GOAL,)), np.append(pair_of, -1)[on], len(pairs)),
        "turnover": any_of(np.full(len(turnovers), YES), np.append(pair_of, -1)[lost], len(pairs)),
    }
    ids, game = words(own["id"])[place], games_of(own).of(place)
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    timed = np.append(held.end_ms >= 0, False)[on]
    of_shot = groups.only(np.where(timed, np.append(groups.codes, -1)[on], -1))
    turn_game = games_of(own).of(held.possession)
    ms = groups.by_game(turn_game).total(held.ms).astype(np.int64).reshape(groups.size, turn_game.size)
    minutes = []
    for name, which in (("shots", np.ones(len(shots), dtype=bool)), ("goals", among(shots["result"], (GOAL,)))):
        k = of_shot.cells(turn_game.of(on), which)
        made = rate.per(f"{name}_a_minute", k, ms, of_shot.ids(words(shots["id"]), which), of=MINUTE_MS, **how)
        few = of_pair.count() < small_n  # how many possessions, not how many ms, make it few
        minutes.append(made | {f"{name}_a_minute_few": pd.array(few, dtype="boolean")})
    return rate.table(
        groups.labels,
        rate.count("possessions", of_pair.count(), of_pair.ids(ids)),
        *(rate.of_fact(name, fact, of_pair, game, ids, **how) for name, fact in facts.items()),
        *minutes,
        method=f"{WIDENED}; a minute: {GARWOOD}",
        level=level,
    )


def changes(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    within_s: float = WITHIN_S,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how often a line change was bad, and whether a goal against followed soon.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    within_s : float
        So many seconds after the change.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team: `team`; count `changes` (ids of line changes); rate `bad` (of those where it was said);
        rates `goal_after_bad` and `goal_after_clean`: changes followed in time by a goal of the other team; `method`,
        `level`.
    """
    own = cut(tables, part, "lines")["lines"]
    goals = tables["shots"][among(tables["shots"]["result"], (GOAL,))]
    groups = group({"team": own["team"]})
    ids = words(own["id"])
    bad, told = among(own["bad"], ("yes",)), known(own["bad"])
    game = games_of(own)
    at, own_game, team = whole(own["at_ms"]), words(own["game"]), words(own["team"])
    goal_at, goal_game, goal_team = whole(goals["at_ms"]), words(goals["game"]), words(goals["team"])
    followed = np.zeros(len(own), dtype=bool)
    for row in range(len(own)):
        gone = goal_at - at[row]
        hit = (goal_game == own_game[row]) & (goal_team != team[row]) & (gone >= 0) & (gone <= within_s * 1000)
        followed[row] = bool(hit.any())
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    columns = [
        rate.count("changes", groups.count(), groups.ids(ids)),
        rate.share(
            "bad",
            groups.cells(game, bad),
            groups.cells(game, told),
            groups.ids(ids, bad),
            asked=groups.count(),
            **how,
        ),
    ]
    for name, which in (("goal_after_bad", bad), ("goal_after_clean", told & ~bad)):
        columns.append(
            rate.share(
                name,
                groups.cells(game, which & followed),
                groups.cells(game, which),
                groups.ids(ids, which & followed),
                **how,
            )
        )
    return rate.table(groups.labels, *columns, level=level)


def goals_against(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say why we let goals in.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at; the goals are the other team's whatever the slice's team.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per cause that occurs, most frequent first, then "unseen" and missing (not answered): `cause` string;
        count `goals` (ids of shots); rate `share` of the goals with a known cause (empty in the last two); `method`,
        `level`.
    """
    shots = cut(tables, replace(part, team="theirs"), "shots")["shots"]
    goals = shots[among(shots["result"], (GOAL,))]
    groups = group({"cause": goals["cause"]})
    n = groups.count()
    last = {"unseen": 1, None: 2}
    order = sorted(range(groups.size), key=lambda row: (last.get(groups.labels["cause"][row], 0), -n[row], row))
    groups = groups.ordered(order)
    told = known(goals["cause"])
    answerable = np.array([cause not in last for cause in groups.labels["cause"]], dtype=bool)
    ids, game = words(goals["id"]), games_of(goals)
    return rate.table(
        groups.labels,
        rate.count("goals", groups.count(), groups.ids(ids)),
        rate.share(
            "share",
            np.where(answerable[:, None], groups.cells(game, told), 0),
            np.where(answerable[:, None], np.bincount(game.codes[told], minlength=game.size), 0),
            groups.ids(ids, told),
            small_n=small_n,
            level=level,
            asked=np.full(groups.size, len(goals)),
        ),
        level=level,
    )


def _column(values: NDArray[np.object_] | NDArray[np.str_]) -> pd.Series:
    return pd.Series(pd.array([str(word) or None for word in values.tolist()], dtype="string"))
