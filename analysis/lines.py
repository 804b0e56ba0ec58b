"""Lines: what happened while each unit was on the floor, bad changes, and why goals were let in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, known, places, whole, words
from analysis.groups import Groups, games_of, group
from analysis.outcome import any_of
from analysis.players import number_order
from analysis.shots import GOAL, NO, YES, attempts, resulted
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
        One row per unit (missing where no line was marked yet in the period, or nothing was said of the last
        change), class of strength (seen from the team with the ball) and `ball` ("with": the team has it, "without":
        the others have it): `unit`, `strength`, `ball`: string; count `possessions`; rates `shot`, `goal` and
        `turnover` of these possessions (whoever has the ball); rate `shots_per_100` (Garwood; ids of shots);
        `method`, `level`, `width`.

    Notes
    -----
    A possession belongs to the unit that was on the floor when it began. Units meet different opponents and times of
    the game; these are no effects of the units alone.
    """
    own = cut(tables, part, "possessions")["possessions"]
    unit = unit_at(tables["lines"], own, of)
    ball = np.where(among(own["team"], (of,)), "with", "without")
    columns = {
        "unit": pd.Series(pd.array([word or None for word in unit], dtype="string"), index=own.index),
        "strength": classes(own["strength"]),
        "ball": pd.Series(pd.array(ball, dtype="string"), index=own.index),
    }
    return _possession_rates(tables, own, group(columns), small_n, level)


