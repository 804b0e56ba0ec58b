"""The box score: what each side did in each game, per possession and in all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, words
from analysis.groups import Games, Groups, games_alike, group
from analysis.shots import BLOCKED, GOAL, ON_GOAL, SAVED, attempts, seen
from analysis.slice import EVERYTHING, OTHER_TEAM, TEAMS, Slice, cut
from analysis.stats.cluster import WIDENED
from analysis.stats.exposure import GARWOOD

if TYPE_CHECKING:
    from numpy.typing import NDArray

PER_100 = ("shots", "on_goal", "goals", "turnovers")


def box(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    by: tuple[str, ...] = ("game",),
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Make the box score: one row per game and team, or per whatever part is asked for.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        What is looked at.
    by : tuple of str
        `("game",)`, `("game", "period")`, `("period",)`, or `()` for the whole slice.
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per part and team (both teams always, unless the slice names one), in this order:

        * the columns of `by` (`game` string, `period` Int64), `team` string
        * counts: `possessions`, `settled` (ids of possessions); `shots`, `shots_on_goal`, `goals`, `blocked`,
          `waved_off` and `dumps` (not among the shots), `saves` and `goals_against` (the other team's shots) (ids of
          shots); `turnovers`; `pull_outs`, `second_chances` (ids of runs); `penalties` (called against the team)
        * rates: `shooting`, `on_goal` (of shots with a known result), `save` (of the others' goals and saves),
          `settling` (possessions that settled), `scoring` (possessions with a goal)
        * rates per 100 possessions, with possessions as n: `shots_per_100`, `on_goal_per_100`, `goals_per_100`,
          `turnovers_per_100`
        * `method`, `level`, `width`

    Notes
    -----
    Shares have Wilson's interval, rates per 100 Garwood's. Goals and shots per 100 possessions of the other team are
    the row of that team.
    """
    names = ("possessions", "runs", "shots", "turnovers", "penalties")
    both = cut(tables, replace(part, team=None), *names, "periods")
    possessions, runs, shots, turnovers, penalties = (both[name] for name in names)
    rows = _rows(both, part, by)
    game = games_alike({name: both[name] for name in ("possessions", "shots", "turnovers")})
    of = {name: _of(frame, rows, by) for name, frame in _frames(both).items()}
    shot_ids = words(shots["id"])
    other = rows.only(_of(shots, rows, by, flip=True).codes)
    is_shot, result_seen = attempts(shots), seen(shots)
    goal, on_goal = among(shots["result"], (GOAL,)), among(shots["result"], ON_GOAL)
    counts: list[dict[str, Any]] = [
        _count("possessions", of["possessions"], possessions),
        _count("settled", of["possessions"], possessions, possessions["settled_ms"].notna().to_numpy(dtype=bool)),
        _count("shots", of["shots"], shots, is_shot),
        _count("shots_on_goal", of["shots"], shots, on_goal),
        _count("goals", of["shots"], shots, goal),
        _count("blocked", of["shots"], shots, among(shots["result"], (BLOCKED,))),
        _count("waved_off", of["shots"], shots, among(shots["result"], ("waved_off",))),
        _count("dumps", of["shots"], shots, among(shots["result"], ("dump",))),
        _count("saves", other, shots, among(shots["result"], (SAVED,))),
        _count("goals_against", other, shots, goal),
        _count("turnovers", of["turnovers"], turnovers),
        _count("pull_outs", of["runs"], runs, among(runs["ended"], ("pull_out",))),
        _count("second_chances", of["runs"], runs, among(runs["phase"], ("second_chance",))),
        _count("penalties", of["penalties"], penalties),
    ]
    by_name: dict[str, Any] = {name: column for made in counts for name, column in made.items()}
    sure = is_shot & result_seen
    how: dict[str, Any] = {"small_n": small_n, "level": level}
    n_possessions = of["possessions"].cells(game["possessions"])
    counted_in: dict[str, tuple[str, NDArray[np.bool_] | None]] = {
        "shots": ("shots", is_shot),
        "shots_on_goal": ("shots", on_goal),
        "goals": ("shots", goal),
        "turnovers": ("turnovers", None),
    }
    scoring = _with_goal(possessions, shots, goal)
    shares = [
        _share("shooting", of["shots"], game["shots"], shot_ids, goal, sure, **how),
        _share("on_goal", of["shots"], game["shots"], shot_ids, on_goal, sure, **how),
        _share("save", other, game["shots"], shot_ids, among(shots["result"], (SAVED,)), on_goal, **how),
        _share(
            "settling",
            of["possessions"],
            game["possessions"],
            words(possessions["id"]),
            possessions["settled_ms"].notna().to_numpy(dtype=bool),
            np.ones(len(possessions), dtype=bool),
            **how,
        ),
        _share(
            "scoring",
            of["possessions"],
            game["possessions"],
            words(possessions["id"]),
            scoring,
            np.ones(len(possessions), dtype=bool),
            **how,
        ),
    ]
    per_100 = []
    for name, counted in zip(PER_100, ("shots", "shots_on_goal", "goals", "turnovers"), strict=True):
        frame, which = counted_in[counted]
        k = of[frame].cells(game[frame], which)
        per_100.append(
            rate.per(
                f"{name}_per_100", k, n_possessions, by_name[f"{counted}_ids"], of=100, small_n=small_n, level=level
            )
        )
    labels = {
        name: pd.array(values, dtype="Int64") if name == "period" else values for name, values in rows.labels.items()
    }
    return rate.table(labels, *counts, *shares, *per_100, method=f"{WIDENED}; per 100: {GARWOOD}", level=level)


