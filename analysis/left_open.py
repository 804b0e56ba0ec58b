"""What rows that nobody answered leave open: between which counts a rate would lie, whichever way they belonged.

Sets that die early go unnamed, and what is named is flattered by that. Nobody knows which set an unnamed stretch was;
but it was this set's or not, and so its rate lies between two counts that can be written down: the lowest if all those
without a shot were its, and none with one, the highest if all those with one were, and none without. Chance comes on
top of that. In between stands one guess among many: each set had its share of them, and they brought shots at their own
rate.

Source: C. F. Manski 1989, Anatomy of the Selection Problem, Journal of Human Resources 24:343–360; the intervals about
both ends as in G. W. Imbens & C. F. Manski 2004, Econometrica 72:1845–1857, on the sure side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, known, words
from analysis.errors import QuestionError
from analysis.groups import Games, Groups, games_of, group
from analysis.outcome import outcomes, run_ids
from analysis.screens import FREED, with_facts
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, keep
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

NAMED = ("set", "family", "freelance")
OF_SCREENS = ("kind", "side", "coverage", "setter", "user", "setter_next")
_NOBODY_SAID = "not_tagged"


@dataclass(frozen=True)
class Rows:
    """The rows of one rate, as far as they are known.

    Attributes
    ----------
    sure : bool array
        Rows that are its.
    maybe : bool array
        Rows that may be its, and may not.
    """

    sure: NDArray[np.bool_]
    maybe: NDArray[np.bool_]

    def lowest(self, came: NDArray[np.int8]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Say which rows count if what is not known was as bad for it as can be.

        Parameters
        ----------
        came : int8 array
            1 yes, 0 no, −1 not known, one per row.

        Returns
        -------
        tuple of bool array
            Rows in which it came, and all.
        """
        return self.sure & (came == YES), self.sure | (self.maybe & (came != YES))

    def highest(self, came: NDArray[np.int8]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Say which rows count if what is not known was as good for it as can be.

        Parameters
        ----------
        came : int8 array
            As in `lowest`.

        Returns
        -------
        tuple of bool array
            Rows in which it came, or may have come, and all.
        """
        good = came != NO
        return (self.sure | self.maybe) & good, self.sure | (self.maybe & good)


def of_sets(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    fact: str = "shot",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what settled stretches without a name leave open of the rate of each set.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at. Where it asks for a side, a run of the set whose side nobody knows may be on it, and
        so may any stretch without a name.
    fact : str
        What a run should have brought, of `analysis.outcome.FACTS`.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength, phase and set, of named runs (set, family, freelance): `team`, `strength`,
        `phase`, `set` string; rate `counted` (ids of runs): as it stands; rates `lowest` and `highest`: if what is not
        known was as bad, or as good, for it as can be; rate `open`: stretches that may be its, and those of them that
        brought it; `shared` Float64: the rate if its share of them, by how many runs it has, were its and brought
        it as often as all of them; `method`, `level`, `width`.
    """
    runs = tables["runs"]
    wide = keep(runs, replace(part, sides=None, sets=None, phases=None))
    wide &= among(runs["phase"], (*NAMED, _NOBODY_SAID))
    own, came = runs[wide], outcomes(tables).facts[fact][wide]
    kinds = {"team": own["team"], "strength": classes(own["strength"])}
    families, by = group(kinds), group({**kinds, "phase": own["phase"], "set": own["set"]})
    named = among(own["phase"], NAMED)
    told = named if part.sides is None else named & known(own["side"])
    there = told if part.sides is None else told & among(own["side"], part.sides)
    wanted = there.copy()
    if part.phases is not None:
        wanted &= among(own["phase"], part.phases)
    if part.sets is not None:
        wanted &= among(own["set"], part.sets)
    places, rows, weights = [], [], []
    for place in _places(by, wanted):
        its = by.codes == place
        family = families.codes == families.codes[its][0]
        sure, side_open, unnamed = its & there, its & named & ~told, family & ~named
        places.append(place)
        rows.append(Rows(sure, side_open | unnamed))
        weights.append(_share(sure, told & its) * side_open + _share(sure, told & family) * unnamed)
    return _table(_labels(by, places), rows, weights, came, (run_ids(own), games_of(own)), (small_n, level))


def of_looks(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    fact: str = "shot",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what looks that nobody named leave open of the rate of each look.

    Parameters
    ----------
    tables, part, fact, small_n, level
        As in `of_sets`; only runs of sets are looked at.

    Returns
    -------
    DataFrame
        As of `of_sets`, one row per `team`, `strength`, `set` and `look` that was made out; what is open are runs of
        the same set whose look was not.
    """
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], ("set",))
    own, came = runs[kept], outcomes(tables).facts[fact][kept]
    kinds = {"team": own["team"], "strength": classes(own["strength"]), "set": own["set"]}
    ids = (run_ids(own), games_of(own))
    return _by_answer(
        group(kinds), group({**kinds, "look": own["look"]}), known(own["look"]), came, ids, (small_n, level)
    )


def of_screens(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: str = "coverage",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say what screens without an answer leave open of how often one with it freed somebody.

    Parameters
    ----------
    tables, part, small_n, level
        As in `of_sets`.
    by : str
        The question: one of `OF_SCREENS`.

    Returns
    -------
    DataFrame
        As of `of_sets`, one row per `team`, `strength` and answer (a column called as the question; ids of screens);
        who came free may be unknown too, of screens with the answer and of those without.

    Raises
    ------
    QuestionError
        No such question.
    """
    if by not in OF_SCREENS:
        raise QuestionError(f"left open: no question “{by}”; it is one of {', '.join(OF_SCREENS)}")
    own, _ = with_facts(tables, part)
    came = np.where(among(own["free"], FREED), YES, NO).astype(np.int8)
    came[~known(own["free"])] = UNKNOWN
    kinds = {"team": own["team"], "strength": own["class"]}
    ids = (words(own["id"]), games_of(own))
    return _by_answer(group(kinds), group({**kinds, by: own[by]}), known(own[by]), came, ids, (small_n, level))


def keeps_order(one: Mapping[str, float], other: Mapping[str, float]) -> bool:
    """Say whether one of two rates stays the higher whichever way the open rows belonged.

    Parameters
    ----------
    one, other : mapping
        Rows of one of these tables, of the same team and strength.

    Returns
    -------
    bool
        False where some way of sharing the open rows out turns them round, or makes them equal.

    Notes
    -----
    Both ends can come together: of the open rows those with the outcome are then one's, those without the other's.
    """
    return bool(one["lowest"] > other["highest"] or other["lowest"] > one["highest"])


def told(own: pd.DataFrame, name: str) -> NDArray[np.bool_]:
    """Say which runs, or screens, are known in a column.

    Parameters
    ----------
    own : DataFrame
        Rows with `phase`, of their run.
    name : str
        The column. A run without a set is known to have none, unless nobody said what it was.

    Returns
    -------
    bool array
        One per row.
    """
    return ~among(own["phase"], (_NOBODY_SAID,)) if name in {"set", "phase"} else known(own[name])


def of_two(
    own: pd.DataFrame,
    came: NDArray[np.int8],
    sides: tuple[NDArray[np.bool_], NDArray[np.bool_]],
    wanted: tuple[Mapping[str, str], Mapping[str, str] | None],
) -> tuple[NDArray[np.bool_], tuple[float, float]]:
    """Say what unanswered rows leave open of the difference of two rates.

    Parameters
    ----------
    own : DataFrame
        Rows of either side and of none, with `phase`.
    came : int8 array
        1 yes, 0 no, −1 not known, one per row.
    sides : tuple of bool array
        Which rows are of the first, and of the second.
    wanted : tuple of (mapping of str to str, mapping of str to str or None)
        The answers, column → code, that make a row the first's, and the second's; None for all the others.

    Returns
    -------
    tuple of (bool array, tuple of float)
        Which rows are open: they may be of a side, or nobody knows whether it came; and between which the difference
        lies, whichever way they belong, NaN where a side has no rows at all.
    """
    sure = sides[0] | sides[1]
    maybe = [~sure & (_may_be(own, part) if part is not None else True) for part in wanted]
    first, second = (Rows(side, open_) for side, open_ in zip(sides, maybe, strict=True))
    ends = (
        _rate(*first.lowest(came)) - _rate(*second.highest(came)),
        _rate(*first.highest(came)) - _rate(*second.lowest(came)),
    )
    return maybe[0] | maybe[1] | (sure & (came == UNKNOWN)), ends


def _may_be(own: pd.DataFrame, wanted: Mapping[str, str]) -> NDArray[np.bool_]:
    """Say which rows have the wanted answers as far as they have been given."""
    made = np.ones(len(own), dtype=bool)
    for name, code in wanted.items():
        made &= among(own[name], (code,)) | ~told(own, name)
    return made


def _rate(rows: NDArray[np.bool_], of: NDArray[np.bool_]) -> float:
    return float(rows.sum()) / float(of.sum()) if of.any() else float("nan")


def _by_answer(
    families: Groups,
    by: Groups,
    told: NDArray[np.bool_],
    came: NDArray[np.int8],
    ids: tuple[NDArray[np.object_], Games],
    how: tuple[int, float],
) -> pd.DataFrame:
    """The table of a question that rows of a family answer or not."""
    places, rows, weights = [], [], []
    for place in _places(by, told):
        its = by.codes == place
        family = families.codes == families.codes[its][0]
        places.append(place)
        rows.append(Rows(its & told, family & ~told))
        weights.append(_share(its & told, family & told) * (family & ~told))
    return _table(_labels(by, places), rows, weights, came, ids, how)


def _places(by: Groups, which: NDArray[np.bool_]) -> list[int]:
    return np.unique(by.codes[which]).tolist()


def _labels(by: Groups, places: Sequence[int]) -> dict[str, list[str | None]]:
    return {name: [values[place] for place in places] for name, values in by.labels.items()}


def _share(sure: NDArray[np.bool_], of: NDArray[np.bool_]) -> float:
    return float(sure.sum()) / max(int(of.sum()), 1)


def _table(
    labels: Mapping[str, list[str | None]],
    rows: Sequence[Rows],
    weights: Sequence[NDArray[np.float64]],
    came: NDArray[np.int8],
    ids: tuple[NDArray[np.object_], Games],
    how: tuple[int, float],
) -> pd.DataFrame:
    counted = [
        (
            (each.sure & (came == YES), each.sure & (came != UNKNOWN)),
            each.lowest(came),
            each.highest(came),
            (each.maybe & (came == YES), each.maybe & (came != UNKNOWN)),
        )
        for each in rows
    ]
    columns: list[dict[str, object]] = []
    row_ids, game = ids
    for place, name in enumerate(("counted", "lowest", "highest", "open")):
        k, n = (
            np.array([np.bincount(game.codes[each[place][side]], minlength=game.size) for each in counted]).reshape(
                len(rows), game.size
            )
            for side in (0, 1)
        )
        yes, all_ids = (rate.tuples(row_ids[each[place][side]] for each in counted) for side in (0, 1))
        columns.append(rate.share(name, k, n, yes, small_n=how[0], level=how[1], n_ids=all_ids))
    shared = np.full(len(rows), np.nan)
    for at, (each, weight) in enumerate(zip(rows, weights, strict=True)):
        worth = np.where(each.sure, 1.0, np.where(each.maybe, weight, 0.0)) * (came != UNKNOWN)
        shared[at] = worth[came == YES].sum() / worth.sum() if worth.sum() > 0 else np.nan
    return rate.table(labels, *columns, {"shared": rate.number(shared)}, level=how[1])