def on_floor(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    of: str = "ours",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say for each of a team's players what happened while he was on the floor.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which possessions are looked at, of either team.
    of : str
        Whose players: "ours" or "theirs". Nobody knows the opponents' until somebody marks them.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per player (by number), class of strength and `ball` ("with", "without"): `player`, `strength`,
        `ball`: string; count `possessions`; rates `shot`, `goal`, `turnover`, `shots_per_100` as in `units`; of the
        player himself, with the ball only: rate `own_shots_per_100` (Garwood: his shots in those possessions);
        `method`, `level`, `width`.

    Notes
    -----
    A player is counted in the possessions at whose beginning he was on the floor, by the line marked last and the
    swaps since. Possessions before a period's first line change, and after a change of which nothing was said, are
    nobody's: they are left out, not counted as off the floor.
    """
    own = cut(tables, part, "possessions")["possessions"]
    men = players_at(tables["lines"], own, of)
    with_ball = among(own["team"], (of,))
    pairs = [(row, player) for row, numbers in enumerate(men.tolist()) for player in numbers]
    rows = np.array([row for row, _ in pairs], dtype=np.intp)
    player = np.array([number for _, number in pairs], dtype=object)
    spread = own.iloc[rows]
    columns = {
        "player": pd.Series(pd.array(player.tolist(), dtype="string")),
        "strength": classes(spread["strength"]).reset_index(drop=True),
        "ball": pd.Series(pd.array(np.where(with_ball[rows], "with", "without"), dtype="string")),
    }
    groups = group(columns)
    labels = groups.labels
    groups = groups.ordered(sorted(range(groups.size), key=lambda row: (number_order(labels["player"][row]), row)))
    made = _possession_rates(tables, spread, groups, small_n, level)
    shots = tables["shots"][attempts(tables["shots"])]
    row_of = {
        (possession, number): code
        for possession, number, code in zip(words(spread["id"]), player, groups.codes, strict=True)
    }
    code = np.array(
        [row_of.get(key, -1) for key in zip(words(shots["possession"]), words(shots["shooter"]), strict=True)],
        dtype=np.intp,
    )
    own_shots = groups.only(code)
    game = games_of(own)
    having = np.array(groups.labels["ball"]) == "with"
    n = np.where(having[:, None], groups.cells(game.of(rows)), 0)
    k = np.where(n > 0, own_shots.cells(game.of(places(own["id"], shots["possession"]))), 0)
    personal = rate.per(
        "own_shots_per_100", k, n, own_shots.ids(words(shots["id"])), of=100, small_n=small_n, level=level
    )
    tail = made[["method", "level", "width"]]
    return pd.concat([made.drop(columns=list(tail.columns)), pd.DataFrame(personal), tail], axis=1)


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


def unit_at(lines: pd.DataFrame, possessions: pd.DataFrame, of: str) -> NDArray[np.object_]:
    """Name the unit on the floor when each possession began.

    Parameters
    ----------
    lines, possessions : DataFrame
        Event tables.
    of : str
        Whose unit: "ours" or "theirs".

    Returns
    -------
    object array
        One str per possession, "" where no line was marked before in its period, or nothing was said of the last
        change.
    """
    made = np.full(len(possessions), "", dtype=object)
    for rows, change in _last_changes(lines, possessions, of):
        made[rows] = words(lines["unit"])[change]
    return made


def players_at(lines: pd.DataFrame, possessions: pd.DataFrame, of: str) -> NDArray[np.object_]:
    """Say who was on the floor when each possession began.

    Parameters
    ----------
    lines, possessions : DataFrame
        Event tables.
    of : str
        Whose players: "ours" or "theirs".

    Returns
    -------
    object array
        One tuple of numbers per possession, empty where nobody knows; players who were erased are one "somebody".
    """
    made = np.full(len(possessions), None, dtype=object)
    for row in range(len(made)):
        made[row] = ()
    numbers = words(lines["players"])
    for rows, change in _last_changes(lines, possessions, of):
        for row, place in zip(rows.tolist(), change.tolist(), strict=True):
            made[row] = tuple(dict.fromkeys(str(numbers[place]).split()))
    return made


def _last_changes(
    lines: pd.DataFrame, possessions: pd.DataFrame, of: str
) -> Iterator[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Rows of possessions, and for each the row of the last change of its period at or before its beginning."""
    whose = among(lines["team"], (of,))
    game, period = words(possessions["game"]), whole(possessions["period"])
    start = whole(possessions["start_ms"])
    line_game, line_period, line_at = words(lines["game"]), whole(lines["period"]), whole(lines["at_ms"])
    for key in dict.fromkeys(zip(line_game[whose].tolist(), line_period[whose].tolist(), strict=True)):
        here = np.flatnonzero(whose & (line_game == key[0]) & (line_period == key[1]))
        here = here[np.argsort(line_at[here], kind="stable")]
        rows = np.flatnonzero((game == key[0]) & (period == key[1]))
        place = np.searchsorted(line_at[here], start[rows], side="right") - 1
        yield rows[place >= 0], here[place[place >= 0]]


def _possession_rates(
    tables: Mapping[str, pd.DataFrame], own: pd.DataFrame, groups: Groups, small_n: int, level: float
) -> pd.DataFrame:
    possessions, turnovers = tables["possessions"], tables["turnovers"]
    shots = tables["shots"][attempts(tables["shots"])]
    n = len(possessions)
    shot_at = places(possessions["id"], shots["possession"])
    facts = {
        "shot": any_of(np.full(len(shots), YES), shot_at, n),
        "goal": any_of(resulted(shots, (GOAL,)), shot_at, n),
        "turnover": any_of(np.full(len(turnovers), YES), places(possessions["id"], turnovers["possession"]), n),
    }
    at = places(possessions["id"], own["id"])
    ids = words(own["id"])
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    n_shots = np.bincount(shot_at[shot_at >= 0], minlength=n)
    game = games_of(own)
    n_cells = groups.cells(game)
    k = groups.by_game(game).total(n_shots[at]).astype(np.int64).reshape(n_cells.shape)
    shot_ids: dict[int, list[str]] = {}
    for place, shot in zip(shot_at.tolist(), words(shots["id"]).tolist(), strict=True):
        shot_ids.setdefault(place, []).append(shot)
    held: list[list[str]] = [[] for _ in range(groups.size)]
    for place, code in zip(at.tolist(), groups.codes.tolist(), strict=True):
        if code >= 0:
            held[code] += shot_ids.get(place, [])
    return rate.table(
        groups.labels,
        rate.count("possessions", groups.count(), groups.ids(ids)),
        *(
            rate.of_fact(name, np.append(fact, NO)[at].astype(np.int8), groups, game, ids, **how)
            for name, fact in facts.items()
        ),
        rate.per("shots_per_100", k, n_cells, rate.tuples(held), of=100, small_n=small_n, level=level),
        method=f"{WIDENED}; per 100: {GARWOOD}",
        level=level,
    )
