"""Counting a league's season against a table library's own grouping, and a team's season in full."""

import time
import tracemalloc
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from tests.bench.figure import Figure, at_most

NAME = "analysis"
ABOUT = "a million rows against plain pandas, a team's season in full"
N_ROWS = 1_000_000
N_TRIES = 7
N_GAMES = 40
FACTS = ("shot", "goal", "turnover")


def run() -> list[Figure]:
    """Measure both."""
    return [*_league(), *_team()]


def _league() -> list[Figure]:
    """Set × side and player × role roll-ups with Wilson intervals, ours and plain pandas', on the same frames."""
    figures = []
    for name, frame, columns in (
        ("set × side", _runs(), ("set", "side")),
        ("player × role", _deeds(), ("player", "role")),
    ):
        ours, theirs = (lambda f=frame, c=columns: _ours(f, c)), (lambda f=frame, c=columns: _plain(f, c))  # type: ignore[misc]
        _same(ours(), theirs())
        seconds = [_best(work) for work in (ours, theirs)]
        peaks = [_peak(work) for work in (ours, theirs)]
        figures += [
            Figure(f"{name}, 1,000,000 rows", seconds[0] * 1000, "ms"),
            Figure(f"{name}, plain pandas", seconds[1] * 1000, "ms"),
            at_most(f"{name}, time of plain pandas", seconds[0] / seconds[1], "×", 0.35),
            at_most(f"{name}, peak memory of plain pandas", peaks[0] / peaks[1], "×", 1.0),
        ]
    return figures


def _team() -> list[Figure]:
    """Every table of a team's season, from coded tables, imports done."""
    from analysis.codes import coded
    from tests.analysis.invented import season

    made = season(1, n_games=N_GAMES, n_possessions=90)
    start = time.perf_counter()
    tables = coded(made)
    load_s = time.perf_counter() - start
    games = tuple(f"g{number}" for number in range(1, N_GAMES + 1))
    jobs = all_tables(games)
    for work in jobs.values():
        work(tables)
    seconds = {name: _best(lambda w=work: w(tables), n=3) for name, work in jobs.items()}  # type: ignore[misc]
    slowest = sorted(seconds, key=lambda name: -seconds[name])[:4]
    return [
        Figure("a season of 40 games: words to codes, once", load_s, "s"),
        at_most("a season of 40 games: all tables", sum(seconds.values()), "s", 0.5),
        *(Figure(f"  of it {name}", seconds[name] * 1000, "ms") for name in slowest),
    ]


def all_tables(games: tuple[str, ...]) -> dict[str, Callable[[dict[str, pd.DataFrame]], Any]]:
    """Every result table of a season by name, made from its event tables."""
    from analysis.answered import answered
    from analysis.contests import faceoffs, loose_balls
    from analysis.execution import graded, worth
    from analysis.findings import Findings, findings
    from analysis.floor_time import per_minute
    from analysis.games import box
    from analysis.goalkeeper import saves
    from analysis.lines import changes, goals_against, units
    from analysis.looks import came_back, flow, looks
    from analysis.lost_ball import lost_balls
    from analysis.man_up import power_plays
    from analysis.pairs import feeds
    from analysis.players import players
    from analysis.practice import practice_list
    from analysis.screens import lift, screens
    from analysis.set_possessions import by_possession
    from analysis.sets import naming, sets
    from analysis.shot_chart import chart
    from analysis.shot_clock import entries, moments
    from analysis.shot_quality import above_expected, quality
    from analysis.standing import standings
    from analysis.tempo import tempo
    from analysis.transition import transition
    from analysis.trend import dots, slopes

    plain = (
        answered, graded, worth, box, changes, goals_against, units, came_back, flow, looks, lost_balls, feeds, players,
        per_minute, lift, screens, naming, sets, faceoffs, loose_balls, power_plays, by_possession, saves,
        entries, moments, transition, standings, tempo,
    )  # fmt: skip
    jobs: dict[str, Callable[[dict[str, pd.DataFrame]], Any]] = {work.__name__: work for work in plain}
    found: list[Findings] = []  # worked out once, as for the pages
    jobs["findings"] = lambda tables: found.append(findings(tables, games=games))
    jobs["practice_list"] = lambda tables: practice_list(tables, found[-1])
    jobs["sets by side"] = lambda tables: sets(tables, by_side=True)
    jobs["dots"] = lambda tables: dots(tables, games)
    jobs["slopes"] = lambda tables: slopes(tables, games)
    jobs["chart"] = lambda tables: chart(tables, goal_x_m=25.3)
    jobs["quality"] = lambda tables: above_expected(quality(tables, goal_x_m=25.3))
    return jobs


def _runs() -> pd.DataFrame:
    rng = np.random.default_rng(1)
    sets = [f"set{number:03d}" for number in range(240)]  # a league: 40 teams with six sets each
    return pd.DataFrame(
        {
            "set": pd.Categorical.from_codes(rng.integers(0, len(sets), N_ROWS), categories=pd.Index(sets)),
            "side": pd.Categorical.from_codes(rng.integers(-1, 2, N_ROWS), categories=pd.Index(["left", "right"])),
            **{name: rng.random(N_ROWS) < share for name, share in zip(FACTS, (0.45, 0.08, 0.2), strict=True)},
        }
    )


def _deeds() -> pd.DataFrame:
    rng = np.random.default_rng(2)
    people, roles = [f"{number:03d}" for number in range(800)], ["feeder", "setter", "shooter", "user"]
    return pd.DataFrame(
        {
            "player": pd.Categorical.from_codes(rng.integers(0, len(people), N_ROWS), categories=pd.Index(people)),
            "role": pd.Categorical.from_codes(rng.integers(0, len(roles), N_ROWS), categories=pd.Index(roles)),
            **{name: rng.random(N_ROWS) < share for name, share in zip(FACTS, (0.45, 0.08, 0.2), strict=True)},
        }
    )


def _ours(frame: pd.DataFrame, columns: tuple[str, ...]) -> dict[str, Any]:
    from analysis.groups import group
    from analysis.stats.proportion import wilson

    groups = group({name: frame[name] for name in columns})
    counted = groups.counts({fact: frame[fact].to_numpy() for fact in FACTS})
    n = counted[""]
    return {"n": n} | {fact: (counted[fact], *wilson(counted[fact], n)) for fact in FACTS}


def _plain(frame: pd.DataFrame, columns: tuple[str, ...]) -> dict[str, Any]:
    from analysis.stats.proportion import wilson

    grouped = frame.groupby(list(columns), observed=True, dropna=False)
    n = grouped.size().to_numpy()
    sums = grouped[list(FACTS)].sum()
    return {"n": n} | {fact: (k, *wilson(k, n)) for fact in FACTS for k in [sums[fact].to_numpy()]}


def _same(one: dict[str, Any], other: dict[str, Any]) -> None:
    np.testing.assert_array_equal(one["n"], other["n"])
    for fact in FACTS:
        for ours, theirs in zip(one[fact], other[fact], strict=True):
            np.testing.assert_allclose(ours, theirs)


def _best(work: Callable[[], object], n: int = N_TRIES) -> float:
    seconds = []
    for _ in range(n):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def _peak(work: Callable[[], object]) -> int:
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak
