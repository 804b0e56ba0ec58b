"""Looks: which option of a set was taken, which stood open and was not, and where runs go from who came free to how
they end.

Neither a first look nor a pull-out is good or bad in itself; the tables say what followed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import among, known, places, whole, words
from analysis.groups import Groups, games_of, group
from analysis.looked import looked_for
from analysis.outcome import outcomes, run_ids
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, keep
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

FACTS = ("shot", "on_goal", "goal", "turnover", "pull_out")
FREED = ("user", "setter", "third_man")
NO_SCREEN = "no_screen"
NOT_LOOKED_FOR = "not_looked_for"


def looks(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    order: Mapping[str, Sequence[str]] | None = None,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say for each set how often each look was taken, what followed, and how often it stood open and was not taken.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at; only runs of sets are.
    order : mapping of str to sequence of str, optional
        Set code → codes of its looks in the order in which they should be read: a look never taken gets a row too.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength, set and look, in the playbook's order; then "none" (none of its looks),
        "unseen", and missing (not answered):

        * `team`, `strength`, `set`, `look`: string; `place` Int64: 1 for the look to read first, missing without
          `order`
        * count `runs` that ended on this look (ids of runs)
        * rate `taken`: of the set's runs in which the look was made out; withheld where looks are named at another
          rate in runs with a shot than in others; empty in the rows "unseen" and missing
        * rate `left_open`: runs in which this look stood open and was not taken, of those where that was answered;
          withheld in the same way
        * rates `shot`, `on_goal`, `goal`, `turnover`, `pull_out` of the runs of this look; withheld with `taken`: of
          looks named for shots only all seem to bring one
        * `method`, `level`, `width`
    """
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], ("set",))
    own = runs[kept]
    ids, game = run_ids(own), games_of(own)
    facts = {name: fact[kept] for name, fact in outcomes(tables).facts.items()}
    by = {"team": own["team"], "strength": classes(own["strength"]), "set": own["set"]}
    families = group(by)
    groups = _in_order(group({**by, "look": own["look"]}, also=_also(families, own, order)), order)
    family_of = _families_of(groups, families)
    told = known(own["look"])
    open_told = known(own["look_open"])
    shot = facts["shot"] == YES
    leans = uneven(tables, own, "look.look", told, shot, families)[family_of]
    open_leans = uneven(tables, own, "look.open", open_told, shot, families)[family_of]
    answerable = np.array([look not in {None, "unseen"} for look in groups.labels["look"]], dtype=bool)
    open_groups = groups.only(_rows_of(groups, families, own["look_open"]))
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    return rate.table(
        groups.labels,
        {"place": pd.array(_places(groups, order), dtype="Int64")},
        rate.count("runs", groups.count(), groups.ids(ids)),
        rate.share(
            "taken",
            np.where(answerable[:, None], groups.cells(game, told), 0),
            np.where(answerable[:, None], families.cells(game, told)[family_of], 0),
            groups.ids(ids, told),
            asked=families.count(told | looked_for(tables, own, "look.look"))[family_of],
            withheld=leans,
            **how,
        ),
        rate.share(
            "left_open",
            np.where(answerable[:, None], open_groups.cells(game, open_told), 0),
            np.where(answerable[:, None], families.cells(game, open_told)[family_of], 0),
            open_groups.ids(ids, open_told),
            asked=families.count(open_told | looked_for(tables, own, "look.open"))[family_of],
            withheld=open_leans,
            **how,
        ),
        *(rate.of_fact(name, facts[name], groups, game, ids, withheld=leans, **how) for name in FACTS),
        level=level,
    )


def flow(tables: Mapping[str, pd.DataFrame], part: Slice = EVERYTHING) -> pd.DataFrame:
    """Follow the runs of each set: who came free, which look, how it ended.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Which runs are looked at; only runs of sets are.

    Returns
    -------
    DataFrame
        One row per path that occurs: `team`, `strength` (class), `set`, `free` (of the run's first screen that freed
        somebody, else of its last; "no_screen" where none was marked, "not_looked_for" where screens were not being
        tagged; missing where not answered), `look`, `ended`: string; count `runs`; `of` Int64: all runs of the set,
        of which the paths are parts; `method`, `level`, `width`.
    """
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], ("set",))
    own = runs[kept]
    by = {"team": own["team"], "strength": classes(own["strength"]), "set": own["set"]}
    families = group(by)
    free = pd.Series(pd.array(who_came_free(tables, own), dtype="string"), index=own.index)
    groups = group({**by, "free": free, "look": own["look"], "ended": own["ended"]})
    return rate.table(
        groups.labels,
        rate.count("runs", groups.count(), groups.ids(run_ids(own))),
        {"of": pd.array(families.count()[_families_of(groups, families)], dtype="Int64")},
        method="count",
        width=None,
    )


