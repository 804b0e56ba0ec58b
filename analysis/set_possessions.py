"""Sets by the possession they were run in, and what each of their runs became.

A set may be pulled out and started again: by the run that is two tries of which one failed, by the possession it is one
that came to its shot. A run that was pulled out, or that drew a penalty, has not failed as one that lost the ball has.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from analysis import rate
from analysis.codes import places, whole, words
from analysis.groups import games_of, group
from analysis.outcome import any_of, outcomes, run_ids
from analysis.shots import GOAL, NO, YES, attempts, resulted
from analysis.slice import EVERYTHING, Slice, keep
from analysis.strength import classes

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

FATES = ("became_shot", "became_penalty", "became_pull_out", "became_lost", "became_other", "became_unknown")


def by_possession(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what came of the possessions in which each set was run, and of its runs.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength (of the runs), phase and set:

        * `team`, `strength`, `phase`, `set`: string; count `possessions` in which it was run at least once
        * rates over these (ids of possessions): `shot`, `goal`: one came at or after the beginning of its first run
          there, in whatever run of the possession; `again`: it was run more than once
        * counts of its runs (ids of runs), each run once, by the first that holds: `became_shot`, `became_penalty`
          (drew one), `became_pull_out`, `became_lost` (the ball), `became_other`, `became_unknown` (how it ended was
          not answered)
        * `method`, `level`, `width`
    """
    runs, possessions = tables["runs"], tables["possessions"]
    held = places(possessions["id"], runs["possession"])
    kept = keep(runs, part) & (held >= 0)
    own, at = runs[kept], held[kept]
    groups = group(
        {"team": own["team"], "strength": classes(own["strength"]), "phase": own["phase"], "set": own["set"]}
    )
    cell = groups.codes * max(len(possessions), 1) + at
    pairs, inverse, n_runs = np.unique(cell, return_inverse=True, return_counts=True)
    of_pair = groups.only(pairs // max(len(possessions), 1))
    possession = pairs % max(len(possessions), 1)
    first = np.full(len(pairs), np.iinfo(np.int64).max)
    np.minimum.at(first, inverse, whole(own["start_ms"]))
    shots = tables["shots"][attempts(tables["shots"])]
    facts = _after(shots, possessions, possession, first)
    facts["again"] = np.where(n_runs > 1, YES, NO).astype(np.int8)
    ids, game = words(possessions["id"])[possession], games_of(possessions).of(possession)
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    fate = _fates(tables)[kept]
    return rate.table(
        groups.labels,
        rate.count("possessions", of_pair.count(), of_pair.ids(ids)),
        *(rate.of_fact(name, fact, of_pair, game, ids, **how) for name, fact in facts.items()),
        *(
            rate.count(name, groups.count(fate == code), groups.ids(run_ids(runs)[kept], fate == code))
            for code, name in enumerate(FATES)
        ),
        level=level,
    )


def _after(
    shots: pd.DataFrame, possessions: pd.DataFrame, possession: NDArray[np.intp], first: NDArray[np.int64]
) -> dict[str, NDArray[np.int8]]:
    """Whether a shot, and a goal, came in each possession from a time on."""
    goal = resulted(shots, (GOAL,))
    in_possession: dict[int, list[int]] = {}
    for row, place in enumerate(places(possessions["id"], shots["possession"]).tolist()):
        in_possession.setdefault(place, []).append(row)
    when = whole(shots["at_ms"])
    pair, row_of = [], []
    for place, (one, since) in enumerate(zip(possession.tolist(), first.tolist(), strict=True)):
        for row in in_possession.get(one, ()):
            if when[row] >= since:
                pair.append(place)
                row_of.append(row)
    pairs, rows = np.array(pair, dtype=np.intp), np.array(row_of, dtype=np.intp)
    return {
        "shot": any_of(np.full(len(rows), YES), pairs, len(possession)),
        "goal": any_of(goal[rows], pairs, len(possession)),
    }


def _fates(tables: Mapping[str, pd.DataFrame]) -> NDArray[np.int8]:
    """What each run became, by its place in `FATES`."""
    facts = outcomes(tables).facts
    unknown = (facts["pull_out"] < 0) | (facts["penalty"] < 0)
    made = np.where(unknown, FATES.index("became_unknown"), FATES.index("became_other")).astype(np.int8)
    for name in ("turnover", "pull_out", "penalty", "shot"):  # what is said last holds
        made[facts[name] == YES] = FATES.index(f"became_{'lost' if name == 'turnover' else name}")
    return made
