"""Who answers the questions, and when: answers that lean on the outcome would make a rate lie.

Feeders and setters get filled in mostly on goals. If 24 of 25 goals name their feeder and 7 of 33 other shots do,
then "goals per shot fed" says more about the tagger than about the feeder, and is withheld.

So with every split: sides, looks, setters, users, feeders, shooters, places, coverage, and the stated question
itself, which then says so. An answer given where it was not asked counts as asked in that game, since such answers
lean more than any.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, codes_of, known, words
from analysis.groups import Groups, games_of, group
from analysis.looked import looked_for
from analysis.outcome import outcomes
from analysis.shots import GOAL, YES, attempts
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.proportion import newcombe

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAN = 0.2
# Column → the question's code in a `detail` row.
SHOT_QUESTIONS = {
    "shooter": "shot.shooter",
    "result": "shot.result",
    "feeder": "shot.feeder",
    "feeder2": "shot.feeder2",
    "x_m": "shot.place",
}
SCREEN_QUESTIONS = {
    name: f"screen.{name}" for name in ("free", "setter", "user", "coverage", "kind", "setter_next", "side")
}
RUN_QUESTIONS = {"side": "set.side", "look": "look.look", "look_open": "look.open"}


def leaning(
    answered_yes: NDArray[np.int64],
    asked_yes: NDArray[np.int64],
    answered_no: NDArray[np.int64],
    asked_no: NDArray[np.int64],
) -> NDArray[np.bool_]:
    """Say where a question is answered at another rate when the outcome came than when it did not.

    Parameters
    ----------
    answered_yes, asked_yes : int64 array
        Answers and chances to answer where the outcome came.
    answered_no, asked_no : int64 array
        The same where it did not.

    Returns
    -------
    bool array
        True where the shares differ by at least `LEAN` and Newcombe's 95 % interval of the difference leaves out 0;
        False where either has no chances.

    Examples
    --------
    >>> bool(leaning(24, 25, 7, 33))
    True
    """
    gap = newcombe(answered_yes, asked_yes, answered_no, asked_no)
    apart = (gap.lo > 0) | (gap.hi < 0)
    return apart & (np.abs(gap.estimate) >= LEAN)


def uneven(
    tables: Mapping[str, pd.DataFrame],
    frame: pd.DataFrame,
    question: str,
    told: NDArray[np.bool_],
    came: NDArray[np.bool_],
    groups: Groups,
) -> NDArray[np.bool_]:
    """Say of every group of rows whether a question of theirs was answered at another rate where the outcome came.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables, with `detail`: where the question was not looked for it was not asked, save in a game in which
        it was answered all the same: such answers lean more than any.
    frame : DataFrame
        The rows.
    question : str
        Its code in a `detail` row, as "shot.feeder".
    told, came : bool array
        Whether each row answers it, and whether the outcome came.
    groups : Groups
        Of these rows.

    Returns
    -------
    bool array
        One per group, as `leaning` says.
    """
    asked = looked_for(tables, frame, question)
    stray = told & ~asked
    if stray.any():
        game = codes_of(frame["game"])[0]
        asked = asked | np.isin(game, game[stray])
    return leaning(*(groups.count(rows) for rows in (told & came, asked & came, told & ~came, asked & ~came)))


def answered(
    tables: Mapping[str, pd.DataFrame], part: Slice = EVERYTHING, *, small_n: int = rate.SMALL_N
) -> pd.DataFrame:
    """Say of every question how often it was answered, and whether the answers lean on the outcome.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    small_n : int
        Under this n a rate is flagged as too few.

    Returns
    -------
    DataFrame
        One row per table, team and question: `table`, `question`, `team`; rate `answered` (of the rows; "none" is an
        answer, "can't see" is not); rates `answered_yes` and `answered_no` (where the outcome came and where not: for
        shots a goal, for screens and runs a shot in the run); `leans` boolean; `method`, `level`, `width`.
    """
    cut_tables = cut(tables, part, "shots", "screens", "runs")
    facts = outcomes(tables)
    run_shot = dict(zip(words(tables["runs"]["id"]).tolist(), (facts.facts["shot"] == YES).tolist(), strict=True))
    shots = cut_tables["shots"][attempts(cut_tables["shots"])]
    screens, runs = cut_tables["screens"], cut_tables["runs"]
    named = runs[among(runs["phase"], ("set",))]
    shot_in = {
        name: np.array([run_shot.get(run, False) for run in words(frame[column])], dtype=bool)
        for name, frame, column in (("screens", screens, "run"), ("runs", named, "id"))
    }
    goal = among(shots["result"], (GOAL,))
    parts = [
        _questions(tables, "shots", shots, SHOT_QUESTIONS, goal, small_n),
        _questions(tables, "screens", screens, SCREEN_QUESTIONS, shot_in["screens"], small_n),
        _questions(tables, "runs", named, RUN_QUESTIONS, shot_in["runs"], small_n),
    ]
    return pd.concat(parts, ignore_index=True)


def _questions(
    tables: Mapping[str, pd.DataFrame],
    table: str,
    frame: pd.DataFrame,
    questions: Mapping[str, str],
    came: NDArray[np.bool_],
    small_n: int,
) -> pd.DataFrame:
    teams = group({"team": frame["team"]})
    ids, game = words(frame["id"]), games_of(frame)
    parts = []
    for question, code in questions.items():
        told = _told(frame[question])
        asked = told | looked_for(tables, frame, code)
        columns = [
            rate.share(
                name,
                teams.cells(game, told & rows),
                teams.cells(game, asked & rows),
                teams.ids(ids, told & rows),
                small_n=small_n,
            )
            for name, rows in (
                ("answered", np.ones(len(frame), dtype=bool)),
                ("answered_yes", came),
                ("answered_no", ~came),
            )
        ]
        leans = uneven(tables, frame, code, told, came, teams)
        columns.append({"leans": pd.array(leans, dtype="boolean")})
        labels = {"table": [table] * teams.size, "question": [question] * teams.size, **teams.labels}
        parts.append(rate.table(labels, *columns))
    return pd.concat(parts, ignore_index=True)


def _told(column: pd.Series) -> NDArray[np.bool_]:
    if isinstance(column.dtype, pd.Float64Dtype):
        return column.notna().to_numpy(dtype=bool)
    return known(column)
