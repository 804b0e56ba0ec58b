"""The shape that every number of the result tables has, so that a page can draw any of them and play its film.

A **count** called `goals` is two columns:

    goals        Int64    how many
    goals_ids    object   tuple of the ids of the rows counted

A **rate** called `shot` is these:

    shot_k       Int64    how often it happened
    shot_n       Int64    out of how many where it is known whether it happened
    shot         Float64  k / n, from 0 to 1; missing when n is 0 or when the rate is withheld
    shot_lo      Float64  lower bound of the interval; missing as the estimate
    shot_hi      Float64  upper bound
    shot_few     boolean  n is under the coach's small n: show greyed, do not rank
    shot_ids     object   tuple of the ids of the rows counted in k
    shot_effect  Float64  how many times larger its variance is because games differ, at least 1; missing where no row
                          of the table has two games

and, where not every row that could have been asked was answered,

    shot_asked     Int64    out of how many the question could have been asked ("answered in 31 of 58")
    shot_withheld  boolean  answers lean on the outcome, so that the rate would mislead: estimate and bounds are missing
    shot_n_ids     object   tuple of the ids of the rows counted in n, where they are not the table row's own

A **measure** called `lift` is something with an interval that is no share of rows (a difference, a median, a
probability):

    lift_n       Int64    how many rows it rests on
    lift         Float64  the estimate, in the unit that the table's documentation says
    lift_lo      Float64  lower bound
    lift_hi      Float64  upper bound
    lift_few     boolean  n is under the coach's small n
    lift_ids     object   tuple of the ids of the rows it rests on

The table says once, in its constant columns `method`, `level` and `width`, how all its bounds were made and that they
allow for rows of one game resembling each other: a rate is made from its counts per game and has no other way to its
bounds (`analysis.stats.cluster`). Ids
are ids of event rows (runs, shots, ...); each event row lists its marks. A rate of something other than a share (per
100 possessions, say) has the same columns, with k the count and n the exposure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.stats.cluster import WIDENED, widened, widened_counts
from analysis.stats.proportion import Interval

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.groups import Games, Groups

AT_LEAST = "at least this wide: rows of one game count as if they had nothing in common"
ALLOWED_FOR = "games may differ by more than chance: the interval allows for it"
ONE_GAME = "no row has two games: the interval is of that game, and says nothing of others"
BY_RATE = "by its rates"

SMALL_N = 10
LEVEL = 0.95


def count(name: str, n: NDArray[Any], ids: NDArray[np.object_]) -> dict[str, Any]:
    """Make the columns of a count.

    Parameters
    ----------
    name : str
        As `goals`.
    n : int array
        One per table row.
    ids : object array
        Tuples of row ids, one per table row.

    Returns
    -------
    dict of str to column
        `<name>` Int64 and `<name>_ids`.
    """
    return {name: pd.array(np.asarray(n, dtype=np.int64), dtype="Int64"), f"{name}_ids": ids}


def share(
    name: str,
    k: NDArray[Any],
    n: NDArray[Any],
    ids: NDArray[np.object_],
    *,
    small_n: int = SMALL_N,
    level: float = LEVEL,
    asked: NDArray[Any] | None = None,
    withheld: NDArray[np.bool_] | None = None,
    n_ids: NDArray[np.object_] | None = None,
) -> dict[str, Any]:
    """Make the columns of a rate that is a share, with Wilson's interval widened for games that differ.

    Parameters
    ----------
    name : str
        As `shot`.
    k, n : int array of shape (table rows, games)
        How often, out of how many, in each game; as `Groups.cells` counts.
    ids : object array
        Tuples of the ids of the rows counted in k.
    small_n : int
        Under this n the rate is flagged as too few.
    level : float
        Coverage of the interval.
    asked : int array, optional
        Out of how many the question could have been asked.
    withheld : bool array, optional
        Where the rate must not be shown.
    n_ids : object array, optional
        Tuples of the ids of the rows counted in n.

    Returns
    -------
    dict of str to column
        As this module's opening says.
    """
    found = widened(k, n, level=level)
    how: dict[str, Any] = {"small_n": small_n, "asked": asked, "withheld": withheld, "n_ids": n_ids}
    return rate(name, k.sum(axis=1), n.sum(axis=1), found.interval, ids, **how) | {
        f"{name}_effect": number(found.effect)
    }


def per(
    name: str,
    k: NDArray[Any],
    exposure: NDArray[Any],
    ids: NDArray[np.object_],
    *,
    of: float = 1.0,
    small_n: int = SMALL_N,
    level: float = LEVEL,
) -> dict[str, Any]:
    """Make the columns of a rate of counts, with Garwood's interval widened for games that differ.

    Parameters
    ----------
    name, ids, small_n, level
        As in `share`.
    k, exposure : int array of shape (table rows, games)
        How often, in how many possessions (or games), in each game.
    of : float
        Exposure that the rate is given for, as 100.

    Returns
    -------
    dict of str to column
        As this module's opening says.
    """
    found = widened_counts(k, exposure, level, of)
    made = rate(name, k.sum(axis=1), exposure.sum(axis=1), found.interval, ids, small_n=small_n)
    return made | {f"{name}_effect": number(found.effect)}


def rate(
    name: str,
    k: NDArray[Any],
    n: NDArray[Any],
    interval: Interval,
    ids: NDArray[np.object_],
    *,
    small_n: int = SMALL_N,
    asked: NDArray[Any] | None = None,
    withheld: NDArray[np.bool_] | None = None,
    n_ids: NDArray[np.object_] | None = None,
) -> dict[str, Any]:
    """Make the columns of a rate from an interval that is already there.

    Parameters
    ----------
    name, k, n, ids, small_n, asked, withheld, n_ids
        As in `share`.
    interval : Interval
        Estimates and bounds, one per table row, NaN where there is nothing to say.

    Returns
    -------
    dict of str to column
        As this module's opening says.
    """
    hidden = np.zeros(len(np.asarray(k)), dtype=bool) if withheld is None else np.asarray(withheld, dtype=bool)
    made: dict[str, Any] = {
        f"{name}_k": pd.array(np.asarray(k, dtype=np.int64), dtype="Int64"),
        f"{name}_n": pd.array(np.asarray(n, dtype=np.int64), dtype="Int64"),
        name: number(interval.estimate, hidden),
        f"{name}_lo": number(interval.lo, hidden),
        f"{name}_hi": number(interval.hi, hidden),
        f"{name}_few": pd.array(np.asarray(n) < small_n, dtype="boolean"),
        f"{name}_ids": ids,
    }
    if asked is not None:
        made[f"{name}_asked"] = pd.array(np.asarray(asked, dtype=np.int64), dtype="Int64")
    if withheld is not None:
        made[f"{name}_withheld"] = pd.array(hidden, dtype="boolean")
    if n_ids is not None:
        made[f"{name}_n_ids"] = n_ids
    return made


def of_fact(
    name: str,
    fact: NDArray[np.int8],
    groups: Groups,
    game: Games,
    ids: NDArray[np.object_],
    *,
    small_n: int = SMALL_N,
    level: float = LEVEL,
    withheld: NDArray[np.bool_] | None = None,
) -> dict[str, Any]:
    """Make the columns of a share of rows of which something is true.

    Parameters
    ----------
    name : str
        As `shot`.
    fact : int8 array
        1 yes, 0 no, −1 not known, one per event row; the last are asked and not counted in n.
    groups : Groups
        The table row of each event row.
    game : Games
        The game of each event row.
    ids : object array
        The event rows' ids.
    small_n, level, withheld
        As in `share`.

    Returns
    -------
    dict of str to column
        As this module's opening says, with `<name>_asked`.
    """
    yes, sure = fact == 1, fact >= 0
    cells = groups.by_game(game)
    k, n = (cells.count(which).reshape(groups.size, game.size) for which in (yes, sure))
    how: dict[str, Any] = {"small_n": small_n, "level": level, "withheld": withheld}
    return share(name, k, n, groups.ids(ids, yes), asked=groups.count(), **how)


def measure(
    name: str, n: NDArray[Any], interval: Interval, ids: NDArray[np.object_], *, small_n: int = SMALL_N
) -> dict[str, Any]:
    """Make the columns of a measure.

    Parameters
    ----------
    name : str
        As `lift`.
    n : int array
        How many rows each rests on.
    interval : Interval
        Estimates and bounds, one per table row, NaN where there is nothing to say.
    ids : object array
        Tuples of the ids of the rows it rests on.
    small_n : int
        Under this n it is flagged as too few.

    Returns
    -------
    dict of str to column
        As this module's opening says.
    """
    return {
        f"{name}_n": pd.array(np.asarray(n, dtype=np.int64), dtype="Int64"),
        name: number(interval.estimate),
        f"{name}_lo": number(interval.lo),
        f"{name}_hi": number(interval.hi),
        f"{name}_few": pd.array(np.asarray(n) < small_n, dtype="boolean"),
        f"{name}_ids": ids,
    }


def number(values: Any, hidden: NDArray[np.bool_] | None = None) -> Any:
    """Make a Float64 column in which NaN, and what is hidden, is missing.

    Parameters
    ----------
    values : float array
        One per table row.
    hidden : bool array, optional
        Where nothing is shown.

    Returns
    -------
    FloatingArray
        "Float64".
    """
    plain = np.asarray(values, dtype=np.float64)
    gone = np.isnan(plain) if hidden is None else np.isnan(plain) | hidden
    return pd.arrays.FloatingArray(np.where(gone, 0.0, plain), gone)


def table(
    labels: Mapping[str, Any],
    *columns: Mapping[str, Any],
    method: str = WIDENED,
    level: float = LEVEL,
    width: str | None = BY_RATE,
) -> pd.DataFrame:
    """Put labels and number columns together into a result table.

    Parameters
    ----------
    labels : mapping of str to list
        What the rows stand for; words become "string", an extension array keeps its type.
    *columns : mapping
        What `count` and `share` made, in order.
    method : str
        How the bounds were made.
    level : float
        Their coverage.
    width : str or None
        `BY_RATE`: what its rates allow for, `ALLOWED_FOR` or `ONE_GAME`; else one of these or `AT_LEAST`, where bounds
        are made otherwise; None for a table without bounds.

    Returns
    -------
    DataFrame
        Labels, numbers, then `method`, `level` and `width`.
    """
    made: dict[str, Any] = {name: label(values) for name, values in labels.items()}
    for part in columns:
        made |= part
    n_rows = len(next(iter(made.values()))) if made else 0
    made["method"] = pd.array([method] * n_rows, dtype="string")
    made["level"] = pd.array([level] * n_rows, dtype="Float64")
    made["width"] = pd.array([_width(made) if width == BY_RATE else width] * n_rows, dtype="string")
    return pd.DataFrame(made)


def _width(made: Mapping[str, Any]) -> str:
    """Say what the bounds of these columns allow for."""
    games = [column for name, column in made.items() if name.endswith("_effect")]
    if not games:
        return AT_LEAST
    return ALLOWED_FOR if any(not column.isna().all() for column in games) else ONE_GAME


def tuples(ids: Iterable[Iterable[str]]) -> NDArray[np.object_]:
    """Make a column of ids.

    Parameters
    ----------
    ids : iterable of iterable of str
        The ids of each table row.

    Returns
    -------
    object array
        One tuple per table row.
    """
    listed = [tuple(each) for each in ids]
    made = np.empty(len(listed), dtype=object)
    for place, each in enumerate(listed):
        made[place] = each
    return made


def label(values: Any) -> Any:
    """Make a label column.

    Parameters
    ----------
    values : list of str or extension array
        Words, None where missing; an array that has its type already is kept.

    Returns
    -------
    ExtensionArray
        "string", or what was given.
    """
    if isinstance(values, pd.api.extensions.ExtensionArray):
        return values
    return pd.array(list(values), dtype="string")
