"""What came of each run: did it bring a shot, a goal, a turnover, and what did its second chances bring.

A run's own shots are those that stand in it. When the shooting team recovers a shot, the possession goes on with a
second-chance run that knows its parent; what such runs bring is counted for the run that began the chain, apart from
its own. Each answer is yes, no or unknown: a run with no goal but with a shot whose result nobody saw may have had one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.codes import MISSING, among, places, whole, words
from analysis.shots import GOAL, NO, ON_GOAL, UNKNOWN, YES, attempts, resulted

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

WITHIN_S = (10, 20, 30)
FACTS = (
    "shot",
    "on_goal",
    "goal",
    "turnover",
    "pull_out",
    "penalty",
    "second_chance",
    "on_goal_any",
    "goal_any",
    "turnover_any",
    *(f"shot_{seconds}s" for seconds in WITHIN_S),
)
WITH_SECOND_CHANCES = ("on_goal", "goal", "turnover", "pull_out", "penalty")


@dataclass(frozen=True)
class Outcomes:
    """What came of each run of a runs table, row for row.

    Attributes
    ----------
    facts : dict of str to int8 array
        Name (see `FACTS`, and `…_any` of all `WITH_SECOND_CHANCES`) → 1 yes, 0 no, −1 unknown, one per run. `shot`,
        `on_goal`, `goal`, `turnover`: at least one of the run's own. `pull_out`: it ended so. `penalty`: one was drawn.
        `second_chance`: a shot of it was recovered and played on. `…_any`: its own, or in its second chances.
        `shot_10s`: a shot of its own within 10 s of the run's start, or of settling where that came later.
    root : intp array
        Row of the run that began the chain of second chances; the run's own row when it is none.
    shot_run, turnover_run : intp array
        For each row of the shots (turnovers) table the row of its run, −1 if it stands in none.
    """

    facts: dict[str, NDArray[np.int8]]
    root: NDArray[np.intp]
    shot_run: NDArray[np.intp]
    turnover_run: NDArray[np.intp]


def outcomes(tables: Mapping[str, pd.DataFrame]) -> Outcomes:
    """Work out what came of every run.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables, not sliced: a run's shots belong to it whatever the strength was by then.

    Returns
    -------
    Outcomes
        Aligned with `tables["runs"]`.
    """
    runs, shots, turnovers = tables["runs"], tables["shots"], tables["turnovers"]
    n_runs = len(runs)
    root = roots(runs)
    shot_run = places(runs["id"], shots["run"])
    turnover_run = places(runs["id"], turnovers["run"])
    is_shot = attempts(shots)
    facts: dict[str, NDArray[np.int8]] = {
        "shot": any_of(np.where(is_shot, YES, NO), shot_run, n_runs),
        "turnover": any_of(np.ones(len(turnovers), dtype=np.int8), turnover_run, n_runs),
        "pull_out": _ended(runs, "pull_out"),
        "penalty": _flag(runs["penalty_drawn"]),
        "second_chance": any_of(np.full(n_runs, YES), places(runs["id"], runs["parent"]), n_runs),
    }
    for name, results in (("on_goal", ON_GOAL), ("goal", (GOAL,))):
        facts[name] = any_of(np.where(is_shot, resulted(shots, results), NO), shot_run, n_runs)
    for name in WITH_SECOND_CHANCES:
        facts[f"{name}_any"] = any_of(facts[name], root, n_runs)
    facts |= _shots_in_time(runs, shots, is_shot, shot_run)
    return Outcomes(facts, root, shot_run, turnover_run)


def any_of(each: NDArray[np.int8], at: NDArray[np.intp], n: int) -> NDArray[np.int8]:
    """Say for each place whether any of the things standing at it is so: yes beats unknown, unknown beats no.

    Parameters
    ----------
    each : int8 array
        1 yes, 0 no, −1 unknown, one per thing.
    at : intp array
        Where each stands, −1 for nowhere.
    n : int
        How many places there are.

    Returns
    -------
    int8 array
        One per place; 0 where nothing stands.
    """
    made = np.zeros(n, dtype=np.int8)
    for value in (UNKNOWN, YES):
        made[at[(each == value) & (at >= 0)]] = value
    return made


def roots(runs: pd.DataFrame) -> NDArray[np.intp]:
    """Find for each run the one that began its chain of second chances.

    Parameters
    ----------
    runs : DataFrame
        The event table.

    Returns
    -------
    intp array
        Row numbers; a run without a parent is its own, and so is one that a set or another phase was marked in: that
        is a new try, even if it began with a recovered shot.
    """
    parent = places(runs["id"], runs["parent"])
    own = np.arange(len(runs))
    root = np.where((parent >= 0) & among(runs["phase"], ("second_chance",)), parent, own)
    for _ in range(max(len(runs), 1).bit_length()):
        root = root[root]
    return root


def settled_from_ms(runs: pd.DataFrame) -> NDArray[np.int64]:
    """Say when each run's time starts to count: at the settling of its possession, or later, when it began.

    Parameters
    ----------
    runs : DataFrame
        The event table.

    Returns
    -------
    int64 array
        ms of game time line; −1 where the settling was not marked or the run was over before.
    """
    settled, start, end = (whole(runs[name]) for name in ("settled_ms", "start_ms", "end_ms"))
    made = np.maximum(settled, start)
    made[(settled < 0) | (start < 0) | ((end >= 0) & (made > end))] = MISSING
    return made


def _shots_in_time(
    runs: pd.DataFrame, shots: pd.DataFrame, is_shot: NDArray[np.bool_], shot_run: NDArray[np.intp]
) -> dict[str, NDArray[np.int8]]:
    start = settled_from_ms(runs)
    at = whole(shots["at_ms"])
    counted = is_shot & (shot_run >= 0) & (at >= 0)
    made = {}
    first = np.full(len(runs), np.iinfo(np.int64).max // 2)
    np.minimum.at(first, shot_run[counted], at[counted])
    for seconds in WITHIN_S:
        fact = np.where(first - start <= seconds * 1000, YES, NO)
        fact[start < 0] = UNKNOWN
        made[f"shot_{seconds}s"] = fact.astype(np.int8)
    return made


def _ended(runs: pd.DataFrame, how: str) -> NDArray[np.int8]:
    made = np.where(among(runs["ended"], (how,)), YES, NO)
    made[runs["ended"].isna().to_numpy(dtype=bool)] = UNKNOWN
    return made.astype(np.int8)


def _flag(column: pd.Series) -> NDArray[np.int8]:
    return column.astype("Int8").to_numpy(dtype=np.int8, na_value=-1).astype(np.int8)


def run_ids(runs: pd.DataFrame) -> NDArray[np.object_]:
    """Return the runs' ids as plain words.

    Parameters
    ----------
    runs : DataFrame
        The event table.

    Returns
    -------
    object array
        One str per run.
    """
    return words(runs["id"])
