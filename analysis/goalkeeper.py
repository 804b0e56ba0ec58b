"""Our goalkeepers: what each saved, by strength, by place of the shot, and by whether a screen came before it.

A shot belongs to the man in net by the last goalkeeper mark before it; one on the very frame of a change is the man's
who was there before. A shot on goal is one that went in or was saved; what nobody saw the end of is not counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, places, whole, words
from analysis.errors import QuestionError
from analysis.groups import games_of, group
from analysis.looked import looked_for
from analysis.players import number_order
from analysis.shot_chart import fields
from analysis.shots import GOAL, ON_GOAL, SAVED
from analysis.slice import EVERYTHING, Slice, cut
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

BY = ("strength", "place", "screen")
EMPTY, UNSEEN = "", "unseen"


def saves(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: str | None = None,
    goal_x_m: float = 0.0,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what our goalkeepers saved.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which shots of theirs are looked at; their strength is as the shooters see it.
    by : str, optional
        One of `BY`; one row per goalkeeper when left out.
    goal_x_m : float
        Distance of the goal line from the floor's centre in metres, by rule code; asked by place alone.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per goalkeeper, by number, missing where nobody said who was in net; an empty net is left out. With
        `by`: also per `strength` (class), per `lane` string and `ring` Int64 (as in `analysis.shot_chart`, missing
        without a place), or per `screen`: "yes" (one was set in the run, before the shot), "no", missing where screens
        were not looked for or the shot stands in no run. `keeper` string; count `faced`: shots on goal (ids of shots);
        rate `save`, by place withheld where places are given at another rate on goals than on saves; count `goals`;
        `method`, `level`, `width`.

    Raises
    ------
    QuestionError
        Something that saves cannot be split by.
    """
    if by is not None and by not in BY:
        raise QuestionError(f"saves: cannot be split by “{by}”; it is one of {', '.join(BY)}")
    shots = cut(tables, replace(part, team="theirs"), "shots")["shots"]
    shots = shots[among(shots["result"], ON_GOAL)]
    keeper = keepers(tables["goalies"], shots)
    shots, keeper = shots[keeper != EMPTY], keeper[keeper != EMPTY]
    columns = {"keeper": pd.Series(pd.array(keeper.tolist(), dtype="string"), index=shots.index)}
    goal = among(shots["result"], (GOAL,))
    hidden: NDArray[np.bool_] | None = None
    if by == "strength":
        columns["strength"] = classes(shots["strength"])
    elif by == "place":
        columns["lane"], columns["ring"] = fields(shots, goal_x_m=goal_x_m)
    elif by == "screen":
        columns["screen"] = _screened(tables, shots)
    groups = group(columns)
    labels = groups.labels
    groups = groups.ordered(sorted(range(groups.size), key=lambda row: (number_order(labels["keeper"][row]), row)))
    if by == "place":
        one = group({"team": shots["team"]})
        leans = uneven(tables, shots, "shot.place", columns["lane"].notna().to_numpy(dtype=bool), goal, one)
        hidden = np.full(groups.size, bool(leans.any()))
    ids, game = words(shots["id"]), games_of(shots)
    saved = among(shots["result"], (SAVED,))
    made: dict[str, Any] = dict(groups.labels)
    if "ring" in made:
        made["ring"] = pd.array(made["ring"], dtype="Int64")
    return rate.table(
        made,
        rate.count("faced", groups.count(), groups.ids(ids)),
        rate.of_fact("save", saved.astype(np.int8), groups, game, ids, small_n=small_n, level=level, withheld=hidden),
        rate.count("goals", groups.count(goal), groups.ids(ids, goal)),
        level=level,
    )


def keepers(goalies: pd.DataFrame, shots: pd.DataFrame, of: str = "ours") -> NDArray[np.object_]:
    """Name the man in net for each shot.

    Parameters
    ----------
    goalies, shots : DataFrame
        Event tables.
    of : str
        Whose goalkeeper.

    Returns
    -------
    object array
        His number, "" where the net was empty, None where nobody said.
    """
    team, what, man, at = (
        *(words(goalies[name]) for name in ("team", "what", "player")),
        whole(goalies["at_ms"]),
    )
    game_of = words(goalies["game"])
    held: dict[str, list[tuple[int, str | None]]] = {}
    for row in np.argsort(at, kind="stable").tolist():
        if team[row] == of:
            known = str(man[row]) if man[row] not in ("", UNSEEN) else None
            held.setdefault(game_of[row], []).append((int(at[row]), known if what[row] == "in" else EMPTY))
    made = np.full(len(shots), None, dtype=object)
    for row, (game, when) in enumerate(zip(words(shots["game"]).tolist(), whole(shots["at_ms"]).tolist(), strict=True)):
        marks = held.get(game, [])
        before = [name for marked, name in marks if marked < when]
        at_once = (name for marked, name in marks if marked == when)
        made[row] = before[-1] if before else next(at_once, None)
    return made


def _screened(tables: Mapping[str, pd.DataFrame], shots: pd.DataFrame) -> pd.Series:
    """Whether a screen was set in the run of each shot, before it."""
    runs, screens = tables["runs"], tables["screens"]
    first = np.full(len(runs) + 1, np.iinfo(np.int64).max)
    of_screen = places(runs["id"], screens["run"])
    np.minimum.at(first, of_screen, whole(screens["at_ms"]))
    first[-1] = np.iinfo(np.int64).max
    run = places(runs["id"], shots["run"])
    known = looked_for(tables, shots, "screen") & (run >= 0)
    came = first[run] <= whole(shots["at_ms"])
    said = [("yes" if yes else "no") if sure else None for yes, sure in zip(came, known, strict=True)]
    return pd.Series(pd.array(said, dtype="string"), index=shots.index)
