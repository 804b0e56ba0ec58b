"""What is compared when a part of the season is looked around in: each set with the others, with freelance play, and to
the left with to the right; each checkpoint met with missed; each coverage with the others; the safety back or not.

How a screen was covered and who came free of it are told at one glance: a coverage that frees by definition (a man
left alone, two men on one) is left out, and where coverage is named at another rate when somebody came free, none is
compared. Whatever is left of that comparison is partly one judgement, and whoever says it says so. Looks are not
compared: a run takes one at most, so that one taken more often is only another taken less.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.answered import RUN_QUESTIONS, uneven
from analysis.codes import among, known, places, words
from analysis.execution import met, worth
from analysis.groups import Games, Groups, games_of, group
from analysis.lost_ball import with_answer
from analysis.outcome import outcomes, run_ids
from analysis.screens import FREED, with_facts
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import Slice, keep
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

SET, FREELANCE, SIDE, CHECKPOINT, COVERAGE, SAFETY = "set", "freelance", "side", "checkpoint", "coverage", "safety"
FREES_ANYWAY = ("blown", "doubled")  # left alone, or two men on one: somebody is free by that alone
GAMES, SIDES = "games", "games and sides"
TURNOVER = "turnover"
NAMED = ("set", "family")
ENOUGH_SIDES = 0.9


@dataclass(frozen=True)
class Pair:
    """Two lots of rows of one kind.

    Attributes
    ----------
    set, subject : str or None
        Whose they are: a set's code; a side, a checkpoint's or a coverage's code.
    one, other : bool array
        Which of the kind's rows.
    """

    set: str | None
    subject: str | None
    one: NDArray[np.bool_]
    other: NDArray[np.bool_]


@dataclass(frozen=True)
class Kind:
    """Comparisons of one kind, which share how much differences swing from game to game.

    Attributes
    ----------
    kind, fact : str
        What is compared, by what came.
    of : str
        The event table of the rows.
    ids : object array
        Of the rows.
    came : int8 array
        1 yes, 0 no, −1 not known, one per row.
    game : Games
        The game of each row.
    strata : Groups
        Within what they are compared: games, where sides or strengths are told apart these too.
    within : str
        The same in words.
    pairs : tuple of Pair
        The comparisons.
    """

    kind: str
    fact: str
    of: str
    ids: NDArray[np.object_]
    came: NDArray[np.int8]
    game: Games
    strata: Groups
    within: str
    pairs: tuple[Pair, ...]

    def enough(self, small_n: int) -> tuple[Pair, ...]:
        """Those of which both sides have rows enough.

        Parameters
        ----------
        small_n : int
            How many, of which it is known what came.

        Returns
        -------
        tuple of Pair
            In the same order.
        """
        sure = self.came != UNKNOWN
        return tuple(
            pair for pair in self.pairs if min(int((pair.one & sure).sum()), int((pair.other & sure).sum())) >= small_n
        )


def kinds(tables: Mapping[str, pd.DataFrame], part: Slice, facts: tuple[str, ...]) -> Iterator[Kind]:
    """Gather all comparisons of a part of the season.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        One team's; neither phases nor sets are narrowed.
    facts : tuple of str
        What sets are compared by, of `analysis.outcome.FACTS`; with the other sets by lost balls too.

    Returns
    -------
    iterator of Kind
        Kind by kind.
    """
    came = outcomes(tables).facts
    yield from _of_sets(tables, part, {name: came[name] for name in dict.fromkeys((*facts, TURNOVER))}, facts)
    yield from _of_checkpoints(tables, part, came["shot"])
    yield from _of_coverage(tables, part)
    yield from _of_safety(tables, part)


def _of_sets(
    tables: Mapping[str, pd.DataFrame], part: Slice, every: Mapping[str, NDArray[np.int8]], facts: tuple[str, ...]
) -> Iterator[Kind]:
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], (*NAMED, FREELANCE))
    own, ids, game = runs[kept], run_ids(runs)[kept], games_of(runs[kept])
    free = among(own["phase"], (FREELANCE,))
    came = {name: fact[kept] for name, fact in every.items()}
    named, told = own[~free], known(own["side"])[~free]
    leans = any(
        uneven(tables, named, RUN_QUESTIONS["side"], told, fact[~free] == YES, _one(len(named)))[0]
        for fact in came.values()
    )
    left, right = (among(own["side"], (side,)) for side in ("left", "right"))
    enough = int((left | right)[~free].sum()) >= ENOUGH_SIDES * len(named)
    sided = enough and not leans and part.sides is None
    plain = _strata(own)
    among_sets = _strata(own, side=own["side"]) if sided else plain
    groups = group({"set": own["set"]})
    of_set = {code: (groups.codes == at) & ~free for at, code in enumerate(groups.labels["set"]) if code is not None}
    for fact in came:
        others = tuple(Pair(code, None, its, ~its & ~free) for code, its in of_set.items())
        how: dict[str, Any] = {"of": "runs", "ids": ids, "came": came[fact], "game": game}
        yield Kind(SET, fact, strata=among_sets, within=SIDES if sided else GAMES, pairs=others, **how)
    for fact in facts:
        freelance = tuple(Pair(code, None, its, free) for code, its in of_set.items())
        sides = () if leans else tuple(Pair(code, "left", its & left, its & right) for code, its in of_set.items())
        for kind, pairs in ((FREELANCE, freelance), (SIDE, sides)):
            how = {"of": "runs", "ids": ids, "came": came[fact], "game": game}
            yield Kind(kind, fact, strata=plain, within=GAMES, pairs=pairs, **how)


def _of_checkpoints(tables: Mapping[str, pd.DataFrame], part: Slice, came: NDArray[np.int8]) -> Iterator[Kind]:
    runs = tables["runs"]

    def rows(ids: tuple[str, ...]) -> NDArray[np.bool_]:
        made = np.zeros(len(runs), dtype=bool)
        made[places(runs["id"], pd.Series(pd.array(list(ids), dtype="string")))] = True
        return made

    pairs = tuple(
        Pair(row["set"], row["checkpoint"], rows(row["missed_n_ids"]), rows(row["met_n_ids"]))
        for row in worth(tables, part).to_dict("records")
        if str(row["checkpoint"]).rsplit(".", 1)[-1] != SAFETY  # it is held against what they make of the ball
    )
    how: dict[str, Any] = {"of": "runs", "ids": run_ids(runs), "came": came, "game": games_of(runs)}
    yield Kind(CHECKPOINT, "shot", strata=_strata(runs), within=GAMES, pairs=pairs, **how)


def _of_coverage(tables: Mapping[str, pd.DataFrame], part: Slice) -> Iterator[Kind]:
    own, _ = with_facts(tables, part)
    freed = among(own["free"], FREED)
    if uneven(tables, own, "screen.coverage", known(own["coverage"]), freed, _one(len(own)))[0]:
        return
    came = np.where(freed, YES, NO).astype(np.int8)
    came[~known(own["free"])] = UNKNOWN
    groups = group({"coverage": own["coverage"]})
    answered = known(own["coverage"]) & ~among(own["coverage"], FREES_ANYWAY)
    pairs = tuple(
        Pair(None, code, groups.codes == at, answered & (groups.codes != at))
        for at, code in enumerate(groups.labels["coverage"])
        if answered[groups.codes == at].any()
    )
    how: dict[str, Any] = {"of": "screens", "ids": words(own["id"]), "came": came, "game": games_of(own)}
    yield Kind(COVERAGE, "freed", strata=_strata(own), within=GAMES, pairs=pairs, **how)


def _of_safety(tables: Mapping[str, pd.DataFrame], part: Slice) -> Iterator[Kind]:
    if not np.any(met(tables, SAFETY) >= 0):
        return
    own, graded, other_ids, came = with_answer(tables, part)
    pairs = (Pair(None, SAFETY, among(graded, ("missed",)), among(graded, ("met",))),)
    how: dict[str, Any] = {"of": "possessions", "ids": other_ids, "came": came, "game": games_of(own)}
    yield Kind(SAFETY, "shot_against", strata=_strata(own), within=GAMES, pairs=pairs, **how)


def _strata(own: pd.DataFrame, **more: pd.Series) -> Groups:
    """Games, told apart by class of strength, and by whatever else is given."""
    strength = own["class"] if "class" in own else classes(own["strength"])
    return group({"game": own["game"], "strength": strength, **more})


def _one(n: int) -> Groups:
    """So many rows in one group."""
    return Groups(np.zeros(n, dtype=np.intp), {}, 1)
