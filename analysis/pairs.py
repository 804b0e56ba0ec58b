"""Two-man pairs: who feeds whom, and what the two of them made together."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, known, words
from analysis.groups import games_of, group
from analysis.players import number_order
from analysis.shots import GOAL, ON_GOAL, attempts, seen
from analysis.slice import EVERYTHING, Slice, cut

if TYPE_CHECKING:
    import pandas as pd


def feeds(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Count the shots of every pair of feeder and shooter; for pairs of setter and user see `analysis.screens`.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, feeder and shooter, both known, by number: `team`, `feeder`, `shooter`; count `shots` (ids
        of shots); rates `on_goal` and `goal` (of those with a known result), withheld where feeders or shooters
        are named at another rate on goals than on other shots; `method`, `level`, `width`.
    """
    shots = cut(tables, part, "shots")["shots"]
    shots = shots[attempts(shots)]
    goal = among(shots["result"], (GOAL,))
    told = known(shots["feeder"])
    teams = group({"team": shots["team"]})
    leans = np.logical_or(
        *(uneven(tables, shots, f"shot.{name}", known(shots[name]), goal, teams) for name in ("feeder", "shooter"))
    )
    of_team = dict(zip(teams.labels["team"], leans.tolist(), strict=True))
    both = told & ~among(shots["feeder"], ("none",)) & known(shots["shooter"])
    pair = shots[both]
    groups = group({name: pair[name] for name in ("team", "feeder", "shooter")})
    labels = groups.labels
    groups = groups.ordered(
        sorted(
            range(groups.size),
            key=lambda row: (
                labels["team"][row] or "~",
                number_order(labels["feeder"][row]),
                number_order(labels["shooter"][row]),
            ),
        )
    )
    ids, sure, game = words(pair["id"]), seen(pair), games_of(pair)
    withheld = [of_team[team] for team in groups.labels["team"]]
    how: dict[str, Any] = {"small_n": small_n, "level": level, "asked": groups.count(), "withheld": withheld}
    columns = [rate.count("shots", groups.count(), groups.ids(ids))]
    for name, results in (("on_goal", ON_GOAL), ("goal", (GOAL,))):
        yes = among(pair["result"], results)
        columns.append(rate.share(name, groups.cells(game, yes), groups.cells(game, sure), groups.ids(ids, yes), **how))
    return rate.table(groups.labels, *columns, level=level)