def _frames(tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    return {name: tables[name] for name in ("possessions", "runs", "shots", "turnovers", "penalties")}


def _rows(tables: Mapping[str, pd.DataFrame], part: Slice, by: tuple[str, ...]) -> Groups:
    """Find the rows of the table: every part of the game in which anything stands, for both teams."""
    teams = TEAMS if part.team is None else (part.team,)
    seen_keys: set[tuple[Any, ...]] = set()
    sources = [*_frames(tables).values(), *([] if part.periods is not None or "period" in by else [tables["periods"]])]
    for frame in sources:
        if by:
            found = zip(*group({name: frame[name] for name in by}).labels.values(), strict=True)
            seen_keys.update(key for key in found if None not in key)
        elif len(frame):
            seen_keys.add(())
    keys = [(*key, team) for key in sorted(seen_keys) for team in teams]
    labels = {name: [key[place] for key in keys] for place, name in enumerate((*by, "team"))}
    return Groups(np.empty(0, dtype=np.intp), labels, len(keys))


def _of(frame: pd.DataFrame, rows: Groups, by: tuple[str, ...], *, flip: bool = False) -> Groups:
    """Put the rows of an event table into the rows of the result; flipped: into those of the other team."""
    groups = group({name: frame[name] for name in (*by, "team")})
    at = {key: place for place, key in enumerate(zip(*rows.labels.values(), strict=True))}
    found = []
    for key in zip(*groups.labels.values(), strict=True):
        team = OTHER_TEAM.get(key[-1]) if flip else key[-1]
        found.append(at.get((*key[:-1], team), -1))
    return rows.only(np.array([*found, -1], dtype=np.intp)[groups.codes])


def _count(name: str, groups: Groups, frame: pd.DataFrame, which: NDArray[np.bool_] | None = None) -> dict[str, Any]:
    return rate.count(name, groups.count(which), groups.ids(words(frame["id"]), which))


def _share(
    name: str,
    groups: Groups,
    game: Games,
    ids: NDArray[np.object_],
    yes: NDArray[np.bool_],
    sure: NDArray[np.bool_],
    *,
    small_n: int,
    level: float,
) -> dict[str, Any]:
    return rate.share(
        name,
        groups.cells(game, yes & sure),
        groups.cells(game, sure),
        groups.ids(ids, yes & sure),
        small_n=small_n,
        level=level,
        n_ids=groups.ids(ids, sure),
    )


def _with_goal(possessions: pd.DataFrame, shots: pd.DataFrame, goal: NDArray[np.bool_]) -> NDArray[np.bool_]:
    scored = set(words(shots["possession"])[goal].tolist())
    return np.array([word in scored for word in words(possessions["id"]).tolist()], dtype=bool)
