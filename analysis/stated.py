"""The question: one comparison that the coach fixed before tagging, answered first, and what the program noticed by
itself.

A comparison stated beforehand is tested once. What is found by looking around has been picked from many; it is
labelled "noticed, not proven", with how many comparisons were looked at, and only what clears the bar for that many
is shown as standing out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import RUN_QUESTIONS, SCREEN_QUESTIONS, uneven
from analysis.codes import among, codes_of, known, words
from analysis.errors import QuestionError
from analysis.groups import Games, Groups, games_of, group
from analysis.outcome import FACTS, outcomes, run_ids
from analysis.saying import chance, said
from analysis.screens import with_facts
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, keep
from analysis.stats.cluster import DIFFERENCE, WIDENED, difference, effects, widened
from analysis.stats.multiplicity import discoveries, fisher
from analysis.stats.proportion import Interval
from analysis.stats.ranking import beats
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

STATED = "stated before tagging"
NOTICED = "noticed, not proven"
RUN_COLUMNS = ("set", "side", "look", "phase")
SCREEN_COLUMNS = ("kind", "side", "coverage", "setter", "user", "setter_next", "set", "set_side")
SCREEN_FACTS = ("freed", "user_free", "setter_free", "third_man_free", "shot_after", "goal_after", "credited")
NOTICE_FACTS = ("shot", "goal", "turnover")
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
    leans: str | None = None  # a column answered at another rate where the outcome came


def answer(
    tables: Mapping[str, pd.DataFrame],
    question: Comparison,
    *,
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
    small_n : int
        Under this n on either side it is too few to say.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row: `label` string ("stated before tagging"), `text` string; rates `one` and `other` (ids of runs or
        screens); measure `difference` (one − other, Newcombe); `p_better` Float64: probability that the first true
        rate is the higher (uniform priors); `comparisons` Int64: 1; `said` string: the answer as a sentence or two;
        rates, difference and `p_better` are withheld where what the sides are told apart by (side, look, setter, …)
        was answered at another rate when the outcome came;
        `method`, `level`, `width`.
    """
    found = _compare(tables, question)
    enough = min(found.n) >= small_n
    sayable = min(found.n) > 0 and found.leans is None
    worth = 1 / np.fmax(effects(found.cells[:2], found.cells[2:]), 1)  # of a run, where games differ
    p = float("nan")
    if sayable:
        p = beats(
            *(float(number) for side in (1, 0) for number in (found.k[side] * worth[side], found.n[side] * worth[side]))
        )
    made = _row([STATED], [question.text], [found], small_n, level)
    made["p_better"] = rate.number(np.array([p]))
    made["comparisons"] = pd.array([1], dtype="Int64")
    made["said"] = rate.label([_sentence(found, p, enough, level, small_n)])
    return _finished(made, level)


