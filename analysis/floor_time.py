"""Players by what they did per possession on the floor: the fair measure where it is known who was out.

Per game, a player of the first line looks busier than one who gets every third change. Where lines are marked, every
deed is set against the possessions in which he was on the floor; where they are not, `analysis.players` has it per
game.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, known, places, words
from analysis.groups import games_of, group
from analysis.lines import players_at
from analysis.looked import looked_for
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


def per_possession(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    of: str = "ours",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Set what each player of a team did against the possessions that he was on the floor for.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which possessions are looked at, of either team; its strengths are seen from the team with the ball.
    of : str
        Whose players: "ours" or "theirs".
    small_n : int
        Under this many possessions a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per player (by number) and class of strength, seen from his team: `player`, `strength` string; counts
        `with_ball` and `without_ball` (possessions on the floor; ids of possessions); rates per 100 possessions on the
        floor (ids of shots, screens, turnovers, loose balls): `shots_per_100`, `goals_per_100`, `feeds_per_100`,
        `second_feeds_per_100`, `screens_set_per_100`, `screens_used_per_100`, `turnovers_per_100` with his team's
        possessions as n, `loose_balls_per_100` with those of both; n leaves out possessions in which that kind was not
        looked for. `method`, `level`, `width`. Nobody of whom no line tells has a row.

    Notes
    -----
    Counted is what he did in possessions at whose beginning he was on the floor; what he did in others is not, since
    their number is not known. Garwood's intervals.
    """
    own = cut(tables, part, "possessions")["possessions"]
    men = players_at(tables["lines"], own, of)
    pairs = [(row, number) for row, numbers in enumerate(men.tolist()) for number in numbers]
    rows = np.array([row for row, _ in pairs], dtype=np.intp)
    number = np.array([who for _, who in pairs], dtype=object)
    theirs = ~among(own["team"], (of,))
    groups = group(
        {
            "player": pd.Series(pd.array(number.tolist(), dtype="string")),
            "strength": pd.Series(pd.array(_seen_from(own["strength"], theirs)[rows].tolist(), dtype="string")),
        }
    )
    labels = groups.labels
    groups = groups.ordered(sorted(range(groups.size), key=lambda row: (number_order(labels["player"][row]), row)))
    ids, without = words(own["id"])[rows], theirs[rows]
    game_of_row = games_of(own)
    game = game_of_row.of(rows)
    names = sorted(set(number.tolist()))
    column_of = {name: at for at, name in enumerate(names)}
    code_at = np.full((len(own) + 1, len(names) + 1), -1, dtype=np.intp)  # by possession and player; the last: nobody
    code_at[rows, [column_of[name] for name in number.tolist()]] = groups.codes
    shots = tables["shots"][attempts(tables["shots"])]
    events = {**tables, "shots": shots, "goals": shots[among(shots["result"], (GOAL,))]}
    columns = [
        rate.count("with_ball", groups.count(~without), groups.ids(ids, ~without)),
        rate.count("without_ball", groups.count(without), groups.ids(ids, without)),
    ]
    for name, deed in DEEDS.items():
        frame = events[deed.table]
        frame = frame[among(frame["team"], (of,)) & known(frame[deed.column])]
        counted = looked_for(tables, own, deed.looked_for) & ~(theirs & deed.with_ball)
        who = [column_of.get(name, -1) for name in words(frame[deed.column]).tolist()]
        at = places(own["id"], frame["possession"])
        did = groups.only(np.where(np.append(counted, False)[at], code_at[at, who], -1))
        counted = counted[rows]
        n, k = groups.cells(game, counted), did.cells(game_of_row.of(at))
        columns.append(
            rate.per(f"{name}_per_100", k, n, did.ids(words(frame["id"])), of=100, small_n=small_n, level=level)
        )
    return rate.table(groups.labels, *columns, method=GARWOOD, level=level)


def _seen_from(strength: pd.Series, theirs: NDArray[np.bool_]) -> NDArray[np.object_]:
    """Name the class of strength as the players' own team sees it, None where it is not known."""
    turned = {UP: DOWN, DOWN: UP}
    made = np.empty(len(strength), dtype=object)
    for row, (kind, other) in enumerate(zip(words(classes(strength)).tolist(), theirs.tolist(), strict=True)):
        made[row] = (turned.get(kind, kind) if other else kind) or None
    return made
