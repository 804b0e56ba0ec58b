"""Which sets bring shots: one row per set, and per set and side, with everything that came of its runs.

Runs of power play never stand beside runs of 5-on-5: the class of strength is part of every row. Settled play without
a named set has rows of its own (freelance, not tagged), and so have transition, second chances and broken plays.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis import rate
from analysis.answered import uneven
from analysis.codes import MISSING, among, codes_of, known, places, words
from analysis.groups import Groups, games_of, group
from analysis.outcome import WITHIN_S, Outcomes, outcomes, run_ids
from analysis.shots import BLOCKED, GOAL, ON_GOAL, YES, attempts
from analysis.slice import EVERYTHING, SETTLED_PHASES, Slice, keep
from analysis.strength import class_of, classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

PHASE_ORDER = ("set", "family", "freelance", "not_tagged", "transition", "second_chance", "broken")
RATES = (
    "shot",
    "on_goal",
    "goal",
    "turnover",
    "pull_out",
    "penalty",
    "second_chance",
    "on_goal_any",
    "goal_any",
    "turnover_any",
    "pull_out_any",
    "penalty_any",
    *(f"shot_{seconds}s" for seconds in WITHIN_S),
)
COUNTS = ("shots", "shots_on_goal", "goals", "blocked", "turnovers", "put_backs", "put_back_goals")


def sets(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by_side: bool = False,
    playbook: Mapping[str, str] | None = None,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Count what came of the runs of each set and of every other phase.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables, not sliced: a run's shots belong to it whatever the strength was by then.
    part : Slice
        Which runs are looked at.
    by_side : bool
        One row per set and side; rates are withheld where sides are named at another rate in runs with a shot than in
        others.
    playbook : mapping of str to str, optional
        Set code → the strength it is made for ("5v5"): sets that were never run get a row too.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength, phase and set (and side), in this order:

        * `team`, `strength` (class), `phase`, `set` (missing for phases without), `side` (with `by_side`): string
        * `runs` and `runs_ids`: all its runs
        * rate `share`: settled possessions with at least one such run, of all settled possessions of that team and
          class (ids of possessions)
        * rates over runs (ids of runs): `shot`, `on_goal`, `goal`, `turnover`, `pull_out`, `penalty` (drawn),
          `second_chance`: runs with at least one of their own; `on_goal_any`, `goal_any`, `turnover_any`,
          `pull_out_any`, `penalty_any`: of their own or in their second chances (a shot of the run's own comes before
          these, so there is no `shot_any`); `shot_10s`, `shot_20s`, `shot_30s`: a shot of their own within that many
          seconds of the run's start, or of settling where that came later. n leaves out runs where the answer is not
          known.
        * counts (ids of shots, turnovers): `shots`, `shots_on_goal`, `goals`, `blocked` (among the shots),
          `turnovers`: of the runs themselves; `put_backs`, `put_back_goals`: shots and goals in their second chances
        * `method`, `level`, `width`

    Notes
    -----
    A set's shots here and those of its second chances together are all shots that followed from it.
    """
    runs = tables["runs"]
    found = outcomes(tables)
    kept = keep(runs, part)
    strength = classes(runs["strength"])
    by = {"team": runs["team"], "strength": strength, "phase": runs["phase"], "set": runs["set"]}
    if by_side:
        by["side"] = runs["side"]
    every = group({name: column[kept] for name, column in by.items()}, also=_never_run(playbook, part, by_side))
    groups = _in_phase_order(every)
    codes = np.full(len(runs), MISSING, dtype=np.intp)
    codes[kept] = groups.codes
    in_table = groups.only(codes)
    ids = run_ids(runs)
    game = games_of(runs)
    hidden = _sides_lean(tables, found, kept, strength, groups) if by_side else None
    return rate.table(
        groups.labels,
        rate.count("runs", in_table.count(), in_table.ids(ids)),
        _share_of_possessions(tables, part, strength, in_table, small_n, level),
        *(
            rate.of_fact(name, found.facts[name], in_table, game, ids, small_n=small_n, level=level, withheld=hidden)
            for name in RATES
        ),
        *_counts(tables, found, in_table),
        level=level,
    )


