"""Time: how long possessions last, how soon they bring a shot, what the second chances bring.

A mean of seconds to the shot would leave out every possession that never got there. So the answer is a share: of all
possessions, how many had a shot within 10, 20, 30 seconds. A possession that ended before, in whatever way, had none;
nothing is left out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, whole, words
from analysis.groups import Games, Groups, games_of, group
from analysis.outcome import WITHIN_S, any_of
from analysis.shots import GOAL, NO, UNKNOWN, YES, attempts
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.cluster import WIDENED, stretches
from analysis.stats.proportion import Interval

if TYPE_CHECKING:
    from numpy.typing import NDArray


def tempo(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: tuple[str, ...] = (),
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how each team spends its time with the ball.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    by : tuple of str
        `("game",)`, `("period",)`, both, or `()` for the whole slice.
    small_n : int
        Under this n a number is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per part and team:

        * the columns of `by`, `team`
        * count `possessions`; `time_s` Float64: seconds of possession in all
        * measure `length_s`: median seconds per possession; `settle_s`: median seconds to settling, of those that
          settled
        * rates `shot_in_10s`, `shot_in_20s`, `shot_in_30s`: possessions with a shot within that many seconds of their
          beginning
        * measure `first_shot_s`: median seconds to the first shot, *of the possessions that had one*: not a speed of
          the offence, see the shares for that
        * rates `extended` (possessions with at least one second chance) and `second_goal` (second-chance runs with a
          goal; ids of runs)
        * `method`, `level`, `width`

    Notes
    -----
    Medians have the interval between two order statistics that holds for any distribution (H. A. David & H. N.
    Nagaraja 2003, Order Statistics, §7.1), these as much farther from the middle as games that differ make the share
    of values under the median less sure (R. S. Woodruff 1952, Journal of the American Statistical Association
    47:635–646); where values are too few for such ranks it is open to both ends, and missing.
    """
    cut_tables = cut(tables, part, "possessions", "runs")
    possessions, runs = cut_tables["possessions"], cut_tables["runs"]
    shots = tables["shots"][attempts(tables["shots"])]
    groups = group({**{name: possessions[name] for name in by}, "team": possessions["team"]})
    ids, game = words(possessions["id"]), games_of(possessions)
    start, end, settled = (whole(possessions[name]) for name in ("start_ms", "end_ms", "settled_ms"))
    length = np.where((start >= 0) & (end >= start), end - start, -1)
    first = _first_shot_ms(possessions, shots) - start
    had = first < _NEVER_MS // 2
    has_chance = _possessions_with(possessions, tables["runs"])
    columns = [
        rate.count("possessions", groups.count(), groups.ids(ids)),
        {"time_s": rate.number(groups.total(np.maximum(length, 0) / 1000))},
        _median("length_s", groups, length / 1000, which=length >= 0, game=game, ids=ids, small_n=small_n, level=level),
        _median(
            "settle_s",
            groups,
            (settled - start) / 1000,
            which=(settled >= 0) & (start >= 0),
            game=game,
            ids=ids,
            small_n=small_n,
            level=level,
        ),
    ]
    for seconds in WITHIN_S:
        fact = np.where(first <= seconds * 1000, YES, NO)
        fact[start < 0] = UNKNOWN
        columns.append(
            rate.of_fact(f"shot_in_{seconds}s", fact.astype(np.int8), groups, game, ids, small_n=small_n, level=level)
        )
    columns.append(
        _median(
            "first_shot_s",
            groups,
            first / 1000,
            which=had & (start >= 0),
            game=game,
            ids=ids,
            small_n=small_n,
            level=level,
        )
    )
    extended = np.where(has_chance, YES, NO).astype(np.int8)
    columns.append(rate.of_fact("extended", extended, groups, game, ids, small_n=small_n, level=level))
    columns.append(_second_goals(groups, possessions, runs, tables=tables, by=by, small_n=small_n, level=level))
    labels = {
        name: pd.array(values, dtype="Int64") if name == "period" else values for name, values in groups.labels.items()
    }
    return rate.table(labels, *columns, method=f"{WIDENED}; medians: order statistics, widened for games", level=level)


