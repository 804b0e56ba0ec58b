"""Face-offs and loose balls: who won them, and what came of it.

Nobody has the ball when it is contested, so these have no strength of their own and are counted at any. What followed a
face-off is seen from the possession that begins next, before another face-off and in the same period; where none does,
nothing was tagged, and nothing is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, whole, words
from analysis.errors import QuestionError
from analysis.groups import Groups, games_of, group
from analysis.looked import looked_for
from analysis.players import number_order
from analysis.shots import NO, UNKNOWN, YES, attempts
from analysis.slice import EVERYTHING, TEAMS, Slice, cut

if TYPE_CHECKING:
    from numpy.typing import NDArray

WITHIN_S = (10, 30)
BY = ("ours", "theirs", "winner")
PLACES = ("faceoff", "our_shot", "their_shot", "our_loss", "their_loss", "our_start", "their_start")
SETTLED = ("our_settled", "their_settled")
NOTHING_BEFORE = "nothing"
_THERE = {"ours": "our", "theirs": "their"}


def faceoffs(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: str = "ours",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say who won the face-offs, and what followed.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Games and periods are looked at; the rest is not asked.
    by : str
        One of `BY`: our man, theirs, or the team that won it.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row for each value of `by` that occurs, players by number, missing last (ids of face-offs): `ours`, `theirs`
        or `winner` string; count `faceoffs`; rates `won` (by us, of those whose winner was seen), `ball` (the
        possession that begins next is ours), `shot_10s`, `shot_30s`, `shot_against_10s`, `shot_against_30s`: a shot of
        ours, of theirs, within that many seconds of film, of those after which a possession is tagged and shots were
        looked for; `method`, `level`, `width`.

    Raises
    ------
    QuestionError
        A column that face-offs cannot be split by.
    """
    if by not in BY:
        raise QuestionError(f"face-offs: cannot be split by “{by}”; it is one of {', '.join(BY)}")
    own = cut(tables, Slice(part.games, part.periods), "faceoffs")["faceoffs"]
    groups = _by_number(group({by: own["won" if by == "winner" else by]}), by)
    ids, game = words(own["id"]), games_of(own)
    ball = _next_ball(tables, own)
    facts = {"won": _is(own["won"], "ours"), "ball": ball}
    followed = (ball != UNKNOWN) & looked_for(tables, own, "shot")
    for suffix, team in (("", "ours"), ("_against", "theirs")):
        after = _after_ms(own, tables["shots"], team)
        for seconds in WITHIN_S:
            fact = np.where(after <= seconds * 1000, YES, NO)
            facts[f"shot{suffix}_{seconds}s"] = np.where(followed, fact, UNKNOWN).astype(np.int8)
    return rate.table(
        groups.labels,
        rate.count("faceoffs", groups.count(), groups.ids(ids)),
        *(rate.of_fact(name, fact, groups, game, ids, small_n=small_n, level=level) for name, fact in facts.items()),
        level=level,
    )


