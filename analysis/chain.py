"""Possessions as a chain of stretches that ends somewhere: where a possession goes from here, and how long it still
lasts.

From transition to a set, from a pull-out to freelance, to a shot saved and held. The chain knows only the stretch it
is in, not how it got there, and every arrow rests on counts that are shown with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import places, whole, words
from analysis.errors import NumbersError
from analysis.groups import games_of, group
from analysis.outcome import run_ids
from analysis.slice import EVERYTHING, Slice, keep

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

LEAST_RUNS = 200
ENDS = ("goal", "save", "missed_shot", "turnover", "violation", "whistle", "period_end")
UNKNOWN = "unknown"


@dataclass(frozen=True)
class Absorbed:
    """What becomes of a chain.

    Attributes
    ----------
    visits : float64 array of shape (t, t)
        [i, j]: mean number of visits to j from i, i's own beginning counted.
    steps : float64 array of shape (t,)
        Mean number of steps until it ends.
    ends : float64 array of shape (t, r)
        [i, e]: probability to end in e from i.
    """

    visits: NDArray[np.float64]
    steps: NDArray[np.float64]
    ends: NDArray[np.float64]


def absorb(inner: ArrayLike, out: ArrayLike) -> Absorbed:
    """Follow an absorbing Markov chain to its end.

    Parameters
    ----------
    inner : array-like of shape (t, t)
        Q: probabilities from passing states to passing states.
    out : array-like of shape (t, r)
        R: probabilities from passing states to ends.

    Returns
    -------
    Absorbed
        N = (I − Q)⁻¹, t = N 1, B = N R.

    Raises
    ------
    NumbersError
        Rows that do not add up to 1, or a state from which no end can be reached.

    Notes
    -----
    C. M. Grinstead & J. L. Snell, Introduction to Probability, 2nd ed., ch. 11.2.
    """
    q, r = np.asarray(inner, dtype=np.float64), np.asarray(out, dtype=np.float64)
    if not np.allclose(q.sum(axis=1) + r.sum(axis=1), 1):
        raise NumbersError("chain: the probabilities out of each state must add up to 1")
    left = np.eye(len(q)) - q
    if len(q) and np.linalg.matrix_rank(left) < len(q):
        raise NumbersError("chain: there is a state from which no end can be reached")
    visits = np.asarray(np.linalg.inv(left) if len(q) else left, dtype=np.float64)
    return Absorbed(visits, visits.sum(axis=1), visits @ r)


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
        One row per arrow that occurs: `from` and `to` string (phases; `to` may be an end of the possession, or
        "unknown"); rate `step`: share of the stretches of that phase that go there (ids of runs); `end` boolean:
        whether `to` is an end; `method`, `level`, `width`.
    """
    runs, possessions = tables["runs"], tables["possessions"]
    at = places(possessions["id"], runs["possession"])
    order = np.lexsort((whole(runs["order"]), at))
    follows = np.full(len(runs), -1, dtype=np.intp)
    same = at[order[:-1]] == at[order[1:]]
    follows[order[:-1][same]] = order[1:][same]
    phase = words(runs["phase"])
    ended = np.append(words(possessions["ended"]), "")[at]
    to = np.where(follows >= 0, phase[follows], np.where(ended == "", UNKNOWN, ended))
    kept = keep(runs, part) & (phase != "") & (at >= 0)
    groups = group({"from": runs["phase"][kept], "to": _column(to[kept])})
    begins = group({"from": runs["phase"][kept]})
    game = games_of(runs[kept])
    begin_of = {name: row for row, name in enumerate(begins.labels["from"])}
    n = begins.cells(game)[[begin_of[name] for name in groups.labels["from"]]]
    ids = run_ids(runs)[kept]
    is_end = [name in ENDS or name == UNKNOWN for name in groups.labels["to"]]
    return rate.table(
        groups.labels,
        rate.share("step", groups.cells(game), n, groups.ids(ids), small_n=small_n, level=level),
        {"end": pd.array(is_end, dtype="boolean")},
        level=level,
    )


def destinies(
    tables: Mapping[str, pd.DataFrame], part: Slice = EVERYTHING, *, least_runs: int = LEAST_RUNS
) -> pd.DataFrame:
    """Say how a possession ends from each kind of stretch, whatever comes between.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    least_runs : int
        With fewer runs nothing is said.

    Returns
    -------
    DataFrame
        One row per phase: `from` string; count `runs`: stretches it rests on (ids of runs); `stretches` Float64: mean
        number of stretches until the end, this one counted; one Float64 column per end that occurs, as `to_goal`: its
        probability. Empty with fewer than `least_runs` runs.
    """
    made = arrows(tables, part)
    if int(made["step_k"].sum()) < least_runs:
        return pd.DataFrame(
            {"from": rate.label([]), **rate.count("runs", np.empty(0), rate.tuples([])), "stretches": rate.number([])}
        )
    phases = sorted(set(made["from"]))
    passing = set(phases)
    ends = sorted({name for name in made["to"] if name not in passing})
    q, r = np.zeros((len(phases), len(phases))), np.zeros((len(phases), len(ends)))
    for begin, end, share in zip(made["from"], made["to"], made["step"], strict=True):
        if end in passing:
            q[phases.index(begin), phases.index(end)] = share
        else:
            r[phases.index(begin), ends.index(end)] = share
    found = absorb(q, r)
    n = [int(made.loc[made["from"] == name, "step_k"].sum()) for name in phases]
    ids = [[row for held in made.loc[made["from"] == name, "step_ids"] for row in held] for name in phases]
    columns: dict[str, Any] = {
        "from": rate.label(phases),
        **rate.count("runs", np.array(n), rate.tuples(ids)),
        "stretches": rate.number(found.steps),
    }
    return pd.DataFrame(columns | {f"to_{name}": rate.number(found.ends[:, at]) for at, name in enumerate(ends)})


def _column(plain: NDArray[np.object_]) -> pd.Series:
    return pd.Series(pd.array(plain.tolist(), dtype="string"))
