"""The question: one comparison that the coach fixed before tagging, answered first.

A comparison stated beforehand is tested once, within games. It has half of the one in twenty that a page may be wrong
about to itself, however much else is looked at (`analysis.findings` has the other half).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import RUN_QUESTIONS, SCREEN_QUESTIONS, uneven
from analysis.codes import among, known, words
from analysis.compared import FREES_ANYWAY
from analysis.errors import QuestionError
from analysis.findings import ALLOWED
from analysis.groups import Games, Groups, games_of, group
from analysis.left_open import of_two, told
from analysis.outcome import FACTS, outcomes, run_ids
from analysis.saying import said
from analysis.screens import with_facts
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, keep
from analysis.stats.cluster import WIDENED, widened
from analysis.stats.proportion import Interval
from analysis.stats.told_apart import WITHIN_GAMES, ToldApart, told_apart
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

STATED = "stated before tagging"
RUN_COLUMNS = ("set", "side", "look", "phase")
SCREEN_COLUMNS = ("kind", "side", "coverage", "setter", "user", "setter_next", "set", "set_side")
SCREEN_FACTS = ("freed", "user_free", "setter_free", "third_man_free", "shot_after", "goal_after", "credited")
_FREE = {
    "freed": ("user", "setter", "third_man"),
    "user_free": ("user",),
    "setter_free": ("setter",),
    "third_man_free": ("third_man",),
}


@dataclass(frozen=True)
class Comparison:
    """One comparison, fixed beforehand.

    Attributes
    ----------
    text : str
        In the coach's words.
    measure : str
        What should happen: a fact of runs (`analysis.outcome.FACTS`) or of screens (`SCREEN_FACTS`).
    one : mapping of str to str
        Which runs (`RUN_COLUMNS`) or screens (`SCREEN_COLUMNS`) are meant, column → code.
    other : mapping of str to str or None
        Which they are compared with; None: all the others of the slice.
    part : Slice
        Within what.

    Raises
    ------
    QuestionError
        A measure or a column that does not exist.
    """

    text: str
    measure: str
    one: Mapping[str, str]
    other: Mapping[str, str] | None = None
    part: Slice = field(default=EVERYTHING)

    def __post_init__(self) -> None:
        """Refuse what does not exist, by name."""
        if self.measure not in (*FACTS, *SCREEN_FACTS):
            raise QuestionError(
                f"question: no measure “{self.measure}”; it is one of {', '.join((*FACTS, *SCREEN_FACTS))}"
            )
        columns = SCREEN_COLUMNS if self.of_screens else RUN_COLUMNS
        for name in {*self.one, *(self.other or {})} - set(columns):
            raise QuestionError(f"question: “{name}” is not asked there; it is any of {', '.join(columns)}")
        if not self.one:
            raise QuestionError("question: it must say which runs or screens are meant, as set = keel")

    @property
    def of_screens(self) -> bool:
        """Whether it is about screens; else it is about runs."""
        return self.measure in SCREEN_FACTS


@dataclass(frozen=True)
class _Compared:
    k: tuple[int, int]
    n: tuple[int, int]
    asked: tuple[int, int]
    yes_ids: tuple[tuple[str, ...], tuple[str, ...]]
    ids: tuple[tuple[str, ...], tuple[str, ...]]
    cells: NDArray[np.int64]  # k, k, n, n in each game
    within: ToldApart  # one and the other within games and strengths
    open_ids: tuple[str, ...]
    ends: tuple[float, float]  # of the difference counted, whichever way open rows belong
    leans: str | None = None  # a column answered at another rate where the outcome came
    glance: bool = False  # told apart by what is seen at the same glance as the outcome
    given: bool = False  # the outcome is in the very answer that the sides are told apart by

    @property
    def hidden(self) -> bool:
        return self.leans is not None or self.given


def answer(
    tables: Mapping[str, pd.DataFrame],
    question: Comparison,
    *,
    without: Collection[str] = (),
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Answer the stated question.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    question : Comparison
        Fixed before tagging.
    without : collection of str
        Ids of rows that are left out, as what was tagged before it was stated.
    small_n : int
        Under this n on either side it is too few to say.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row: `label` string ("stated before tagging"), `text` string; rates `one` and `other` (ids of runs or
        screens); measure `difference` (one − other, within games); `p` Float64: of as much by chance and by games that
        differ; `comparisons` Int64: 1; `said` string: the answer as a sentence or two; rates, difference and `p` are
        withheld where what the sides are told apart by (side, look, setter, …) was answered at another rate when the
        outcome came, or is the outcome in another word (a man left alone is free); count `open` (ids of
        runs or screens): rows that may be of either side, or of which nobody knows whether it happened; `open_lo`,
        `open_hi` Float64: between which the difference counted lies, whichever way they belong
        (`analysis.left_open`); `method`, `level`, `width`.

    Notes
    -----
    `analysis.stats.told_apart`, within games and strengths; sides are told apart only where the question does.
    """
    found = _compare(tables, question, frozenset(without), level)
    enough = min(found.n) >= small_n
    p = float("nan") if found.hidden or min(found.n) == 0 else float(found.within.p[0])
    made = _row(question.text, found, small_n, level)
    made["p"] = rate.number(np.array([p]))
    made["comparisons"] = pd.array([1], dtype="Int64")
    made["said"] = rate.label([_sentence(found, enough, level, small_n)])
    made |= rate.count("open", np.array([len(found.open_ids)]), rate.tuples([found.open_ids]))
    made |= {name: rate.number(np.array([end])) for name, end in zip(("open_lo", "open_hi"), found.ends, strict=True)}
    return rate.table({}, made, method=f"{WIDENED}; p and difference: {WITHIN_GAMES}", level=level)


