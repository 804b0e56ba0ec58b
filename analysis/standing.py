"""Which set is better: rates drawn together as far as the runs allow, and how sure any order of them is.

A set that is not told apart from others has no rank: where the data show no spread beyond chance the table gives the
common rate and no order; elsewhere a rank stands only beside where else it may be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among
from analysis.errors import QuestionError
from analysis.groups import Groups, games_of, group
from analysis.outcome import FACTS, outcomes, run_ids
from analysis.shots import YES
from analysis.slice import EVERYTHING, Slice, keep
from analysis.stats.cluster import WIDENED
from analysis.stats.proportion import Interval
from analysis.stats.ranking import Ranks
from analysis.stats.shrinkage import MOMENTS, Spread, by_likelihood, by_moments
from analysis.stats.together import FULL, Together, of_games
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

NAMED = ("set", "family")


@dataclass(frozen=True)
class _Family:
    """The sets of one team and class of strength, with what their runs brought."""

    team: str | None
    strength: str | None
    names: list[str]
    k: NDArray[np.int64]
    n: NDArray[np.int64]
    yes_ids: NDArray[np.object_]
    all_ids: NDArray[np.object_]
    k_in: NDArray[np.int64]
    n_in: NDArray[np.int64]
    spread: Spread
    together: Together

    def ranked(self, small_n: int) -> tuple[NDArray[np.intp], Ranks]:
        """Rank the sets that have enough runs."""
        enough = np.flatnonzero(self.n >= small_n)
        return enough, self.together.ranks(enough)


def standings(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    fact: str = "shot",
    fit: str = MOMENTS,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how the sets stand among each other, with how sure that is.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at.
    fact : str
        What a run should have brought; one of `analysis.outcome.FACTS`.
    fit : str
        How the spread of sets is fitted: "moments" or "likelihood".
    small_n : int
        A set with fewer runs is not ranked.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength and set, in order of code:

        * `team`, `strength`, `set`: string
        * rate `raw` (runs with the fact), and measure `shrunken` (0 to 1; rests on all runs of the set)
        * `spread` string: "moments", "likelihood", or "pooled" when sets show no more spread than chance and games that
          differ; `evidence` Float64: how many runs' worth the common rate counts for; `common` Float64: that rate
        * `p_best` Float64: probability of the highest true rate among those ranked; `rank` Float64: its mean;
          `rank_lo`, `rank_hi` Int64: between which ranks it stands with probability .9; all missing where there are
          too few runs, or fewer than two sets to rank
        * `ranked` Int64: among how many
        * `method`, `level`, `width`

    Raises
    ------
    QuestionError
        No such fact, or no such fit.

    Notes
    -----
    Beta-binomial posteriors that carry how little is known of the spread, from runs that are worth less where games
    differ: see `analysis.stats.together` and `analysis.stats.ranking`. Opponents and line-ups are taken as alike,
    so the probabilities are over-sure where a set was kept for some of them.
    """
    columns: dict[str, list[Any]] = {
        name: [] for name in ("team", "strength", "set", "spread", "evidence", "common", "p_best", "rank", "ranked")
    }
    bounds: list[tuple[int | None, int | None]] = []
    parts: list[_Family] = []
    for family in _families(tables, part, fact, fit):
        parts.append(family)
        enough, order = family.ranked(small_n)
        place = {int(at): row for row, at in enumerate(enough)}
        first, last = order.between()
        for at, name in enumerate(family.names):
            row = place.get(at) if len(enough) > 1 else None
            columns["team"].append(family.team)
            columns["strength"].append(family.strength)
            columns["set"].append(name)
            columns["spread"].append(family.spread.method)
            columns["evidence"].append(family.together.evidence)
            columns["common"].append(family.together.common)
            columns["p_best"].append(None if row is None else float(order.best[row]))
            columns["rank"].append(None if row is None else float(order.expected[row]))
            columns["ranked"].append(len(enough))
            bounds.append((None, None) if row is None else (int(first[row]), int(last[row])))
    n, yes_ids, all_ids = (_stacked(parts, name) for name in ("n", "yes_ids", "all_ids"))
    k_in, n_in = (_stacked(parts, name).reshape(len(n), -1) if parts else np.empty((0, 1)) for name in ("k_in", "n_in"))
    intervals = [family.together.interval(level) for family in parts]
    drawn = [np.concatenate([found[at] for found in intervals]) if intervals else np.empty(0) for at in range(3)]
    made = rate.table(
        {name: columns[name] for name in ("team", "strength", "set")},
        rate.share("raw", k_in, n_in, yes_ids, small_n=small_n, level=level),
        rate.measure("shrunken", n, Interval(*drawn), all_ids, small_n=small_n),
        {
            "spread": pd.array(columns["spread"], dtype="string"),
            "evidence": pd.array(columns["evidence"], dtype="Float64"),
            "common": rate.number(np.array(columns["common"], dtype=np.float64)),
            "p_best": pd.array(columns["p_best"], dtype="Float64"),
            "rank": pd.array(columns["rank"], dtype="Float64"),
            "rank_lo": pd.array([lo for lo, _ in bounds], dtype="Int64"),
            "rank_hi": pd.array([hi for _, hi in bounds], dtype="Int64"),
            "ranked": pd.array(columns["ranked"], dtype="Int64"),
        },
        method=f"{WIDENED}; shrunken: {FULL}",
        level=level,
    )
    return made


