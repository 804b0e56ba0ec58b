"""What a lost ball costs: the other team's shots and goals in the possession right after ours ended."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, known, places, whole, words
from analysis.errors import QuestionError
from analysis.execution import met
from analysis.groups import Groups, games_of, group
from analysis.outcome import any_of
from analysis.shots import GOAL, NO, UNKNOWN, YES, attempts, resulted
from analysis.slice import EVERYTHING, Slice, cut
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

WITHIN_S = 15.0
COST_S = (5, 10, 30)
LOST = ("turnover", "violation", "save", "missed_shot")
BY = ("ended", "phase", "set", "side", "look", "where", "safety")
QUESTIONS = {"side": "set.side", "look": "look.look", "where": "turnover.where"}
SAFETY = {YES: "met", NO: "missed", UNKNOWN: "not_graded"}


def lost_balls(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: tuple[str, ...] = ("ended",),
    within_s: float = WITHIN_S,
    safety: str = "safety",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what the other team made of the balls that a team lost.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which possessions are looked at: those that lost the ball.
    by : tuple of str
        Any of `BY`: `ended` (turnover, violation, save, missed_shot), the last run's `phase`, `set`, `side`, `look`;
        `where` the turnover happened; `safety` (met, missed, not_graded: the checkpoint in any run of the possession,
        missed if it ever was).
    within_s : float
        Only shots within so many seconds of the other team's gaining the ball count.
    safety : str
        Code of the checkpoint that means somebody is back.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team that lost the ball, class of strength and combination: `team`, `strength`, the columns of
        `by`: string; count `lost` (ids of the possessions that lost it); rates `answered` (the possession right after
        is known), `shot_against`, `goal_against` (that possession brought one in time; ids of the *other* team's
        possessions; withheld where the look, side or place was said at another rate when it came than when not), and so
        `shot_5s`, `shot_10s`, `shot_30s`, `goal_5s`, `goal_10s`, `goal_30s`; `method`, `level`, `width`.

    Raises
    ------
    QuestionError
        A column that lost balls cannot be split by.
    """
    for name in by:
        if name not in BY:
            raise QuestionError(f"lost balls: cannot be split by “{name}”; it is any of {', '.join(BY)}")
    own, after = _answered(tables, part)
    facts = dict(zip(("shot_against", "goal_against"), _in_time(tables, within_s), strict=True))
    for seconds in COST_S:
        facts |= dict(zip((f"shot_{seconds}s", f"goal_{seconds}s"), _in_time(tables, seconds), strict=True))
    columns = {"team": own["team"], "class": classes(own["strength"]), **_columns(tables, own, by, safety)}
    groups = group(columns)
    ids, game = words(own["id"]), games_of(own)
    other_ids = np.append(words(tables["possessions"]["id"]), "")[after]
    known_after = after >= 0
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    made = [
        rate.count("lost", groups.count(), groups.ids(ids)),
        rate.share(
            "answered", groups.cells(game, known_after), groups.cells(game), groups.ids(ids, known_after), **how
        ),
    ]
    for name, fact in facts.items():
        came = np.append(fact, UNKNOWN)[after]
        hidden = _leaning(tables, own, columns, came == YES, groups)
        made.append(rate.of_fact(name, came, groups, game, other_ids, withheld=hidden, **how))
    labels = {"strength" if name == "class" else name: values for name, values in groups.labels.items()}
    return rate.table(labels, *made, level=level)


def with_answer(
    tables: Mapping[str, pd.DataFrame], part: Slice, *, within_s: float = WITHIN_S, safety: str = "safety"
) -> tuple[pd.DataFrame, pd.Series, NDArray[np.object_], NDArray[np.int8]]:
    """Give the possessions that lost the ball, whether the safety was back, and whether a shot came right after.

    Parameters
    ----------
    tables, part, within_s, safety
        As in `lost_balls`.

    Returns
    -------
    tuple of (DataFrame, Series, object array, int8 array)
        The possessions; "met", "missed" or "not_graded"; the ids of the other team's possessions right after; 1 when
        that brought a shot in time, 0 when not, −1 when it is not known. One each.
    """
    own, after = _answered(tables, part)
    shot, _ = _in_time(tables, within_s)
    other_ids = np.append(words(tables["possessions"]["id"]), "")[after]
    return own, _columns(tables, own, ("safety",), safety)["safety"], other_ids, np.append(shot, UNKNOWN)[after]