def naming(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how many settled stretches nobody named, and whether those ended otherwise than the named ones.

    Parameters
    ----------
    tables, part, small_n, level
        As in `sets`.

    Returns
    -------
    DataFrame
        One row per team and class of strength: `team`, `strength`; `stretches` (settled ones: set, family, freelance,
        not tagged; ids of runs); rate `unnamed` (of the stretches); rates `named_shot` and `unnamed_shot` (runs with a
        shot among the named and the unnamed: sets that die early go unnamed); `method`, `level`, `width`.
    """
    runs = tables["runs"]
    settled = keep(runs, part) & among(runs["phase"], SETTLED_PHASES)
    every = group({"team": runs["team"][settled], "strength": classes(runs["strength"])[settled]})
    ids, game = run_ids(runs)[settled], games_of(runs[settled])
    blank = among(runs["phase"], ("not_tagged",))[settled]
    shot = outcomes(tables).facts["shot"][settled]
    columns = [rate.count("stretches", every.count(), every.ids(ids))]
    columns.append(
        rate.share(
            "unnamed",
            every.cells(game, blank),
            every.cells(game),
            every.ids(ids, blank),
            small_n=small_n,
            level=level,
        )
    )
    for name, which in (("named_shot", ~blank), ("unnamed_shot", blank)):
        hit = which & (shot == YES)
        columns.append(
            rate.share(
                name,
                every.cells(game, hit),
                every.cells(game, which & (shot >= 0)),
                every.ids(ids, hit),
                small_n=small_n,
                level=level,
                n_ids=every.ids(ids, which & (shot >= 0)),
            )
        )
    return rate.table(every.labels, *columns, level=level)


def _sides_lean(
    tables: Mapping[str, pd.DataFrame], found: Outcomes, kept: NDArray[np.bool_], strength: pd.Series, groups: Groups
) -> NDArray[np.bool_]:
    """Say for each row whether sides are named at another rate in runs with a shot than in others of its kind."""
    runs = tables["runs"]
    kinds = {"team": runs["team"], "strength": strength, "phase": runs["phase"]}
    families = group({name: column[kept] for name, column in kinds.items()})
    own, shot = runs[kept], found.facts["shot"][kept] == YES
    leans = uneven(tables, own, "set.side", known(own["side"]), shot, families)
    of_family = dict(zip(zip(*families.labels.values(), strict=True), leans.tolist(), strict=True))
    keys = zip(*(groups.labels[name] for name in families.labels), strict=True)
    return np.array([of_family.get(key, False) for key in keys], dtype=bool)


def _never_run(playbook: Mapping[str, str] | None, part: Slice, by_side: bool) -> list[tuple[str | None, ...]]:
    if playbook is None or part.team == "theirs" or (part.phases is not None and "set" not in part.phases):
        return []
    made: list[tuple[str | None, ...]] = []
    for code, strength in playbook.items():
        name = class_of(strength)
        if part.strengths is not None and name not in part.strengths and strength not in part.strengths:
            continue
        if part.sets is not None and code not in part.sets:
            continue
        sides: tuple[str, ...] = ("left", "right")
        if by_side:
            made += [("ours", name, "set", code, side) for side in sides if part.sides is None or side in part.sides]
        else:
            made.append(("ours", name, "set", code))
    return made


def _in_phase_order(groups: Groups) -> Groups:
    """Order the rows by team, strength and then as a coach reads phases, not by the alphabet."""
    rank = {phase: place for place, phase in enumerate(PHASE_ORDER)}
    teams = {"ours": 0, "theirs": 1}
    classes_rank = {"even": 0, "up": 1, "down": 2, "empty_net": 3}
    labels = groups.labels
    order = sorted(
        range(groups.size),
        key=lambda row: (
            teams.get(labels["team"][row], 2),
            classes_rank.get(labels["strength"][row], 4),
            rank.get(labels["phase"][row], len(rank)),
            row,
        ),
    )
    return groups.ordered(order)


def _share_of_possessions(
    tables: Mapping[str, pd.DataFrame],
    part: Slice,
    strength: pd.Series,
    groups: Groups,
    small_n: int,
    level: float,
) -> dict[str, object]:
    """Count settled possessions with at least one run of each group, of those with any run of its team and class."""
    runs, possessions = tables["runs"], tables["possessions"]
    at = places(possessions["id"], runs["possession"])
    settled = np.append(possessions["settled_ms"].notna().to_numpy(dtype=bool), False)[at]
    wide = keep(runs, Slice(part.games, part.periods, part.strengths, part.team)) & settled
    team, teams = codes_of(runs["team"])
    kind, kinds = codes_of(strength)
    cell = (team + 1) * (len(kinds) + 1) + kind + 1
    n_cells = (len(teams) + 1) * (len(kinds) + 1)
    game = games_of(possessions)
    all_of, all_held = _distinct(cell, at, len(possessions), wide)
    per_cell = Groups(all_of, {}, n_cells).cells(game.of(all_held))
    team_code = {word: code + 1 for code, word in enumerate(teams)}
    kind_code = {word: code + 1 for code, word in enumerate(kinds)}
    rows = [
        team_code.get(team_word, 0) * (len(kinds) + 1) + kind_code.get(kind_word, 0)
        for team_word, kind_word in zip(groups.labels["team"], groups.labels["strength"], strict=True)
    ]
    codes, held = _distinct(groups.codes, at, len(possessions), settled & (groups.codes >= 0))
    pairs = groups.only(codes)
    ids = words(possessions["id"])[held] if len(possessions) else np.empty(0, dtype=object)
    return rate.share(
        "share",
        pairs.cells(game.of(held)),
        per_cell[np.array(rows, dtype=np.intp)],
        pairs.ids(ids),
        small_n=small_n,
        level=level,
    )


def _distinct(
    codes: NDArray[np.intp], at: NDArray[np.intp], n_at: int, which: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the distinct pairs of a code and a place among the marked rows."""
    pairs = np.unique(codes[which] * max(n_at, 1) + at[which])
    first, second = np.divmod(pairs, max(n_at, 1))
    return first, second


def _counts(tables: Mapping[str, pd.DataFrame], found: Outcomes, groups: Groups) -> list[dict[str, object]]:
    shots, turnovers = tables["shots"], tables["turnovers"]
    is_shot = attempts(shots)
    group_of_run = np.append(groups.codes, MISSING)
    root = np.append(found.root, MISSING)
    own = groups.only(group_of_run[found.shot_run])
    origin = root[found.shot_run]
    chain = groups.only(np.where(origin == found.shot_run, MISSING, group_of_run[origin]))
    ids = words(shots["id"])
    on_goal, goal = among(shots["result"], ON_GOAL), among(shots["result"], (GOAL,))
    blocked = among(shots["result"], (BLOCKED,))
    lost = groups.only(group_of_run[found.turnover_run])
    made = []
    for name, groups_of_rows, which in (
        ("shots", own, is_shot),
        ("shots_on_goal", own, on_goal),
        ("goals", own, goal),
        ("blocked", own, blocked),
        ("put_backs", chain, is_shot),
        ("put_back_goals", chain, goal),
    ):
        made.append(rate.count(name, groups_of_rows.count(which), groups_of_rows.ids(ids, which)))
    lost_ids = words(turnovers["id"])
    made.insert(4, rate.count("turnovers", lost.count(), lost.ids(lost_ids)))
    return made