def _compare(
    tables: Mapping[str, pd.DataFrame], question: Comparison, without: Collection[str], level: float
) -> _Compared:
    if question.of_screens:
        own, followed = with_facts(tables, question.part)
        fact = _of_screens(own, followed, question.measure)
        ids, strength = words(own["id"]), own["class"]
    else:
        runs = tables["runs"]
        kept = keep(runs, question.part)
        own, ids, strength = runs[kept], run_ids(runs)[kept], classes(runs["strength"][kept])
        fact = outcomes(tables).facts[question.measure][kept]
    if without:
        stays = np.array([id_ not in without for id_ in ids.tolist()], dtype=bool)
        own, fact, ids, strength = own[stays], fact[stays], ids[stays], strength[stays]
    one = _where(own, question.one)
    other = ~one & _told_apart(own, question.one) if question.other is None else _where(own, question.other) & ~one
    names = {*question.one, *(question.other or {})}
    glance = question.measure in _FREE and "coverage" in names
    meant = np.ones(len(own), dtype=bool)
    if glance and question.other is None:
        meant = one | ~among(own["coverage"], FREES_ANYWAY)
        other &= meant
    left, ends = of_two(own[meant], fact[meant], (one[meant], other[meant]), (question.one, question.other))
    leans = _leaning_column(tables, own, fact, names, question)
    given = glance and any((side or {}).get("coverage") in FREES_ANYWAY for side in (question.one, question.other))
    game = games_of(own)
    strata = group({"game": own["game"], "strength": strength})
    game_of = np.zeros(strata.size, dtype=np.intp)
    game_of[strata.codes] = game.codes
    cells = [
        np.bincount(strata.codes[side & which], minlength=strata.size)[np.newaxis]
        for side in (one, other)
        for which in (fact == YES, fact != UNKNOWN)
    ]
    within = told_apart(*cells, games=game_of, level=level)
    more = {"open_ids": tuple(ids[meant][left]), "ends": (float("nan"),) * 2 if given else ends}
    return _sides(fact, ids, one, other, game, within=within, leans=leans, glance=glance, given=given, **more)


def _leaning_column(
    tables: Mapping[str, pd.DataFrame],
    own: pd.DataFrame,
    fact: NDArray[np.int8],
    names: set[str],
    question: Comparison,
) -> str | None:
    """Name a column that tells the sides apart and was answered at another rate where the outcome came."""
    asked = SCREEN_QUESTIONS if question.of_screens else RUN_QUESTIONS
    for name in sorted(names & set(asked)):
        rows = fact != UNKNOWN
        if not question.of_screens:  # only runs of sets are asked for side and look
            rows &= _named(own)
        part, told = own[rows], known(own[name])[rows]
        every = Groups(np.zeros(len(part), dtype=np.intp), {}, 1)
        if uneven(tables, part, asked[name], told, fact[rows] == YES, every)[0]:
            return name
    return None