def _answered(tables: Mapping[str, pd.DataFrame], part: Slice) -> tuple[pd.DataFrame, NDArray[np.intp]]:
    """Give the possessions that lost the ball, and the row of the one right after each."""
    possessions = tables["possessions"]
    own = cut(tables, part, "possessions")["possessions"]
    own = own[among(own["ended"], LOST)]
    return own, _right_after(possessions)[places(possessions["id"], own["id"])]


def _leaning(
    tables: Mapping[str, pd.DataFrame],
    own: pd.DataFrame,
    columns: Mapping[str, pd.Series],
    came: NDArray[np.bool_],
    groups: Groups,
) -> NDArray[np.bool_]:
    """Say of every group whether an answer that it is split by leans on what came after the lost ball."""
    teams = group({"team": own["team"]})
    hidden = np.zeros(len(own), dtype=bool)
    for name in QUESTIONS.keys() & columns.keys():
        told = known(columns[name])
        leans = np.append(uneven(tables, own, QUESTIONS[name], told, came, teams), False)
        hidden |= leans[teams.codes]
    return groups.count(hidden) > 0


def _right_after(possessions: pd.DataFrame) -> NDArray[np.intp]:
    """Find for each possession the row of the other team's possession that follows it in the same period; −1 for
    none."""
    start, period = whole(possessions["start_ms"]), whole(possessions["period"])
    game, team = words(possessions["game"]), words(possessions["team"])
    made = np.full(len(possessions), -1, dtype=np.intp)
    order = np.lexsort((start, period, game))
    one, other = order[:-1], order[1:]
    follows = (game[one] == game[other]) & (period[one] == period[other]) & (team[one] != team[other])
    made[one[follows]] = other[follows]
    return made


def _in_time(tables: Mapping[str, pd.DataFrame], within_s: float) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    """Say of every possession whether a shot, and a goal, came within so many seconds of its beginning."""
    possessions = tables["possessions"]
    shots = tables["shots"][attempts(tables["shots"])]
    at = places(possessions["id"], shots["possession"])
    start = np.append(whole(possessions["start_ms"]), 0)[at]
    soon = (at >= 0) & (whole(shots["at_ms"]) - start <= within_s * 1000)
    n = len(possessions)
    shot = any_of(np.where(soon, YES, NO).astype(np.int8), at, n)
    goal = any_of(np.where(soon, resulted(shots, (GOAL,)), NO).astype(np.int8), at, n)
    return shot, goal


def _columns(
    tables: Mapping[str, pd.DataFrame], own: pd.DataFrame, by: tuple[str, ...], safety: str
) -> dict[str, pd.Series]:
    runs, turnovers = tables["runs"], tables["turnovers"]
    run_at = places(own["id"], runs["possession"])
    last = _last_run(run_at, whole(runs["order"]), len(own))
    turnover_at = np.full(len(own), -1, dtype=np.intp)
    lost_at = places(own["id"], turnovers["possession"])
    turnover_at[lost_at[lost_at >= 0]] = np.flatnonzero(lost_at >= 0)
    made: dict[str, pd.Series] = {}
    for name in by:
        if name == "ended":
            made[name] = own["ended"]
        elif name == "where":
            made[name] = _looked_up(turnovers["where"], turnover_at, own.index)
        elif name == "safety":
            graded = met(tables, safety)
            of_possession = np.full(len(own), UNKNOWN)
            for value in (YES, NO):  # missed in any run is missed
                of_possession[run_at[(run_at >= 0) & (graded == value)]] = value
            said = [SAFETY[value] for value in of_possession]
            made[name] = pd.Series(pd.array(said, dtype="string"), index=own.index)
        else:
            made[name] = _looked_up(runs[name], last, own.index)
    return made


def _last_run(run_at: NDArray[np.intp], order: NDArray[np.int64], n: int) -> NDArray[np.intp]:
    """Find each possession's last run; −1 where it has none."""
    made = np.full(n, -1, dtype=np.intp)
    in_order = np.argsort(order, kind="stable")
    in_order = in_order[run_at[in_order] >= 0]
    made[run_at[in_order]] = in_order
    return made


def _looked_up(column: pd.Series, at: NDArray[np.intp], index: pd.Index) -> pd.Series:
    found = np.append(words(column), "")[at]
    return pd.Series(pd.array([word or None for word in found], dtype="string"), index=index)
