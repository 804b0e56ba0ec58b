"""Players by what they did per minute on the floor: the fair measure where it is known who was out.

Per game, a player of the first line looks busier than one who gets every third change. Where lines are marked, every
deed is set against the time for which he was on the floor; where they are not, `analysis.players` has it per game.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, known, places, whole, words
from analysis.groups import games_of, group
from analysis.looked import looked_for
from analysis.man_up import MINUTE_MS
from analysis.on_floor import turns
from analysis.players import number_order
from analysis.shots import GOAL, attempts
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.exposure import GARWOOD
from analysis.strength import DOWN, UP, classes

if TYPE_CHECKING:
    from numpy.typing import NDArray


class _Deed(NamedTuple):
    """What is counted: a column of an event table that names who did it, and what must have been looked for."""

    table: str
    column: str
    looked_for: str
    with_ball: bool


DEEDS = {
    "shots": _Deed("shots", "shooter", "shot", True),
    "goals": _Deed("goals", "shooter", "shot", True),
    "feeds": _Deed("shots", "feeder", "shot.feeder", True),
    "second_feeds": _Deed("shots", "feeder2", "shot.feeder2", True),
    "screens_set": _Deed("screens", "setter", "screen", True),
    "screens_used": _Deed("screens", "user", "screen", True),
    "turnovers": _Deed("turnovers", "player", "turnover", True),
    "loose_balls": _Deed("loose_balls", "player", "loose_ball", False),
}


def per_minute(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    of: str = "ours",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Set what each player of a team did against the time that he was on the floor.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which possessions are looked at, of either team; its strengths are seen from the team with the ball.
    of : str
        Whose players: "ours" or "theirs".
    small_n : int
        In under this many possessions a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per player (by number) and class of strength, seen from his team: `player`, `strength` string; counts
        `with_ball` and `without_ball` (possessions in which he was on the floor at some time; ids of possessions);
        rates per minute on the floor (ids of shots, screens, turnovers, loose balls): `shots_a_minute`,
        `goals_a_minute`, `feeds_a_minute`, `second_feeds_a_minute`, `screens_set_a_minute`, `screens_used_a_minute`,
        `turnovers_a_minute` with the ms of his team's ball as n, `loose_balls_a_minute` with those of both; n leaves
        out what has no known end and possessions in which that kind was not looked for. `method`, `level`, `width`.
        Nobody of whom no line tells has a row.

    Notes
    -----
    Counted is what he did while the marks have him on the floor; what he did at other times is not, since how long that
    was is not known. Garwood's intervals.
    """
    own = cut(tables, part, "possessions")["possessions"]
    held = turns(tables["lines"], own, of)
    numbers = np.append(words(tables["lines"]["players"]), "")[held.change]
    pairs = [(turn, one) for turn, text in enumerate(numbers.tolist()) for one in dict.fromkeys(str(text).split())]
    rows = np.array([turn for turn, _ in pairs], dtype=np.intp)
    number = np.array([who for _, who in pairs], dtype=object)
    theirs = ~among(own["team"], (of,))[held.possession]
    strength = _seen_from(own["strength"], ~among(own["team"], (of,)))[held.possession]
    groups = group(
        {
            "player": pd.Series(pd.array(number.tolist(), dtype="string")),
            "strength": pd.Series(pd.array(strength[rows].tolist(), dtype="string")),
        }
    )
    labels = groups.labels
    groups = groups.ordered(sorted(range(groups.size), key=lambda row: (number_order(labels["player"][row]), row)))
    turn_game = games_of(own).of(held.possession)
    names = sorted(set(number.tolist()))
    column_of = {name: at for at, name in enumerate(names)}
    code_at = np.full((len(theirs) + 1, len(names) + 1), -1, dtype=np.intp)  # by turn and player; the last: nobody
    code_at[rows, [column_of[name] for name in number.tolist()]] = groups.codes
    shots = tables["shots"][attempts(tables["shots"])]
    events = {**tables, "shots": shots, "goals": shots[among(shots["result"], (GOAL,))]}
    columns, n_possessions = [], np.zeros(groups.size, dtype=np.int64)
    for name, which in (("with_ball", ~theirs), ("without_ball", theirs)):
        there = np.flatnonzero(which[rows])
        n = max(len(own), 1)
        once = np.unique(groups.codes[there] * n + held.possession[rows[there]])
        of_pair = groups.only(once // n)
        columns.append(rate.count(name, of_pair.count(), of_pair.ids(words(own["id"])[once % n])))
        n_possessions += of_pair.count()
    few = {"few": pd.array(n_possessions < small_n, dtype="boolean")}
    for name, deed in DEEDS.items():
        frame = events[deed.table]
        frame = frame[among(frame["team"], (of,)) & known(frame[deed.column])]
        looked = looked_for(tables, own, deed.looked_for)[held.possession]
        counted = looked & (held.end_ms >= 0) & ~(theirs & deed.with_ball)
        who = [column_of.get(one, -1) for one in words(frame[deed.column]).tolist()]
        on = held.at(places(own["id"], frame["possession"]), whole(frame["at_ms"]))
        did = groups.only(np.where(np.append(counted, False)[on], code_at[on, who], -1))
        ms = np.where(counted, held.ms, 0)[rows]
        cells = groups.by_game(turn_game.of(rows)).total(ms).astype(np.int64).reshape(groups.size, turn_game.size)
        k = did.cells(turn_game.of(on))
        made = rate.per(f"{name}_a_minute", k, cells, did.ids(words(frame["id"])), of=MINUTE_MS, level=level)
        columns.append(made | {f"{name}_a_minute_{tail}": column for tail, column in few.items()})
    return rate.table(groups.labels, *columns, method=GARWOOD, level=level)


def _seen_from(strength: pd.Series, theirs: NDArray[np.bool_]) -> NDArray[np.object_]:
    """Name the class of strength as the players' own team sees it, None where it is not known."""
    turned = {UP: DOWN, DOWN: UP}
    made = np.empty(len(strength), dtype=object)
    for row, (kind, other) in enumerate(zip(words(classes(strength)).tolist(), theirs.tolist(), strict=True)):
        made[row] = (turned.get(kind, kind) if other else kind) or None
    return made
