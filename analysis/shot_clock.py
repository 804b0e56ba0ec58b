"""How far into the shot clock a run begins, its screen comes and its shot goes.

The clock is taken to start with the possession, and anew at a fresh clock that was marked or that follows by rule: a
shot that the rule code counts, won back by the shooting team. Where that can't be told (whether a shot was won back or
counts was not answered, play stopped) nobody knows the clock until it starts anew; and where more than its length has
gone, a fresh clock went unmarked, and it is not known either.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import MISSING, among, places, whole
from analysis.groups import Groups, games_of, group
from analysis.outcome import outcomes, run_ids
from analysis.shots import attempts, seen
from analysis.slice import EVERYTHING, Slice, keep
from analysis.stats.proportion import Interval
from analysis.strength import classes
from analysis.tempo import median

if TYPE_CHECKING:
    from numpy.typing import NDArray

LENGTH_S = 30
BANDS_S = (10, 20)
FRESH = ("goal", "saved")
ENTRIES = ("early", "middle", "late")
UNKNOWN = "unknown"


def entries(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    fresh: tuple[str, ...] = FRESH,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what came of runs that began early and late in the shot clock.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at.
    fresh : tuple of str
        Results of a shot that give a fresh clock when the shooting team wins it back, by rule code.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength, set (with phase) and entry (ids of runs): `team`, `strength`, `phase`,
        `set` string (both "all" for all of them together, which comes first), `entry`: "early" (in the first 10 s),
        "middle", "late" (after 20 s), "unknown"; count `runs`; rates `shot`, `goal`, `turnover`; `method`, `level`,
        `width`.
    """
    runs = tables["runs"]
    kept = keep(runs, part)
    own, ids, game = runs[kept], run_ids(runs)[kept], games_of(runs[kept])
    began_s = into_clock_ms(tables, own, "start_ms", fresh=fresh) / 1000
    entry = _column(np.where(began_s < 0, UNKNOWN, _bands(began_s)))
    facts = {name: fact[kept] for name, fact in outcomes(tables).facts.items()}
    head = {"team": own["team"].reset_index(drop=True), "strength": classes(own["strength"]).reset_index(drop=True)}
    every = _column(np.full(len(own), "all", dtype=object))
    made = []
    for phase, play in ((every, every), (own["phase"], own["set"])):
        columns = {**head, "phase": phase.reset_index(drop=True), "set": play.reset_index(drop=True), "entry": entry}
        groups = group(columns)
        rank = {name: at for at, name in enumerate((*ENTRIES, UNKNOWN))}
        labels = groups.labels
        groups = groups.ordered(
            sorted(range(groups.size), key=lambda row, said=labels: (_set_of(said, row), rank[said["entry"][row]]))  # type: ignore[misc]
        )
        made.append(
            rate.table(
                groups.labels,
                rate.count("runs", groups.count(), groups.ids(ids)),
                *(
                    rate.of_fact(name, facts[name], groups, game, ids, small_n=small_n, level=level)
                    for name in ("shot", "goal", "turnover")
                ),
                level=level,
            )
        )
    return pd.concat(made, ignore_index=True)