def _named(own: pd.DataFrame) -> NDArray[np.bool_]:
    return among(own["phase"], ("set", "family"))


def _of_screens(own: pd.DataFrame, followed: Mapping[str, NDArray[np.int8]], measure: str) -> NDArray[np.int8]:
    if measure in _FREE:
        fact = np.where(among(own["free"], _FREE[measure]), YES, NO).astype(np.int8)
        fact[own["free"].isna().to_numpy(dtype=bool) | among(own["free"], ("unseen",))] = UNKNOWN
        return fact
    return followed[{"shot_after": "shot", "goal_after": "goal", "credited": "credited"}[measure]]


def _where(own: pd.DataFrame, wanted: Mapping[str, str]) -> NDArray[np.bool_]:
    made = np.ones(len(own), dtype=bool)
    for name, code in wanted.items():
        made &= among(own[name], (code,))
    return made


def _told_apart(own: pd.DataFrame, wanted: Mapping[str, str]) -> NDArray[np.bool_]:
    """Leave out of "all the others" what was not answered: it may belong to either side."""
    made = np.ones(len(own), dtype=bool)
    for name in wanted:
        made &= told(own, name)
    return made


def _sides(
    fact: NDArray[np.int8],
    ids: NDArray[np.object_],
    one: NDArray[np.bool_],
    other: NDArray[np.bool_],
    game: Games,
    **more: Any,
) -> _Compared:
    yes, sure = fact == YES, fact != UNKNOWN
    both = (one, other)
    return _Compared(
        (int((one & yes).sum()), int((other & yes).sum())),
        (int((one & sure).sum()), int((other & sure).sum())),
        (int(one.sum()), int(other.sum())),
        (tuple(ids[one & yes]), tuple(ids[other & yes])),
        (tuple(ids[both[0] & sure]), tuple(ids[both[1] & sure])),
        np.array(
            [np.bincount(game.codes[side & which], minlength=game.size) for which in (yes, sure) for side in both],
            dtype=np.int64,
        ),
        **more,
    )


def _row(text: str, found: _Compared, small_n: int, level: float) -> dict[str, Any]:
    made: dict[str, Any] = {"label": rate.label([STATED]), "text": rate.label([text])}
    hidden = np.array([found.hidden])
    for side, name in enumerate(("one", "other")):
        made |= rate.share(
            name,
            found.cells[side : side + 1],
            found.cells[2 + side : 3 + side],
            rate.tuples([found.yes_ids[side]]),
            small_n=small_n,
            level=level,
            asked=np.array(found.asked[side : side + 1]),
            withheld=hidden,
            n_ids=rate.tuples([found.ids[side]]),
        )
    gap = Interval(*(np.where(hidden, np.nan, bound) for bound in found.within.difference))
    both = rate.tuples([found.ids[0] + found.ids[1]])
    return made | rate.measure("difference", np.array([min(found.n)]), gap, both, small_n=small_n)


def _sentence(found: _Compared, enough: bool, level: float, small_n: int) -> str:
    bounds = [widened(*found.cells[side::2, np.newaxis], level=level).interval for side in (0, 1)]  # as in its rate
    counts = ", against ".join(
        said(k, n, float(each.lo[0]), float(each.hi[0]), small_n=small_n)
        for k, n, each in zip(found.k, found.n, bounds, strict=True)
    )
    if found.given:
        return "It cannot be told: a man left alone, or two men on one, frees somebody by that alone."
    if not enough:
        return f"Too few to answer: {counts}."
    if found.leans is not None:
        return (
            f"It cannot be told fairly: “{found.leans}” was answered at another rate where it came than where it did "
            f"not, so that {found.k[0]} of {found.n[0]} against {found.k[1]} of {found.n[1]} would mislead."
        )
    glance = " Coverage and who came free are told at one glance: it is partly one judgement." if found.glance else ""
    more = found.k[0] / found.n[0] > found.k[1] / found.n[1]
    if float(found.within.p[0]) <= ALLOWED / 2 and more == (float(found.within.difference.estimate[0]) > 0):
        return f"{'Yes, more' if more else 'No, less'} often: {counts}.{glance}"
    return f"It cannot be told yet: {counts}.{glance}"