def median(values: NDArray[np.float64], level: float = 0.95, stretch: float = 1.0) -> tuple[float, float, float]:
    """Return the median with the interval that holds for any distribution.

    Parameters
    ----------
    values : float array
        At least one.
    level : float
        Coverage at least.
    stretch : float
        How many times fewer values of their own these are worth.

    Returns
    -------
    tuple of float
        Median, lower and upper order statistic; NaN bounds where the values are too few.

    Notes
    -----
    The number of values under the true median is binomial (n, ½).
    """
    ordered = np.sort(values)
    n = len(ordered)
    middle = float(np.median(ordered))
    from scipy.special import bdtr

    below = bdtr(np.arange(n), n, 0.5)  # P(at most j of n lie under the median)
    under = np.flatnonzero(below <= (1 - level) / 2)
    if len(under) == 0:
        return middle, float("nan"), float("nan")
    rank = math.floor((n - 1) / 2 - ((n - 1) / 2 - int(under[-1])) * math.sqrt(stretch) + 1e-9)
    if rank < 0:
        return middle, float("nan"), float("nan")
    return middle, float(ordered[rank]), float(ordered[n - 1 - rank])


_NEVER_MS = np.iinfo(np.int64).max // 2


def _first_shot_ms(possessions: pd.DataFrame, shots: pd.DataFrame) -> NDArray[np.int64]:
    """Find the time of each possession's first shot; a time that never comes where it has none."""
    at = places(possessions["id"], shots["possession"])
    when = whole(shots["at_ms"])
    counted = (at >= 0) & (when >= 0)
    first = np.full(len(possessions), _NEVER_MS)
    np.minimum.at(first, at[counted], when[counted])
    return first


def _possessions_with(possessions: pd.DataFrame, runs: pd.DataFrame) -> NDArray[np.bool_]:
    chance = runs[among(runs["phase"], ("second_chance",))]
    at = places(possessions["id"], chance["possession"])
    made = np.zeros(len(possessions), dtype=bool)
    made[at[at >= 0]] = True
    return made


def _median(
    name: str,
    groups: Groups,
    values: NDArray[np.float64],
    *,
    which: NDArray[np.bool_],
    game: Games,
    ids: NDArray[np.object_],
    small_n: int,
    level: float,
) -> dict[str, object]:
    found = np.full((groups.size, 3), np.nan)
    under = np.zeros(len(values), dtype=bool)
    own = [which & (groups.codes == row) for row in range(groups.size)]
    for rows in own:
        if rows.any():
            under |= rows & (values <= np.median(values[rows]))
    stretch = stretches(groups.cells(game, under), groups.cells(game, which), level)
    for row, rows in enumerate(own):
        if rows.any():
            found[row] = median(values[rows], level, float(stretch[row]))
    return rate.measure(name, groups.count(which), Interval(*found.T), groups.ids(ids, which), small_n=small_n)


def _second_goals(
    groups: Groups,
    possessions: pd.DataFrame,
    runs: pd.DataFrame,
    *,
    tables: Mapping[str, pd.DataFrame],
    by: tuple[str, ...],
    small_n: int,
    level: float,
) -> dict[str, object]:
    """Count second-chance runs with a goal, in the row of their possession."""
    chance = runs[among(runs["phase"], ("second_chance",))]
    shots = tables["shots"]
    scored = any_of(
        np.where(among(shots["result"], (GOAL,)), YES, NO).astype(np.int8),
        places(chance["id"], shots["run"]),
        len(chance),
    )
    at = places(possessions["id"], chance["possession"])
    row = np.append(groups.codes, -1)[at]
    return rate.of_fact(
        "second_goal", scored, groups.only(row), games_of(chance), words(chance["id"]), small_n=small_n, level=level
    )