def moments(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    fresh: tuple[str, ...] = FRESH,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how far into the shot clock runs begin, their first screen comes and their first shot goes.

    Parameters
    ----------
    tables, part, fresh, small_n, level
        As in `entries`.

    Returns
    -------
    DataFrame
        One row per team, class of strength, phase and set (ids of runs): `team`, `strength`, `phase`, `set` string;
        count `runs`; measures, in seconds into the clock: `begins_s`, `screen_s` (of runs with a screen), `shot_s` (of
        runs with a shot): the median, with the interval between two order statistics, where runs of one game count as
        if they had nothing in common; `method`, `level`, `width`.
    """
    runs = tables["runs"]
    kept = keep(runs, part)
    own, ids = runs[kept], run_ids(runs)[kept]
    groups = group(
        {"team": own["team"], "strength": classes(own["strength"]), "phase": own["phase"], "set": own["set"]}
    )
    shots = tables["shots"][attempts(tables["shots"])]
    times = {"begins_s": into_clock_ms(tables, own, "start_ms", fresh=fresh)}
    for name, events, before in (("screen_s", tables["screens"], False), ("shot_s", shots, True)):
        into = into_clock_ms(tables, events, "at_ms", fresh=fresh, before=before)
        times[name] = _first_of(own, events, into)
    return rate.table(
        groups.labels,
        rate.count("runs", groups.count(), groups.ids(ids)),
        *(_median(name, groups, at_ms / 1000, ids, small_n=small_n, level=level) for name, at_ms in times.items()),
        method="medians: order statistics",
        level=level,
        width=rate.AT_LEAST,
    )


def into_clock_ms(
    tables: Mapping[str, pd.DataFrame],
    frame: pd.DataFrame,
    column: str,
    *,
    fresh: tuple[str, ...] = FRESH,
    before: bool = False,
) -> NDArray[np.int64]:
    """Say how much of the shot clock was gone at the time of each row.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    frame : DataFrame
        Rows of one of them, with `possession`.
    column : str
        Their time, ms of game time line.
    fresh : tuple of str
        As in `entries`.
    before : bool
        As it was just before that time, as for the shot that starts it anew.

    Returns
    -------
    int64 array
        ms, one per row; −1 where it is not known.
    """
    possessions = tables["possessions"]
    starts = _starts(tables, fresh)
    made = np.full(len(frame), MISSING, dtype=np.int64)
    find = bisect_left if before else bisect_right
    at = places(possessions["id"], frame["possession"])
    for row, (possession, when) in enumerate(zip(at.tolist(), whole(frame[column]).tolist(), strict=True)):
        if possession < 0 or when < 0:
            continue
        held = starts[possession]
        place = find(held, when, key=lambda each: each[0]) - 1
        since = held[place][1] if place >= 0 else when if held[0][0] == when else MISSING
        if 0 <= since <= when <= since + LENGTH_S * 1000:
            made[row] = when - since
    return made


def _starts(tables: Mapping[str, pd.DataFrame], fresh: tuple[str, ...]) -> list[list[tuple[int, int]]]:
    """For each possession, in order of time, when something changed the clock and since when it runs; −1: unknown."""
    possessions, shots = tables["possessions"], tables["shots"]
    made = [[(when, when)] for when in whole(possessions["start_ms"]).tolist()]
    at, when = places(possessions["id"], shots["possession"]), whole(shots["at_ms"])
    known, counts = seen(shots), among(shots["result"], fresh)
    won, lost, dead = (among(shots["recovered"], (word,)) for word in ("yes", "no", "dead"))
    for row in np.flatnonzero((at >= 0) & ~lost & (counts | ~known | ~won)).tolist():
        if known[row] and not counts[row] and not dead[row]:
            continue  # no such shot starts it anew, whoever wins it back
        made[at[row]].append((int(when[row]), int(when[row]) if known[row] and counts[row] and won[row] else MISSING))
    for name in ("whistles", "fresh_clocks"):
        frame = tables[name]
        at = places(possessions["id"], frame["possession"])
        for place, moment in zip(at.tolist(), whole(frame["at_ms"]).tolist(), strict=True):
            if place >= 0:
                made[place].append((moment, moment if name == "fresh_clocks" else MISSING))
    for held in made:
        held.sort(key=lambda each: each[0])  # of things at one time the later stays the later
    return made


def _bands(seconds: NDArray[np.float64]) -> NDArray[np.object_]:
    return np.array(ENTRIES, dtype=object)[np.searchsorted(np.array(BANDS_S), seconds, side="left")]


def _column(values: NDArray[np.object_]) -> pd.Series:
    return pd.Series(pd.array(values.tolist(), dtype="string"))


def _set_of(labels: Mapping[str, list[Any]], row: int) -> tuple[str, ...]:
    return tuple(str(labels[name][row] or "~") for name in ("team", "strength", "phase", "set"))


def _first_of(runs: pd.DataFrame, events: pd.DataFrame, into: NDArray[np.int64]) -> NDArray[np.int64]:
    """The clock at each run's first event; −1 where it has none or that is not known."""
    at, when = places(runs["id"], events["run"]), whole(events["at_ms"])
    made = np.full(len(runs), MISSING, dtype=np.int64)
    done = np.zeros(len(runs), dtype=bool)
    for row in np.argsort(when, kind="stable").tolist():
        if at[row] >= 0 and not done[at[row]]:
            made[at[row]], done[at[row]] = into[row], True
    return made


def _median(
    name: str, groups: Groups, seconds: NDArray[np.float64], ids: NDArray[np.object_], *, small_n: int, level: float
) -> dict[str, Any]:
    known = seconds >= 0
    found = np.full((groups.size, 3), np.nan)
    for row in range(groups.size):
        own = seconds[known & (groups.codes == row)]
        if len(own):
            found[row] = median(own, level)
    return rate.measure(name, groups.count(known), Interval(*found.T), groups.ids(ids, known), small_n=small_n)
