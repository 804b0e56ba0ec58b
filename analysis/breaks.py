"""When did it change: the likeliest single break of each set's rate, or each habit's, and whether it is more than
chance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.slice import EVERYTHING, Slice
from analysis.stats.change_point import FEWEST, in_rate
from analysis.stats.cluster import DIFFERENCE, difference
from analysis.stats.multiplicity import family_wise
from analysis.trend import rows_of_games

if TYPE_CHECKING:
    from numpy.typing import NDArray

METHOD = f"least squares, shuffled games; difference: {DIFFERENCE}"


def breaks(
    tables: Mapping[str, pd.DataFrame],
    games: Sequence[str],
    part: Slice = EVERYTHING,
    *,
    what: str = "shot",
    fewest: int = FEWEST,
    n_shuffles: int = 999,
    seed: int = 0,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Look in each set, or each habit, for the game after which its rate was another.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    games : sequence of str
        Ids of games in order of playing; others are left out.
    part : Slice
        What is looked at.
    what : str
        A fact of `analysis.outcome.FACTS`, or "done", as in `analysis.trend.dots`.
    fewest : int
        With fewer games that have trials nothing is said.
    n_shuffles, seed : int
        As in `analysis.stats.change_point.in_rate`.
    small_n : int
        Under this n a number is flagged as too few, and does not stand out.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength, set (and checkpoint) that has trials in enough games: `team`, `strength`,
        `set`, `checkpoint` string; `games` Int64: with trials; `after` string: id of the last game before the break;
        rates `before` and `since` (ids of runs or grades); measure `change`: since − before, −1 to 1, resting on as
        many trials as the smaller side; `p` Float64: share of shuffled seasons with a break as large anywhere;
        `comparisons` Int64: how many rows were looked at; `stands_out` boolean: clears the bar for that many (Holm, 5 %
        for the family) with enough trials on both sides; `method`, `level`, `width`. Empty under the floor.

    Raises
    ------
    QuestionError
        No such fact.

    Notes
    -----
    The break was picked because it is the largest, so the interval of the change, made as if it had been fixed
    beforehand, is on the sure side; whether there was a break at all is said by p alone.
    """
    labels: dict[str, list[str | None]] = {name: [] for name in ("team", "strength", "set", "checkpoint", "after")}
    n_games: list[int] = []
    chances: list[float] = []
    cells: list[NDArray[np.int64]] = []
    ids: list[tuple[tuple[str, ...], ...]] = []
    for keys, k, n, yes_ids, n_ids in rows_of_games(tables, games, part, what):
        found = in_rate(k, n, n_shuffles=n_shuffles, seed=seed, fewest=fewest)
        if not found.after:
            continue
        for name, value in (*keys.items(), ("after", games[found.after - 1])):
            labels[name].append(value)
        sides = (slice(None, found.after), slice(found.after, None))
        before = np.arange(len(games)) < found.after
        cells.append(np.array([np.where(side, each, 0) for each in (k, n) for side in (before, ~before)]))
        ids.append(tuple(_joined(column[side]) for column in (yes_ids, n_ids) for side in sides))
        n_games.append(int((n > 0).sum()))
        chances.append(found.p)
    sides_of = np.array(cells, dtype=np.int64).reshape(len(cells), 4, len(games))
    counted = sides_of.sum(axis=2)
    p = np.array(chances, dtype=np.float64)
    smaller = counted[:, 2:].min(axis=1, initial=2**31)
    gap = difference(*(sides_of[:, side] for side in (1, 3, 0, 2)), level=level)
    return rate.table(
        {name: labels[name] for name in ("team", "strength", "set", "checkpoint")},
        {"games": pd.array(n_games, dtype="Int64"), "after": rate.label(labels["after"])},
        *(
            rate.share(
                name,
                sides_of[:, side],
                sides_of[:, 2 + side],
                rate.tuples([held[side] for held in ids]),
                small_n=small_n,
                level=level,
                n_ids=rate.tuples([held[2 + side] for held in ids]),
            )
            for side, name in enumerate(("before", "since"))
        ),
        rate.measure("change", smaller, gap, rate.tuples([held[2] + held[3] for held in ids]), small_n=small_n),
        {
            "p": rate.number(p),
            "comparisons": pd.array([len(p)] * len(p), dtype="Int64"),
            "stands_out": pd.array(family_wise(p) & (smaller >= small_n), dtype="boolean"),
        },
        method=METHOD,
        level=level,
    )


def _joined(held: NDArray[np.object_]) -> tuple[str, ...]:
    return tuple(row for one in held for row in one)
