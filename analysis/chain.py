"""Possessions as a chain of stretches: where each goes from here, and how the possession ends.

From transition to a set, from a pull-out to freelance, to a shot saved and held.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import places, whole, words
from analysis.groups import games_of, group
from analysis.outcome import run_ids
from analysis.slice import EVERYTHING, Slice, keep

if TYPE_CHECKING:
    from numpy.typing import NDArray

ENDS = ("goal", "save", "missed_shot", "turnover", "violation", "whistle", "period_end")


def arrows(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Count where possessions go from each kind of stretch.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at as beginnings of an arrow.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per arrow that occurs: `from` and `to` string (phases; `to` may be an end of the possession); rate
        `step`: share of the stretches of that phase that go there, of those of which it is known (ids of runs); `end`
        boolean: whether `to` is an end; `method`, `level`, `width`.
    """
    runs, possessions = tables["runs"], tables["possessions"]
    at = places(possessions["id"], runs["possession"])
    order = np.lexsort((whole(runs["order"]), at))
    follows = np.full(len(runs), -1, dtype=np.intp)
    same = at[order[:-1]] == at[order[1:]]
    follows[order[:-1][same]] = order[1:][same]
    phase = words(runs["phase"])
    ended = np.append(words(possessions["ended"]), "")[at]
    to = np.where(follows >= 0, phase[follows], ended)
    kept = keep(runs, part) & (phase != "") & (at >= 0)
    begins = group({"from": runs["phase"][kept]})
    asked = dict(zip(begins.labels["from"], begins.count().tolist(), strict=True))
    kept &= to != ""
    groups = group({"from": runs["phase"][kept], "to": _column(to[kept])})
    begins = group({"from": runs["phase"][kept]})
    game = games_of(runs[kept])
    row_of = {name: row for row, name in enumerate(begins.labels["from"])}
    n = begins.cells(game)[[row_of[name] for name in groups.labels["from"]]]
    ids = run_ids(runs)[kept]
    return rate.table(
        groups.labels,
        rate.share(
            "step",
            groups.cells(game),
            n,
            groups.ids(ids),
            small_n=small_n,
            level=level,
            asked=np.array([asked[name] for name in groups.labels["from"]], dtype=np.int64),
        ),
        {"end": pd.array([name in ENDS for name in groups.labels["to"]], dtype="boolean")},
        level=level,
    )


def _column(plain: NDArray[np.object_]) -> pd.Series:
    return pd.Series(pd.array(plain.tolist(), dtype="string"))