def better(tables: Mapping[str, pd.DataFrame], part: Slice, fact: str, one: str, other: str) -> float | None:
    """Say how likely one of two sets has the higher true rate.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at: one team's, of one class of strength.
    fact : str
        What a run should have brought.
    one, other : str
        The sets' codes.

    Returns
    -------
    float or None
        Probability, with all sets' rates drawn together as in `standings`; None where sets show no more spread than
        chance and games that differ, or one of the two was not run.

    Notes
    -----
    As `standings`.
    """
    for family in _families(tables, part, fact, MOMENTS):
        if one in family.names and other in family.names:
            which = np.array([family.names.index(one), family.names.index(other)], dtype=np.intp)
            return None if family.spread.method == "pooled" else float(family.together.ranks(which).best[0])
    return None


def _families(tables: Mapping[str, pd.DataFrame], part: Slice, fact: str, fit: str) -> Iterator[_Family]:
    fits = {"moments": by_moments, "likelihood": by_likelihood}
    if fact not in FACTS:
        raise QuestionError(f"standings: no fact “{fact}”; it is one of {', '.join(FACTS)}")
    if fit not in fits:
        raise QuestionError(f"standings: no fit “{fit}”; it is one of {', '.join(fits)}")
    runs = tables["runs"]
    came = outcomes(tables).facts[fact]
    kept = keep(runs, part) & (came >= 0) & among(runs["phase"], NAMED)
    came, ids = came[kept], run_ids(runs)[kept]
    groups = group(
        {
            "team": runs["team"][kept],
            "strength": classes(runs["strength"])[kept],
            "set": runs["set"][kept],
        }
    )
    yes = came == YES
    game = games_of(runs[kept])
    k_in, n_in = groups.cells(game, yes), groups.cells(game)
    k, n = k_in.sum(axis=1), n_in.sum(axis=1)
    yes_ids, all_ids = groups.ids(ids, yes), groups.ids(ids)
    for team, strength, rows in _parts(groups):
        named = [row for row in rows if groups.labels["set"][row] is not None]
        if not named:
            continue
        drawn = of_games(k_in[named], n_in[named])
        yield _Family(
            team,
            strength,
            [groups.labels["set"][row] for row in named],
            k=k[named],
            n=n[named],
            yes_ids=yes_ids[named],
            all_ids=all_ids[named],
            k_in=k_in[named],
            n_in=n_in[named],
            spread=fits[fit](drawn.k, drawn.n),
            together=drawn,
        )


def _parts(groups: Groups) -> Iterator[tuple[str | None, str | None, list[int]]]:
    rows_of: dict[tuple[str | None, str | None], list[int]] = {}
    for row, key in enumerate(zip(groups.labels["team"], groups.labels["strength"], strict=True)):
        rows_of.setdefault(key, []).append(row)
    for (team, strength), rows in rows_of.items():
        yield team, strength, rows


def _stacked(parts: list[_Family], name: str) -> NDArray[np.object_]:
    if not parts:
        return np.empty(0, dtype=object)
    return np.concatenate([getattr(family, name) for family in parts])
