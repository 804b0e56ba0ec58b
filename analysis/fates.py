"""What each run became, one word a run: what a figure draws that has a mark for every run."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analysis.outcome import outcomes, run_ids
from analysis.shots import YES
from analysis.slice import EVERYTHING, Slice, keep

FATES = ("goal", "saved", "missed", "shot", "penalty", "pull_out", "lost", "other", "unknown")


def fates(tables: Mapping[str, pd.DataFrame], part: Slice = EVERYTHING) -> pd.DataFrame:
    """Say of each run what it became, by the first that holds.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables, not sliced.
    part : Slice
        Which runs are looked at.

    Returns
    -------
    DataFrame
        A row a run, in the order of the table: `id`, `game`, and `fate`, one of `FATES`: `goal`; `saved` (on goal, and
        no goal); `missed` (shots, none on goal); `shot` (the result of one is not known, and without it none of these
        three can be said); without a shot: `penalty` (drawn), `pull_out`, `lost` (the ball), `other`; `unknown` (how it
        ended was not answered).
    """
    runs = tables["runs"]
    facts = outcomes(tables).facts
    unknown = (facts["pull_out"] < 0) | (facts["penalty"] < 0)
    made = np.where(unknown, FATES.index("unknown"), FATES.index("other"))
    for fact, fate in (("turnover", "lost"), ("pull_out", "pull_out"), ("penalty", "penalty"), ("shot", "shot")):
        made[facts[fact] == YES] = FATES.index(fate)
    shot, on_goal, goal = (facts[name] for name in ("shot", "on_goal", "goal"))
    made[(shot == YES) & (on_goal == 0)] = FATES.index("missed")
    made[(shot == YES) & (on_goal == YES) & (goal == 0)] = FATES.index("saved")
    made[(shot == YES) & (goal == YES)] = FATES.index("goal")
    kept = keep(runs, part)
    return pd.DataFrame(
        {
            "id": np.asarray(run_ids(runs), dtype=object)[kept],
            "game": runs["game"].to_numpy(dtype=object)[kept],
            "fate": np.asarray(FATES, dtype=object)[made[kept]],
        }
    )