def loose_balls(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: str = "place",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say who won the loose balls, by what happened last before.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Games and periods are looked at; the rest is not asked.
    by : str
        "place": what happened last before it in its period; "player": who won it, with his team.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        By place one row for each that occurs, in the order of `PLACES`: `place` string: what was marked last before: a
        face-off, a shot or a lost ball of ours or theirs, the beginning of our possession or theirs, not settled yet
        (`our_start`), settled play (`our_settled`), or `nothing`; count `loose_balls`; rate `won` (by us, of those with
        a winner). By player one row per team and player, by number: `team`, `player` string; counts `loose_balls`,
        `after_faceoff`, `after_shot` (of either team), `after_loss`, `in_possession` (ids of loose balls); `method`,
        `level`, `width`.

    Raises
    ------
    QuestionError
        A column that loose balls cannot be split by.
    """
    own = cut(tables, Slice(part.games, part.periods), "loose_balls")["loose_balls"]
    if by == "player" and part.team is not None:
        own = own[among(own["team"], (part.team,))]
    place = _place(tables, own)
    ids, game = words(own["id"]), games_of(own)
    if by == "place":
        groups = group({"place": pd.Series(pd.array(place.tolist(), dtype="string"))})
        rank = {name: at for at, name in enumerate((*PLACES, *SETTLED, NOTHING_BEFORE))}
        groups = groups.ordered(sorted(range(groups.size), key=lambda row: rank[groups.labels["place"][row]]))
        won = rate.of_fact("won", _is(own["team"], "ours"), groups, game, ids, small_n=small_n, level=level)
        return rate.table(groups.labels, rate.count("loose_balls", groups.count(), groups.ids(ids)), won, level=level)
    if by != "player":
        raise QuestionError(f"loose balls: cannot be split by “{by}”; it is place or player")
    groups = _by_number(group({"team": own["team"], "player": own["player"]}), "player")
    kinds = {
        "after_faceoff": ("faceoff",),
        "after_shot": ("our_shot", "their_shot"),
        "after_loss": ("our_loss", "their_loss"),
        "in_possession": ("our_start", "their_start", *SETTLED),
    }
    columns = [rate.count("loose_balls", groups.count(), groups.ids(ids))]
    for name, those in kinds.items():
        which = np.isin(place.astype(str), those)
        columns.append(rate.count(name, groups.count(which), groups.ids(ids, which)))
    return rate.table(groups.labels, *columns, level=level, width=None)


def _by_number(groups: Groups, name: str) -> Groups:
    """Put players in the order of their numbers, each team's for itself."""
    labels = groups.labels
    team = labels.get("team", [""] * groups.size)
    teams = {"ours": 0, "theirs": 1}
    return groups.ordered(
        sorted(range(groups.size), key=lambda row: (teams.get(team[row], 2), number_order(labels[name][row])))
    )


def _is(column: pd.Series, team: str) -> NDArray[np.int8]:
    """Whether a column names a team; unknown where it names none."""
    made = np.where(among(column, (team,)), YES, NO)
    return np.where(among(column, TEAMS), made, UNKNOWN).astype(np.int8)


def _next_ball(tables: Mapping[str, pd.DataFrame], own: pd.DataFrame) -> NDArray[np.int8]:
    """Whether the next possession is ours: it begins at or after the face-off, before another, in its period."""
    possessions, every = tables["possessions"], tables["faceoffs"]
    starts, others = _by_period(possessions, "start_ms"), _by_period(every, "at_ms")
    team = words(possessions["team"])
    made = np.full(len(own), UNKNOWN)
    for row, (key, at) in enumerate(zip(_keys(own), whole(own["at_ms"]).tolist(), strict=True)):
        times, rows = starts.get(key, _NONE)
        place = int(np.searchsorted(times, at, side="left"))
        if place == len(times):
            continue
        later = others[key][0] if key in others else np.empty(0, dtype=np.int64)
        again = int(np.searchsorted(later, at, side="right"))
        if again == len(later) or times[place] < later[again]:
            made[row] = YES if team[rows[place]] == "ours" else NO
    return made


def _after_ms(own: pd.DataFrame, shots: pd.DataFrame, team: str) -> NDArray[np.int64]:
    """How long after each row a team shot in its period; a time that never comes where it did not."""
    held = _by_period(shots[attempts(shots) & among(shots["team"], (team,))], "at_ms")
    made = np.full(len(own), np.iinfo(np.int64).max)
    for row, (key, at) in enumerate(zip(_keys(own), whole(own["at_ms"]).tolist(), strict=True)):
        times = held.get(key, _NONE)[0]
        place = int(np.searchsorted(times, at, side="left"))
        if place < len(times):
            made[row] = times[place] - at
    return made


def _place(tables: Mapping[str, pd.DataFrame], own: pd.DataFrame) -> NDArray[np.object_]:
    """Name what happened last before each loose ball in its period; of things at one time the last in `PLACES`."""
    named: list[tuple[dict[_Key, tuple[NDArray[np.int64], NDArray[np.intp]]], str]] = []
    possessions, shots, turnovers = tables["possessions"], tables["shots"], tables["turnovers"]
    for team in TEAMS:
        who = _THERE[team]
        held = possessions[among(possessions["team"], (team,))]
        settled = held[whole(held["settled_ms"]) >= 0]
        named += [
            (_by_period(held, "start_ms"), f"{who}_start"),
            (_by_period(settled, "settled_ms"), f"{who}_settled"),
            (_by_period(shots[among(shots["team"], (team,))], "at_ms"), f"{who}_shot"),
            (_by_period(turnovers[among(turnovers["team"], (team,))], "at_ms"), f"{who}_loss"),
        ]
    named.append((_by_period(tables["faceoffs"], "at_ms"), "faceoff"))
    rank = {name: place for place, name in enumerate(("faceoff", "our_start", "their_start", *SETTLED))}
    made = np.full(len(own), NOTHING_BEFORE, dtype=object)
    for row, (key, at) in enumerate(zip(_keys(own), whole(own["at_ms"]).tolist(), strict=True)):
        best: tuple[int, int] = (-1, -1)
        for held_times, name in named:
            times = held_times.get(key, _NONE)[0]
            before = name.endswith("_start")  # a possession that begins with the ball's being won comes of it
            place = int(np.searchsorted(times, at, side="left" if before else "right"))
            found = (int(times[place - 1]), rank.get(name, len(rank))) if place else (-1, -1)
            if found > best:
                best, made[row] = found, name
    return made


_Key = tuple[str, int]
_NONE: tuple[NDArray[np.int64], NDArray[np.intp]] = (np.empty(0, dtype=np.int64), np.empty(0, dtype=np.intp))


def _keys(frame: pd.DataFrame) -> list[_Key]:
    return list(zip(words(frame["game"]).tolist(), whole(frame["period"]).tolist(), strict=True))


def _by_period(frame: pd.DataFrame, column: str) -> dict[_Key, tuple[NDArray[np.int64], NDArray[np.intp]]]:
    """Times of a table's rows in order, and the rows, for each game and period; rows without a time are left out."""
    at = whole(frame[column])
    order = np.argsort(at, kind="stable")
    order = order[at[order] >= 0]
    keys = _keys(frame)
    held: dict[_Key, list[int]] = {}
    for row in order.tolist():
        held.setdefault(keys[row], []).append(row)
    return {key: (at[rows], np.array(rows, dtype=np.intp)) for key, rows in held.items()}
