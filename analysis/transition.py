"""Transition: what a team tries before the defence is set, apart from the walk up that ends in settling.

Every possession begins before anything is settled. Where that first stretch ended in settling, nothing was tried in it:
it counts as a walk up and as no attempt.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, words
from analysis.groups import games_of, group
from analysis.outcome import outcomes, run_ids
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, keep
from analysis.strength import classes

SETTLED = "settled"


def transition(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how often a team tried something before settling, and what came of it.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at; its phases are not asked.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength and how the ball was gained (ids of runs): `team`, `strength`, `gained`
        string ("all" for all of them, first of its team and strength); counts `stretches` and `walk_ups` (ended in
        settling); rate `tried` (attempts: did not end so, of those whose end is known); rates of the attempts `shot`,
        `on_goal`, `goal`, `turnover`; `method`, `level`, `width`.
    """
    runs, possessions = tables["runs"], tables["possessions"]
    kept = keep(runs, Slice(part.games, part.periods, part.strengths, part.team)) & among(
        runs["phase"], ("transition",)
    )
    own, ids, game = runs[kept], run_ids(runs)[kept], games_of(runs[kept])
    gained = np.append(words(possessions["gained"]), "")[places(possessions["id"], own["possession"])]
    known = own["ended"].notna().to_numpy(dtype=bool)
    walked = among(own["ended"], (SETTLED,))
    tried = np.where(known, np.where(walked, NO, YES), UNKNOWN).astype(np.int8)
    head = {"team": own["team"].reset_index(drop=True), "strength": classes(own["strength"]).reset_index(drop=True)}
    facts = {name: fact[kept] for name, fact in outcomes(tables).facts.items()}
    made = []
    for values in (["all"] * len(own), [word or None for word in gained.tolist()]):
        groups = group({**head, "gained": pd.Series(pd.array(values, dtype="string"))})
        attempts = groups.only(np.where(tried == YES, groups.codes, -1))
        made.append(
            rate.table(
                groups.labels,
                rate.count("stretches", groups.count(), groups.ids(ids)),
                rate.count("walk_ups", groups.count(walked), groups.ids(ids, walked)),
                rate.of_fact("tried", tried, groups, game, ids, small_n=small_n, level=level),
                *(
                    rate.of_fact(name, facts[name], attempts, game, ids, small_n=small_n, level=level)
                    for name in ("shot", "on_goal", "goal", "turnover")
                ),
                level=level,
            )
        )
    return pd.concat(made, ignore_index=True)