def came_back(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how often a pull-out came back to a shot later in the same possession.

    Parameters
    ----------
    tables, part, small_n, level
        As in `looks`; the slice picks the runs that were pulled out, of whatever phase.

    Returns
    -------
    DataFrame
        One row per team, class of strength, phase and set of the run that was pulled out: `team`, `strength`,
        `phase`, `set`; count `pull_outs`; rates `to_shot` and `to_goal`: a later run of the possession brought one;
        `method`, `level`, `width`.
    """
    runs = tables["runs"]
    facts = outcomes(tables).facts
    at = places(tables["possessions"]["id"], runs["possession"])
    order = whole(runs["order"])
    out = keep(runs, part) & among(runs["ended"], ("pull_out",))
    pulled = runs[out]
    groups = group(
        {
            "team": pulled["team"],
            "strength": classes(pulled["strength"]),
            "phase": pulled["phase"],
            "set": pulled["set"],
        }
    )
    ids = run_ids(pulled)
    later = {name: _later(facts[name], at, order, len(tables["possessions"]))[out] for name in ("shot", "goal")}
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    return rate.table(
        groups.labels,
        rate.count("pull_outs", groups.count(), groups.ids(ids)),
        rate.of_fact("to_shot", later["shot"], groups, games_of(pulled), ids, **how),
        rate.of_fact("to_goal", later["goal"], groups, games_of(pulled), ids, **how),
        level=level,
    )


def who_came_free(tables: Mapping[str, pd.DataFrame], runs: pd.DataFrame) -> list[str | None]:
    """Say for each run who came free of its screens.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    runs : DataFrame
        Rows of the runs table.

    Returns
    -------
    list of str or None
        The answer of the run's first screen that freed somebody, else of its last screen; "no_screen" where none was
        marked; None where not answered.
    """
    screens = tables["screens"]
    at = places(runs["id"], screens["run"])
    order = np.argsort(whole(screens["at_ms"]), kind="stable")
    looked = looked_for(tables, runs, "screen")
    made: list[str | None] = [NO_SCREEN if there else NOT_LOOKED_FOR for there in looked.tolist()]
    free = words(screens["free"])
    for screen in order.tolist():
        run = int(at[screen])
        if run >= 0 and made[run] not in FREED:
            made[run] = free[screen] or None
    return made


def _later(
    fact: NDArray[np.int8], at: NDArray[np.intp], order: NDArray[np.int64], n_possessions: int
) -> NDArray[np.int8]:
    """Say for each run whether any later run of its possession brought the fact."""
    made = np.full(len(fact), NO, dtype=np.int8)
    for value in (UNKNOWN, YES):
        last = np.full(n_possessions + 1, -1, dtype=np.int64)
        so = (fact == value) & (at >= 0)
        np.maximum.at(last, at[so], order[so])
        made[(at >= 0) & (last[at] > order)] = value
    return made


def _also(
    families: Groups, own: pd.DataFrame, order: Mapping[str, Sequence[str]] | None
) -> list[tuple[str | None, ...]]:
    keys = list(zip(*families.labels.values(), strict=True))
    made: list[tuple[str | None, ...]] = []
    for team, strength, name in keys:
        made += [(team, strength, name, look) for look in (order or {}).get(name or "", ())]
    stood = own[own["look_open"].notna()]
    for code, look in sorted(
        set(zip(families.codes[own["look_open"].notna()].tolist(), words(stood["look_open"]), strict=True))
    ):
        made.append((*keys[code], look))
    return made


def _in_order(groups: Groups, order: Mapping[str, Sequence[str]] | None) -> Groups:
    places_of = _places(groups, order)
    last = {"none": 1, "unseen": 2, None: 3}
    labels = groups.labels

    def key(row: int) -> tuple[Any, ...]:
        look = labels["look"][row]
        family = tuple((labels[name][row] is None, labels[name][row] or "") for name in ("team", "strength", "set"))
        return (*family, last.get(look, 0), places_of[row] or len(groups.labels["look"]), look or "")

    return groups.ordered(sorted(range(groups.size), key=key))


def _places(groups: Groups, order: Mapping[str, Sequence[str]] | None) -> list[int | None]:
    made: list[int | None] = []
    for name, look in zip(groups.labels["set"], groups.labels["look"], strict=True):
        listed = list((order or {}).get(name or "", ()))
        made.append(listed.index(look) + 1 if look in listed else None)
    return made


def _families_of(groups: Groups, families: Groups) -> NDArray[np.intp]:
    at = {key: place for place, key in enumerate(zip(*families.labels.values(), strict=True))}
    names = list(families.labels)
    return np.array([at[key] for key in zip(*(groups.labels[name] for name in names), strict=True)], dtype=np.intp)


def _rows_of(groups: Groups, families: Groups, look: pd.Series) -> NDArray[np.intp]:
    """Find for each run the row of its family with another column's look."""
    at = {key: place for place, key in enumerate(zip(*groups.labels.values(), strict=True))}
    keys = list(zip(*families.labels.values(), strict=True))
    return np.array(
        [
            at.get((*keys[code], word or None), -1)
            for code, word in zip(families.codes.tolist(), words(look), strict=True)
        ],
        dtype=np.intp,
    )
