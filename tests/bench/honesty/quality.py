"""Shot quality against the truth: seasons whose goals come from the very terms that the model is offered."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Any

import numpy as np
import pandas as pd

from tagger.tables import frames
from tests.bench.figure import Figure, at_least, at_most

NAME = "honesty.quality"
ABOUT = "200 seasons a scenario with a known chance of every shot: what shots are said to bring, and how sure that is"
N_SEASONS = 200
N_PROCESSES = 2
LEAST = 0.93
GOAL_X_M = 25.3
ODDS = {"distance": -0.25, "angle": -0.6, "feed": 0.3, "off_screen": 0.2, "second_chance": 0.4, "man_up": 0.4}
"""True log odds for a metre, a radian, or for being so."""


@dataclass(frozen=True)
class Kind:
    """How a season's shots come about.

    Attributes
    ----------
    name : str
        As the bench says it.
    per_game, n_games : int
        Shots of a game, of both teams, and games.
    sd : float
        Standard deviation of games' log odds: .44 is .11 of the chance around one half.
    strength : float
        How much the terms matter: times `ODDS`.
    """

    name: str
    per_game: int = 40
    n_games: int = 8
    sd: float = 0.0
    strength: float = 1.0


KINDS = (
    Kind("games alike"),
    Kind("games differ .11", sd=0.44),
    Kind("games differ .15", sd=0.6),
    Kind("few shots", per_game=20),
    Kind("few shots, games differ .11", per_game=20, sd=0.44),
    Kind("many shots, games differ .11", per_game=100, sd=0.44),
    Kind("terms matter half", strength=0.5),
    Kind("terms matter little", strength=0.2, sd=0.44),
    Kind("five games, differ .11", per_game=50, n_games=5, sd=0.44),
)


def run() -> Iterator[Figure]:
    """All scenarios."""
    yield from _figures()


def _figures() -> Iterator[Figure]:
    with ProcessPoolExecutor(N_PROCESSES, mp_context=get_context("spawn")) as pool:
        for kind in KINDS:
            yield from told(kind.name, list(pool.map(judged, range(1, N_SEASONS + 1), [kind] * N_SEASONS, chunksize=5)))


@dataclass(frozen=True)
class Judged:
    """One season: its slope and whether its interval holds 1; squared errors; odds ratios that their bounds hold."""

    slope: float | None
    holds: bool | None
    error: float
    plain_error: float
    truly: float | None
    odds: tuple[bool, ...]


def told(name: str, found: list[Judged]) -> Iterator[Figure]:
    """What seasons of a kind show.

    Parameters
    ----------
    name : str
        The scenario.
    found : list of Judged
        Its seasons.

    Returns
    -------
    iterator of Figure
        Coverage of the slope's interval and of the odds ratios', the slopes themselves, and errors against the model as
        it was before it is drawn in.
    """
    some = [each for each in found if each.slope is not None]
    yield Figure(f"{name}: seasons with a slope, of {len(found)}", len(some), "")
    if some:
        held = float(np.mean([bool(each.holds) for each in some]))
        yield at_least(f"{name}: slope's interval holds 1", held, "", LEAST)
        yield Figure(f"{name}: slope said, median", float(np.median([each.slope for each in some if each.slope])), "")
    truly = [each.truly for each in found if each.truly is not None]
    if truly:
        yield Figure(f"{name}: slope on the true chances, median", float(np.median(truly)), "")
    odds = [hit for each in found for hit in each.odds]
    if odds:
        yield at_least(f"{name}: odds ratios held, {len(odds)}", float(np.mean(odds)), "", LEAST)
    ratio = sum(each.error for each in found) / sum(each.plain_error for each in found)
    yield at_most(f"{name}: squared error of chances", ratio, "× that of chances not drawn in", 1.0)


def judged(seed: int, kind: Kind) -> Judged:
    """Learn one season's shots, and hold what is said of them against their true chances.

    Parameters
    ----------
    seed : int
        The season's.
    kind : Kind
        How its shots come about.

    Returns
    -------
    Judged
        Of its model; errors are those within games, since the model knows no game.
    """
    warnings.simplefilter("error")
    from analysis.shot_quality import quality
    from analysis.stats.logistic import fit, levelled

    tables, truth = season(seed, kind)
    found = quality(tables, goal_x_m=GOAL_X_M)
    check = found.checks.to_dict("records")[0]
    expected = found.shots["expected"].to_numpy(dtype=float)
    goal = found.shots["goal"].to_numpy(dtype=bool)
    log_odds = np.log(expected / (1 - expected))
    x = np.column_stack([np.ones(len(goal)), *(truth[name] for name in found.used)])
    plain = levelled(fit(x, goal), x, goal).chances(x) if found.used else expected
    slope, truly, holds = None, None, None
    if not pd.isna(check["slope"]):
        slope, holds = float(check["slope"]), bool(check["slope_lo"] <= 1 <= check["slope_hi"])
    if np.ptp(log_odds) > 1e-6:
        truly = float(np.polyfit(log_odds, truth["log_odds"], 1)[0])
    odds = tuple(
        bool(row["odds_lo"] <= np.exp(kind.strength * ODDS[row["term"]]) <= row["odds_hi"])
        for row in found.terms.to_dict("records")
    )
    p = 1 / (1 + np.exp(-truth["log_odds"]))
    errors = [float(np.mean((given - p) ** 2)) for given in (expected, plain)]
    return Judged(slope, holds, error=errors[0], plain_error=errors[1], truly=truly, odds=odds)


def season(seed: int, kind: Kind) -> tuple[dict[str, pd.DataFrame], dict[str, np.ndarray]]:
    """Make one season's shots.

    Parameters
    ----------
    seed : int
        Same seed, same season.
    kind : Kind
        How they come about.

    Returns
    -------
    tuple of (dict of str to DataFrame, dict of str to float array)
        Event tables; and of every shot the terms by name, as the model should find them, with `log_odds`, the true ones
        in a game like the others.
    """
    rng = np.random.default_rng(seed)
    game = np.repeat(np.arange(kind.n_games), rng.poisson(kind.per_game, kind.n_games))
    n = len(game)
    distance, side = rng.gamma(6, 1.0, n), np.clip(rng.normal(0, 0.6, n), -1.4, 1.4)
    terms: dict[str, np.ndarray] = {
        "distance": distance - distance.mean(),
        "angle": np.abs(side) - np.abs(side).mean(),
        "feed": (rng.random(n) < 0.5).astype(float),
        "off_screen": (rng.random(n) < 0.3).astype(float),
        "second_chance": (rng.random(n) < 0.15).astype(float),
        "man_up": rng.choice([-1.0, 0.0, 0.0, 0.0, 1.0], n),
    }
    log_odds = -1.9 + kind.strength * sum((ODDS[name] * values for name, values in terms.items()), np.zeros(n))
    goal = rng.random(n) < 1 / (1 + np.exp(-log_odds - rng.normal(0, kind.sd, kind.n_games)[game]))
    rows: dict[str, list[dict[str, Any]]] = {"runs": [], "screens": [], "shots": []}
    for at in range(n):
        head = {"game": f"g{game[at]}", "book": "b", "team": "ours", "strength": _strength(terms["man_up"][at])}
        phase = "second_chance" if terms["second_chance"][at] else "set"
        rows["runs"].append(head | {"id": f"r{at}", "phase": phase, "start_ms": at * 1000})
        if terms["off_screen"][at]:
            rows["screens"].append(head | {"id": f"e{at}", "run": f"r{at}", "free": "user", "at_ms": at * 1000})
        rows["shots"].append(
            head
            | {
                "id": f"s{at}", "run": f"r{at}", "at_ms": at * 1000, "result": "goal" if goal[at] else "saved",
                "shooter": "14", "feeder": "8" if terms["feed"][at] else "none",
                "x_m": GOAL_X_M - distance[at] * np.cos(side[at]), "y_m": distance[at] * np.sin(side[at]),
            }
        )  # fmt: skip
    return frames(rows), {**terms, "log_odds": log_odds}


def _strength(man_up: float) -> str:
    return {-1.0: "4v5", 0.0: "5v5", 1.0: "5v4"}[man_up]