def noticed(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    false_share: float = 0.05,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Look around among our sets for what differs, and say how much looking that was.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at; comparisons are made within each team and class of strength.
    false_share : float
        Expected share of false ones allowed among those that stand out.
    small_n : int
        A side with fewer runs is not compared.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per comparison, most surprising first: `label` string ("noticed, not proven"), `text` string (plain,
        with codes), `team`, `strength`, `measure`, `set`, `side` string (side missing where a set is compared with
        the other sets; else left of it with right, which is left out where sides are named at another rate when one
        of these came); rates `one`, `other`; measure `difference`; `p` Float64 (Fisher's
        exact); `comparisons` Int64; `stands_out` boolean (Benjamini–Hochberg); `method`, `level`, `width`.
    """
    rows = list(_candidates(tables, part, small_n))
    p = np.array([fisher(one.k[0], one.n[0], one.k[1], one.n[1]) for _, one in rows])
    out = discoveries(p, false_share)
    order = np.argsort(p, kind="stable")
    keys = [rows[at][0] for at in order]
    made = _row([NOTICED] * len(rows), [_told(key) for key in keys], [rows[at][1] for at in order], small_n, level)
    for name in ("team", "strength", "measure", "set", "side"):
        made[name] = pd.array([key[name] for key in keys], dtype="string")
    made["p"] = rate.number(p[order])
    made["comparisons"] = pd.array([len(rows)] * len(rows), dtype="Int64")
    made["stands_out"] = pd.array(out[order], dtype="boolean")
    return _finished(made, level)


def _candidates(
    tables: Mapping[str, pd.DataFrame], part: Slice, small_n: int
) -> Iterator[tuple[dict[str, str | None], _Compared]]:
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], ("set", "family"))
    own, ids, game = runs[kept], run_ids(runs)[kept], games_of(runs[kept])
    facts = {name: fact[kept] for name, fact in outcomes(tables).facts.items() if name in NOTICE_FACTS}
    families = group({"team": own["team"], "strength": classes(own["strength"])})
    codes, names = codes_of(own["set"])
    left, right = (among(own["side"], (side,)) for side in ("left", "right"))
    lean = np.zeros(families.size, dtype=bool)
    for fact in facts.values():
        lean |= uneven(tables, own, RUN_QUESTIONS["side"], known(own["side"]), fact == YES, families)
    for family in range(families.size):
        here = families.codes == family
        head = {name: values[family] for name, values in families.labels.items()}
        for code in np.unique(codes[here & (codes >= 0)]).tolist():
            its = here & (codes == code)
            for measure, fact in facts.items():
                for label, one, other in ((None, its, here & ~its), ("left", its & left, its & right)):
                    if min(int(one.sum()), int(other.sum())) < small_n or (label and lean[family]):
                        continue
                    found = _sides(fact, ids, one, other, game)
                    if min(found.n) >= small_n:
                        yield {**head, "measure": measure, "set": names[code], "side": label}, found


def _told(key: Mapping[str, str | None]) -> str:
    against = "the other sets" if key["side"] is None else "the same set to the right"
    where = "" if key["side"] is None else " to the left"
    return f"{key['measure']}: {key['set']}{where} against {against}"


def _compare(tables: Mapping[str, pd.DataFrame], question: Comparison) -> _Compared:
    if question.of_screens:
        own, followed = with_facts(tables, question.part)
        fact = _of_screens(own, followed, question.measure)
        ids = words(own["id"])
    else:
        runs = tables["runs"]
        kept = keep(runs, question.part)
        own, ids = runs[kept], run_ids(runs)[kept]
        fact = outcomes(tables).facts[question.measure][kept]
    one = _where(own, question.one)
    other = ~one & _told_apart(own, question.one) if question.other is None else _where(own, question.other) & ~one
    leans = _leaning_column(tables, own, fact, {*question.one, *(question.other or {})}, question)
    return replace(_sides(fact, ids, one, other, games_of(own)), leans=leans)


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
        if name == "set":  # a run without a set is known not to be of this one
            continue
        made &= own[name].notna().to_numpy(dtype=bool) & ~among(own[name], ("unseen",))
    return made


def _sides(
    fact: NDArray[np.int8],
    ids: NDArray[np.object_],
    one: NDArray[np.bool_],
    other: NDArray[np.bool_],
    game: Games,
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
    )


def _row(labels: list[str], texts: list[str], found: list[_Compared], small_n: int, level: float) -> dict[str, Any]:
    n, asked = (
        np.array([getattr(one, name) for one in found], dtype=np.int64).reshape(len(found), 2)
        for name in ("n", "asked")
    )
    cells = np.array([one.cells for one in found], dtype=np.int64) if found else np.empty((0, 4, 1), dtype=np.int64)
    hidden = np.array([one.leans is not None for one in found], dtype=bool)
    made: dict[str, Any] = {"label": rate.label(labels), "text": rate.label(texts)}
    for side, name in enumerate(("one", "other")):
        made |= rate.share(
            name,
            cells[:, side],
            cells[:, 2 + side],
            rate.tuples([one.yes_ids[side] for one in found]),
            small_n=small_n,
            level=level,
            asked=asked[:, side],
            withheld=hidden,
            n_ids=rate.tuples([one.ids[side] for one in found]),
        )
    gap = difference(*(cells[:, at] for at in (0, 2, 1, 3)), level=level)
    gap = Interval(*(np.where(hidden, np.nan, bound) for bound in gap))
    both = rate.tuples([one.ids[0] + one.ids[1] for one in found])
    return made | rate.measure("difference", n.min(axis=1, initial=2**31), gap, both, small_n=small_n)


def _finished(made: dict[str, Any], level: float) -> pd.DataFrame:
    return rate.table({}, made, method=f"{WIDENED}; difference: {DIFFERENCE}", level=level)


def _sentence(found: _Compared, p: float, enough: bool, level: float, small_n: int) -> str:
    both = widened(found.cells[:2], found.cells[2:], level=level).interval
    gap = difference(*(found.cells[at : at + 1] for at in (0, 2, 1, 3)), level=level)
    lo, hi = float(gap.lo[0]), float(gap.hi[0])
    counts = ", against ".join(
        said(found.k[side], found.n[side], float(both.lo[side]), float(both.hi[side]), small_n=small_n)
        for side in (0, 1)
    )
    if not enough:
        return f"Too few to answer: {counts}."
    if found.leans is not None:
        return (
            f"It cannot be told fairly: “{found.leans}” was answered at another rate where it came than where it did "
            f"not, so that {found.k[0]} of {found.n[0]} against {found.k[1]} of {found.n[1]} would mislead."
        )
    if lo > 0:
        return f"Yes, more often: {counts}. The chances that this is real are {chance(p)}."
    if hi < 0:
        return f"No, less often: {counts}. The chances that this is real are {chance(1 - p)}."
    return f"It cannot be told yet: {counts}. The chances that the first is the better are {chance(p)}."
