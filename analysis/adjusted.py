"""What a player on the floor goes with, once the others on the floor are taken into account.

Runners of one unit are nearly always out together, so their effects can hardly be told apart. Ridge regression shares
them out instead of letting them run away, and its intervals say how little is known. It is refused under a floor of
possessions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, words
from analysis.lines import players_at, unit_at
from analysis.outcome import any_of
from analysis.players import number_order
from analysis.shots import GOAL, YES, attempts, resulted
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.proportion import Interval, z_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAST_POSSESSIONS = 400
RIDGE = "bayesian ridge"


def effects(
    tables: Mapping[str, pd.DataFrame],
    members: Mapping[str, Sequence[str]] | None = None,
    part: Slice = EVERYTHING,
    *,
    fact: str = "shot",
    least_possessions: int = LEAST_POSSESSIONS,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Estimate what each of our players on the floor goes with.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    members : mapping of str to sequence of str, optional
        Unit → the numbers in it; without it, who was on the floor by the lines marked and the swaps since.
    part : Slice
        Which possessions are looked at, of either team: narrow it to one strength.
    fact : str
        "shot" or "goal": what a possession brings.
    least_possessions : int
        With fewer possessions of known units nothing is said.
    small_n : int
        Under this many possessions a number is flagged as too few.
    level : float
        Probability that the interval holds.

    Returns
    -------
    DataFrame
        One row per player and `ball` ("with": our ball, more is better; "without": theirs, less is better), by
        number: `player`, `ball` string; measure `effect`: change in the share of possessions with the fact while he
        is out, from −1 to 1; its ids are the possessions he was out for; `possessions` Int64: all that the regression
        rests on; `method`, `level`, `width`. Empty under the floor.

    Notes
    -----
    Linear regression with a normal prior on the effects whose width is learned from the data
    (`sklearn.linear_model.BayesianRidge`; D. J. C. MacKay 1992). What goes with a player need not come from him.
    """
    own = cut(tables, part, "possessions")["possessions"]
    men = _out(tables, own, members)
    named = np.array([len(numbers) > 0 for numbers in men], dtype=bool)
    ours = among(own["team"], ("ours",))
    came = _facts(tables, own, fact)
    players = sorted({number for numbers in men for number in numbers}, key=number_order)
    ids = words(own["id"])
    rows: list[tuple[str, str, float, float, int, int, tuple[str, ...]]] = []
    for ball, side in (("with", ours), ("without", ~ours)):
        used = np.flatnonzero(side & named & (came >= 0))
        if len(used) < least_possessions:
            continue
        x = np.array([[number in men[row] for number in players] for row in used], dtype=np.float64)
        effect, spread = _ridge(x, came[used] == YES)
        for at, number in enumerate(players):
            out = used[x[:, at] > 0]
            rows.append((number, ball, effect[at], spread[at], len(out), len(used), tuple(ids[out])))
    rows.sort(key=lambda row: (number_order(row[0]), row[1]))
    estimate, error = (np.array([row[at] for row in rows], dtype=np.float64) for at in (2, 3))
    half = z_of(level) * error
    return rate.table(
        {"player": [row[0] for row in rows], "ball": [row[1] for row in rows]},
        rate.measure(
            "effect",
            np.array([row[4] for row in rows], dtype=np.int64),
            Interval(estimate, estimate - half, estimate + half),
            rate.tuples([row[6] for row in rows]),
            small_n=small_n,
        ),
        {"possessions": pd.array([row[5] for row in rows], dtype="Int64")},
        method=RIDGE,
        level=level,
    )


def _out(
    tables: Mapping[str, pd.DataFrame], own: pd.DataFrame, members: Mapping[str, Sequence[str]] | None
) -> list[tuple[str, ...]]:
    """Say who of ours was on the floor when each possession began, nobody where that is not known."""
    if members is None:
        return [tuple(numbers) for numbers in players_at(tables["lines"], own, "ours")]
    return [tuple(members.get(unit, ())) for unit in unit_at(tables["lines"], own, "ours").tolist()]


def _ridge(x: NDArray[np.float64], y: NDArray[np.bool_]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    from sklearn.linear_model import BayesianRidge

    found = BayesianRidge(max_iter=1000).fit(x, y.astype(np.float64))
    return np.asarray(found.coef_), np.sqrt(np.maximum(np.diag(found.sigma_), 0))


def _facts(tables: Mapping[str, pd.DataFrame], own: pd.DataFrame, fact: str) -> NDArray[np.int8]:
    shots = tables["shots"][attempts(tables["shots"])]
    each = np.full(len(shots), YES) if fact == "shot" else resulted(shots, (GOAL,))
    return any_of(each, places(own["id"], shots["possession"]), len(own))
