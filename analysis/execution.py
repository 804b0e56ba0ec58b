"""Execution: was the job done, checkpoint by checkpoint, and does doing it go with shots?

Grades are plus, minus or not gradable; percent is plus out of plus and minus. Grades glow from the goal when the shot
is seen before the grade is given, so grade first; no number here can tell afterwards whether that was done.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, words
from analysis.errors import QuestionError
from analysis.groups import games_of, group
from analysis.outcome import FACTS, outcomes, run_ids
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.cluster import DIFFERENCE, WIDENED, difference
from analysis.stats.proportion import Interval

if TYPE_CHECKING:
    from numpy.typing import NDArray

BY = ("set", "side", "checkpoint", "player", "game")
GRADED = ("plus", "minus")
GLOW = "Grades given after seeing the shot glow from it: grade before you watch how it ends."


def graded(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: tuple[str, ...] = ("set", "checkpoint"),
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what share of the gradable work was done.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    by : tuple of str
        Any of `BY`; `set` and `side` are of the run. `()` for all in one row.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per combination: the columns of `by`: string; count `grades` (ids of grades); rate `done` (plus of
        plus and minus); count `not_gradable`; `method`, `level`, `width`.

    Raises
    ------
    QuestionError
        A column that grades cannot be split by.
    """
    own = _grades(tables, part, by)
    groups = group({name: own[name] for name in by}) if by else group({"all": pd.Series(["all"] * len(own))})
    ids, game = words(own["id"]), games_of(own)
    plus, gradable = among(own["grade"], ("plus",)), among(own["grade"], GRADED)
    blank = among(own["grade"], ("not_gradable",))
    return rate.table(
        {name: groups.labels[name] for name in by} if by else {},
        rate.count("grades", groups.count(), groups.ids(ids)),
        rate.share(
            "done",
            groups.cells(game, plus),
            groups.cells(game, gradable),
            groups.ids(ids, plus),
            small_n=small_n,
            level=level,
            asked=groups.count(),
            n_ids=groups.ids(ids, gradable),
        ),
        rate.count("not_gradable", groups.count(blank), groups.ids(ids, blank)),
        level=level,
    )


def worth(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    fact: str = "shot",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Compare runs in which a checkpoint was met with runs in which it was missed.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    fact : str
        What a run should have brought; one of `analysis.outcome.FACTS`.
    small_n : int
        Under this n a number is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per set and checkpoint, costliest first (ids of runs; a run is missed if any grade of it is a minus,
        met if all gradable ones are plus):

        * `set`, `checkpoint`: string
        * rates `met` and `missed`: runs with the fact, when it was met and when it was missed
        * measure `difference`: met − missed, −1 to 1, Newcombe's interval, resting on as many runs as the smaller side
        * measure `cost`: how many more runs would have had the fact, had the missed ones gone like the met ones
          (missed runs × difference); rests on the missed runs
        * `caution` string; `method`, `level`, `width`

    Raises
    ------
    QuestionError
        No such fact.

    Notes
    -----
    Runs that go well may be graded well: the difference goes with the checkpoint, it need not come from it. Whether it
    may be said to stand out is `analysis.findings`' to say.
    """
    if fact not in FACTS:
        raise QuestionError(f"worth: no fact “{fact}”; it is one of {', '.join(FACTS)}")
    own = _grades(tables, part, ("set", "checkpoint"))
    runs = tables["runs"]
    at = places(runs["id"], own["run"])
    usable = (at >= 0) & among(own["grade"], GRADED)
    own, at = own[usable], at[usable]
    per_run = group({"set": own["set"], "checkpoint": own["checkpoint"], "run": pd.Series(at, index=own.index)})
    missed_run = per_run.count(among(own["grade"], ("minus",))) > 0
    families = group(
        {name: pd.Series(pd.array(per_run.labels[name], dtype="string")) for name in ("set", "checkpoint")}
    )
    run = np.array(per_run.labels["run"], dtype=np.intp)
    came = outcomes(tables).facts[fact][run]
    ids = run_ids(runs)[run]
    yes, sure = came == YES, came >= 0
    sides = {"met": ~missed_run & sure, "missed": missed_run & sure}
    game = games_of(runs).of(run)
    k_cells = {name: families.cells(game, which & yes) for name, which in sides.items()}
    n_cells = {name: families.cells(game, which) for name, which in sides.items()}
    n = {name: held.sum(axis=1) for name, held in n_cells.items()}
    gap = difference(k_cells["met"], n_cells["met"], k_cells["missed"], n_cells["missed"], level=level)
    cost = Interval(*(n["missed"] * bound for bound in gap))
    smaller = np.minimum(n["met"], n["missed"])
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    made = rate.table(
        families.labels,
        *(
            rate.share(
                name,
                k_cells[name],
                n_cells[name],
                families.ids(ids, which & yes),
                n_ids=families.ids(ids, which),
                **how,
            )
            for name, which in sides.items()
        ),
        rate.measure("difference", smaller, gap, families.ids(ids, sure), small_n=small_n),
        rate.measure("cost", n["missed"], cost, families.ids(ids, sides["missed"]), small_n=small_n),
        {
            "caution": pd.array([GLOW] * families.size, dtype="string"),
        },
        method=f"{WIDENED}; difference: {DIFFERENCE}",
        level=level,
    )
    order = np.argsort(-np.nan_to_num(cost.estimate, nan=-np.inf), kind="stable")
    return made.iloc[order].reset_index(drop=True)


def met(tables: Mapping[str, pd.DataFrame], checkpoint: str) -> NDArray[np.int8]:
    """Say of every run whether a checkpoint was met in it.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    checkpoint : str
        Its code, with or without the set's before a point.

    Returns
    -------
    int8 array
        1 met, 0 missed, −1 not graded, one per row of the runs table.
    """
    grades, runs = tables["grades"], tables["runs"]
    at = places(runs["id"], grades["run"])
    wanted = np.array([word.rsplit(".", 1)[-1] == checkpoint for word in words(grades["checkpoint"])], dtype=bool)
    made = np.full(len(runs), UNKNOWN)
    for answer, value in (("plus", YES), ("minus", NO)):
        made[at[wanted & (at >= 0) & among(grades["grade"], (answer,))]] = value
    return made


def _grades(tables: Mapping[str, pd.DataFrame], part: Slice, by: tuple[str, ...]) -> pd.DataFrame:
    """Return the slice's grades with the set and side of their run."""
    for name in by:
        if name not in BY:
            raise QuestionError(f"grades: cannot be split by “{name}”; it is any of {', '.join(BY)}")
    own = cut(tables, part, "grades")["grades"]
    runs = tables["runs"]
    at = places(runs["id"], own["run"])
    extra = {}
    for name in ("set", "side"):
        found = np.append(words(runs[name]), "")[at]
        extra[name] = pd.Series(pd.array([word or None for word in found], dtype="string"), index=own.index)
    return own.assign(**extra)
