"""What is known of a shot before it is taken, as numbers that a model can use.

A question that was answered on goals but not on other shots would tell the model the result: it is left out, and said
so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from analysis.answered import leaning
from analysis.codes import among, known, places, words
from analysis.looked import looked_for
from analysis.strength import DOWN, UP, classes

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

LEAST_ANSWERED = 0.8  # of the shots for which it was looked for
LEAST_KNOWN = 0.5  # of all shots


def terms(
    tables: Mapping[str, pd.DataFrame],
    shots: pd.DataFrame,
    goal: NDArray[np.bool_],
    goal_x_m: float | None,
    shoots: Mapping[str, str],
) -> tuple[dict[str, NDArray[np.float64]], list[str]]:
    """Make the terms that can be used, in the order in which they are taken, and say why others cannot.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    shots : DataFrame
        Rows of the shots table with a known result.
    goal : bool array
        Which of them are goals.
    goal_x_m : float or None
        Distance of the goal line from the floor's centre in metres.
    shoots : mapping of str to str
        Our players' numbers → "L" or "R".

    Returns
    -------
    tuple of (dict of str to float64 array, list of str)
        `distance` (m, centred, 0 where not known), `angle` (radians off the middle, likewise), `feed`, `off_screen`,
        `second_chance` (0 or 1), `man_up` (−1 short-handed, 0, 1), `good_side` (½ from the side where the shooter's
        stick is inside, −½ from the other, 0 not known); and the terms left out, each with its reason behind a colon.
    """
    made: dict[str, NDArray[np.float64]] = {}
    left_out: list[str] = []
    placed = (shots["x_m"].notna() & shots["y_m"].notna()).to_numpy(dtype=bool)
    asked = placed | looked_for(tables, shots, "shot.place")
    reason = "the floor’s measures are not given" if goal_x_m is None else _unfit(placed, asked, goal)
    x_m, y_m = (shots[name].to_numpy(dtype=np.float64, na_value=np.nan) for name in ("x_m", "y_m"))
    if reason is None and goal_x_m is not None:
        depth = goal_x_m - x_m
        distance, angle = np.hypot(depth, y_m), np.abs(np.arctan2(y_m, np.maximum(depth, 0.01)))
        made["distance"] = _filled(distance, placed)
        made["angle"] = _filled(angle, placed)
    else:
        left_out += [f"{name}: {reason}" for name in ("distance", "angle")]
    told = known(shots["feeder"])
    reason = _unfit(told, told | looked_for(tables, shots, "shot.feeder"), goal)
    if reason is None:
        fed = told & ~among(shots["feeder"], ("none",))
        made["feed"] = np.where(told, fed, fed[told].mean()).astype(np.float64)
    else:
        left_out.append(f"feed: {reason}")
    made["off_screen"] = _off_screen(tables, shots).astype(np.float64)
    runs = tables["runs"]
    phase = np.append(words(runs["phase"]), "")[places(runs["id"], shots["run"])]
    made["second_chance"] = (phase == "second_chance").astype(np.float64)
    kind = words(classes(shots["strength"]))
    made["man_up"] = (kind == UP).astype(np.float64) - (kind == DOWN)
    hand = np.array([shoots.get(number, "") for number in words(shots["shooter"])], dtype=object)
    ours = among(shots["team"], ("ours",))
    handed = ours & (hand != "") & placed
    if goal_x_m is None or not ours.any() or handed[ours].mean() < LEAST_KNOWN or "distance" not in made:
        left_out.append("good_side: hands or places are not known for enough of our shots")
    else:
        good = ((hand == "R") & (y_m > 0)) | ((hand == "L") & (y_m < 0))
        made["good_side"] = np.where(handed, np.where(good, 0.5, -0.5), 0.0)
    for name in [name for name, values in made.items() if len(values) and np.ptp(values) == 0]:
        del made[name]
        left_out.append(f"{name}: the same for all shots")
    return made, left_out


def _unfit(told: NDArray[np.bool_], asked: NDArray[np.bool_], goal: NDArray[np.bool_]) -> str | None:
    """Say why answers cannot be used: too few, or given at another rate on goals than on other shots."""
    n_told, n_asked = int(told.sum()), int(asked.sum())
    if n_told < LEAST_ANSWERED * n_asked or n_told < LEAST_KNOWN * len(told) or n_told == 0:
        return f"answered for {n_told} of {len(told)} shots only"
    numbers = ((told & goal).sum(), (asked & goal).sum(), (told & ~goal).sum(), (asked & ~goal).sum())
    if bool(leaning(*(np.array([number]) for number in numbers))[0]):
        return "answered at another rate on goals than on other shots"
    return None


def _filled(values: NDArray[np.float64], there: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Put the mean where a place is not known, and centre."""
    mean = values[there].mean()
    return np.where(there, values - mean, 0.0)


def _off_screen(tables: Mapping[str, pd.DataFrame], shots: pd.DataFrame) -> NDArray[np.bool_]:
    """Say of every shot whether a screen of its run freed somebody before it."""
    screens = tables["screens"]
    freed = screens[among(screens["free"], ("user", "setter", "third_man"))]
    first: dict[str, int] = {}
    for run, at in zip(words(freed["run"]), freed["at_ms"].to_numpy(dtype=np.int64, na_value=0), strict=True):
        first[run] = min(int(at), first.get(run, int(at)))
    first.pop("", None)
    at_ms = shots["at_ms"].to_numpy(dtype=np.int64, na_value=-1)
    never = np.iinfo(np.int64).max
    return np.array([first.get(run, never) for run in words(shots["run"])], dtype=np.int64) <= at_ms
