"""What may be said to stand out: one family of comparisons for a part of the season, decided once for all pages.

Whoever looks around finds something. So everything that any page may single out is compared here, all of it together:
sets with the others, with freelance play and side with side; checkpoints; coverage; the safety; and, from twelve games
on, whether a set or a habit moves (`analysis.compared`, `analysis.trend`). Rates are compared within games, so that
neither an opponent nor a day is a difference, and allow for what swings from game to game
(`analysis.stats.told_apart`). What clears Holm's bar for the whole family at one in twenty may be said, on any page;
nothing else on none. Where a question was stated beforehand, it has half of that one in twenty to itself, and the
family the other half: a page with both is wrong no more often.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.compared import SET, Kind, Pair, kinds
from analysis.shots import UNKNOWN, YES
from analysis.slice import Slice
from analysis.stats.cluster import WIDENED
from analysis.stats.multiplicity import family_wise
from analysis.stats.proportion import Interval
from analysis.stats.together import FULL, of_games
from analysis.stats.told_apart import WITHIN_GAMES, ToldApart, told_apart
from analysis.trend import DONE, slopes

if TYPE_CHECKING:
    from numpy.typing import NDArray

ALLOWED = 0.05
SHOT = "shot"
NOTICED = "noticed, not proven"
EVEN_OURS = Slice(strengths=("even",), team="ours")


@dataclass(frozen=True)
class Findings:
    """One family of comparisons.

    Attributes
    ----------
    compared : DataFrame
        As `findings` says.
    slopes : dict of str to DataFrame
        What is followed (a fact, or "done") → `analysis.trend.slopes` with `moves`: whether it may be said.
    looked_at : int
        How many comparisons were looked at, slopes among them.
    """

    compared: pd.DataFrame
    slopes: dict[str, pd.DataFrame]
    looked_at: int


def findings(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVEN_OURS,
    *,
    fact: str = SHOT,
    games: Sequence[str] = (),
    asked: bool = False,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> Findings:
    """Look around in a part of the season, and decide what may be said of it.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        One team's; phases and sets are not narrowed, so that every page that shows a piece of this part of the season
        has the same family.
    fact : str
        What runs are counted by beside shots; sets are compared with the other sets by lost balls too.
    games : sequence of str
        Ids of games in order of playing; without them nothing is followed from game to game.
    asked : bool
        Whether a question was stated beforehand, which takes half.
    small_n : int
        A side with fewer rows is not compared.
    level : float
        Coverage of the intervals.

    Returns
    -------
    Findings
        `compared` has one row per comparison, most surprising first: `label` string ("noticed, not proven"); `kind`
        ("set": with the other sets, "freelance": a set with freelance play, "side": its left with its right,
        "checkpoint": missed with met, "coverage": with the others, "safety": not back with back); `fact`, `set`,
        `subject` (side, checkpoint, coverage), `of` (event table of the ids), `within` (what they are compared
        within): string; rates `one` and `other`; measure `drawn`: a set's rate drawn towards the other sets', missing
        for other kinds; measure `difference`: one − other within games; `p` Float64; `more` boolean: the one came
        more often; `speaks` boolean: may be said; `comparisons` Int64; `method`, `level`, `width`.

    Notes
    -----
    `analysis.stats.told_apart` for p, kind by kind; Holm's bar over all of them and all slopes. A difference that goes
    one way in all rows and the other way within games may not be said.
    """
    part = Slice(part.games, part.periods, part.strengths, part.team, part.sides)
    facts = tuple(dict.fromkeys((SHOT, fact)))
    parts = [_of_kind(kind, small_n, level) for kind in kinds(tables, part, facts)]
    made = pd.concat(parts, ignore_index=True)
    followed = {what: slopes(tables, games, part, what=what, small_n=small_n, level=level) for what in (*facts, DONE)}
    p = [made["p"].to_numpy(dtype=np.float64)]
    p += [each["p"].to_numpy(dtype=np.float64, na_value=np.nan) for each in followed.values()]
    every = np.concatenate(p)
    known = ~np.isnan(every)
    out = np.zeros(len(every), dtype=bool)
    out[known] = family_wise(every[known], ALLOWED / 2 if asked else ALLOWED)
    looked_at = int(known.sum())
    said = np.split(out, np.cumsum([len(each) for each in p])[:-1])
    one_way = (made["difference"] > 0) == (made["one"] > made["other"])
    made["speaks"] = pd.array(said[0] & one_way.fillna(False).to_numpy(dtype=bool), dtype="boolean")
    made["comparisons"] = pd.array([looked_at] * len(made), dtype="Int64")
    order = np.argsort(p[0], kind="stable")
    last = ["method", "level", "width"]
    made = made[[name for name in made.columns if name not in last] + last].iloc[order].reset_index(drop=True)
    for (what, frame), moves in zip(followed.items(), said[1:], strict=True):
        followed[what] = frame.assign(moves=pd.array(moves, dtype="boolean"))
    return Findings(made, followed, looked_at)


def _of_kind(kind: Kind, small_n: int, level: float) -> pd.DataFrame:
    pairs = kind.enough(small_n)
    yes, sure = kind.came == YES, kind.came != UNKNOWN
    made: dict[str, Any] = {}
    cells: dict[str, tuple[NDArray[np.int64], NDArray[np.int64]]] = {}
    for side in ("one", "other"):
        which = [getattr(pair, side) for pair in pairs]
        cells[side] = (_cells(kind, [each & yes for each in which]), _cells(kind, [each & sure for each in which]))
        made |= rate.share(
            side,
            *cells[side],
            rate.tuples(kind.ids[each & yes] for each in which),
            small_n=small_n,
            level=level,
            n_ids=rate.tuples(kind.ids[each & sure] for each in which),
        )
    found = _within(kind, pairs, yes, sure, level)
    n = [cells[side][1].sum(axis=1) for side in ("one", "other")]
    both = rate.tuples(kind.ids[(pair.one | pair.other) & sure] for pair in pairs)
    return rate.table(
        {
            "label": [NOTICED] * len(pairs),
            "kind": [kind.kind] * len(pairs),
            "fact": [kind.fact] * len(pairs),
            "set": [pair.set for pair in pairs],
            "subject": [pair.subject for pair in pairs],
            "of": [kind.of] * len(pairs),
            "within": [kind.within] * len(pairs),
        },
        made,
        rate.measure("drawn", n[0], _drawn(kind, *cells["one"], level), made["one_n_ids"], small_n=small_n),
        rate.measure("difference", np.minimum(*n), found.difference, both, small_n=small_n),
        {"p": rate.number(found.p), "more": (made["one"] > made["other"])},
        method=f"{WIDENED}; drawn: {FULL}; p and difference: {WITHIN_GAMES}",
        level=level,
    )


def _cells(kind: Kind, rows: list[NDArray[np.bool_]]) -> NDArray[np.int64]:
    """Count marked rows per comparison and game."""
    made = [np.bincount(kind.game.codes[each], minlength=kind.game.size) for each in rows]
    return np.array(made, dtype=np.int64).reshape(len(rows), kind.game.size)


def _within(
    kind: Kind, pairs: Sequence[Pair], yes: NDArray[np.bool_], sure: NDArray[np.bool_], level: float
) -> ToldApart:
    """Compare within games, and within sides and strengths where these are told apart."""
    codes, size = kind.strata.codes, kind.strata.size
    game_of = np.zeros(size, dtype=np.intp)
    game_of[codes] = kind.game.codes
    cells = [
        np.array([np.bincount(codes[getattr(pair, side) & which], minlength=size) for pair in pairs])
        for side in ("one", "other")
        for which in (yes, sure)
    ]
    return told_apart(*(each.reshape(len(pairs), size) for each in cells), games=game_of, level=level)


def _drawn(kind: Kind, k: NDArray[np.int64], n: NDArray[np.int64], level: float) -> Interval:
    if kind.kind == SET and len(k):
        return of_games(k, n).interval(level)
    return Interval(*(np.full(len(k), np.nan) for _ in range(3)))
