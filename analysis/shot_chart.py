"""Where shots come from: lanes and rings with counts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, words
from analysis.errors import QuestionError
from analysis.groups import games_of, group
from analysis.shots import GOAL, ON_GOAL, attempts, seen
from analysis.slice import EVERYTHING, Slice, cut

if TYPE_CHECKING:
    from numpy.typing import NDArray

LANES = ("left", "middle", "right")
LANE_HALF_WIDTH_M = 2.5
RINGS_M = (4.5, 8.0)


def chart(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    goal_x_m: float,
    rings_m: tuple[float, ...] = RINGS_M,
    lane_half_width_m: float = LANE_HALF_WIDTH_M,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Count the shots of each lane and ring.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    goal_x_m : float
        Distance of the goal line from the floor's centre in metres, by rule code.
    rings_m : tuple of float
        Edges of the rings: metres from the middle of the goal line, rising.
    lane_half_width_m : float
        The middle lane reaches so far to either side.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, lane and ring, empty cells too; and one per team for shots without a place (both missing):
        `team`, `lane` ("left" and "right" as the shooter faces the goal) string; `ring` Int64 (1 is nearest); count
        `shots` (ids of shots); rates `on_goal` and `goal` of those with a known result, withheld where places are
        given at another rate on goals than on other shots; rate `share` of the team's
        shots with a place; `method`, `level`, `width`.

    Raises
    ------
    QuestionError
        Rings that do not rise.
    """
    if list(rings_m) != sorted(set(rings_m)) or any(edge <= 0 for edge in rings_m):
        raise QuestionError(f"shot chart: rings {rings_m} must rise from above 0 metres")
    shots = cut(tables, part, "shots")["shots"]
    shots = shots[attempts(shots)]
    lane, ring = fields(shots, goal_x_m=goal_x_m, rings_m=rings_m, lane_half_width_m=lane_half_width_m)
    teams = [name for name in ("ours", "theirs") if among(shots["team"], (name,)).any()]
    also = [(team, name, at + 1) for team in teams for name in LANES for at in range(len(rings_m) + 1)]
    groups = group({"team": shots["team"], "lane": lane, "ring": ring}, also=also)
    per_team = group({"team": shots["team"]})
    placed = lane.notna().to_numpy(dtype=bool)
    ids, sure, game = words(shots["id"]), seen(shots), games_of(shots)
    in_team = dict(zip(per_team.labels["team"], per_team.cells(game, placed), strict=True))
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    leans = uneven(tables, shots, "shot.place", placed, among(shots["result"], (GOAL,)), per_team)
    of_team = dict(zip(per_team.labels["team"], leans.tolist(), strict=True))
    hidden = np.array([of_team.get(team, False) for team in groups.labels["team"]], dtype=bool)
    columns = [rate.count("shots", groups.count(), groups.ids(ids))]
    for name, results in (("on_goal", ON_GOAL), ("goal", (GOAL,))):
        yes = among(shots["result"], results)
        columns.append(
            rate.share(
                name,
                groups.cells(game, yes & sure),
                groups.cells(game, sure),
                groups.ids(ids, yes & sure),
                asked=groups.count(),
                withheld=hidden,
                **how,
            )
        )
    whole = np.array(
        [
            in_team[team] if name is not None else np.zeros(game.size)
            for team, name in zip(groups.labels["team"], groups.labels["lane"], strict=True)
        ],
        dtype=np.int64,
    ).reshape(groups.size, game.size)
    columns.append(rate.share("share", groups.cells(game, placed), whole, groups.ids(ids, placed), **how))
    labels = {**groups.labels, "ring": pd.array(groups.labels["ring"], dtype="Int64")}
    return rate.table(labels, *columns, level=level)


def fields(
    shots: pd.DataFrame,
    *,
    goal_x_m: float,
    rings_m: tuple[float, ...] = RINGS_M,
    lane_half_width_m: float = LANE_HALF_WIDTH_M,
) -> tuple[pd.Series, pd.Series]:
    """Say from which field of the floor each shot came.

    Parameters
    ----------
    shots : DataFrame
        The event table.
    goal_x_m, rings_m, lane_half_width_m
        As in `chart`.

    Returns
    -------
    tuple of Series
        Its lane, "string", and its ring, "Int64"; missing without a place.
    """
    x_m, y_m = (shots[name].to_numpy(dtype=np.float64, na_value=np.nan) for name in ("x_m", "y_m"))
    there = ~(np.isnan(x_m) | np.isnan(y_m))
    names: NDArray[np.object_] = np.where(
        y_m > lane_half_width_m, "left", np.where(y_m < -lane_half_width_m, "right", "middle")
    )
    distance = np.hypot(goal_x_m - x_m, y_m)
    lane = pd.array([name if known else None for name, known in zip(names, there, strict=True)], dtype="string")
    ring = np.searchsorted(np.array(rings_m), distance, side="left") + 1
    numbers = pd.array([int(one) if known else None for one, known in zip(ring, there, strict=True)], dtype="Int64")
    return pd.Series(lane, index=shots.index), pd.Series(numbers, index=shots.index)
