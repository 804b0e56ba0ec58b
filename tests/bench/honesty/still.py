"""Seasons like a coach's, whose true rates are known and may differ from game to game.

Every rate has a mean that holds over all games and, in each game, a true rate of its own drawn around that mean from a
beta distribution. What an interval should hold is the mean: that is what a page speaks of. A page's rate of shots is
one a shot: where a good game is good for all, it has more shots too, and counts for more; then it's the mean a shot.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from tagger.tables import frames

SHOT = {"anchor": 0.55, "beacon": 0.47, "cutter": 0.50, "dory": 0.36, "eddy": 0.42, "fathom": 0.40}
LOOKS = {"one": 0.45, "two": 0.33, "three": 0.22}
FREED = {"on_ball": 0.55, "off_ball": 0.42, "double": 0.33}
SHOOTING = {"7": 0.30, "9": 0.22, "14": 0.18, "22": 0.25}
UNITS = {"A": 0.50, "B": 0.44, "C": 0.38}
SAVES = {"00": 0.72, "1": 0.66}


@dataclass(frozen=True)
class Kind:
    """How a season's games differ.

    Attributes
    ----------
    name : str
        As a bench says it.
    sd : float
        Standard deviation of games' true rates at a mean of one half; in proportion to √(p(1 − p)) elsewhere.
    together : bool
        Whether a good game is good for all; else each rate has good and bad games of its own.
    per_game : int
        Runs of a set in a game.
    n_games : int
        Games.
    """

    name: str
    sd: float
    together: bool = True
    per_game: int = 10
    n_games: int = 8


def about(rng: np.random.Generator, mean: float, sd: float, luck: np.ndarray) -> np.ndarray:
    """Draw each game's true rate.

    Parameters
    ----------
    rng : Generator
        Draws nothing when luck is given for all.
    mean, sd : float
        Of the true rates, as `Kind` says.
    luck : float array
        From 0 to 1, one per game: how good a game it was.

    Returns
    -------
    float array
        One per game.
    """
    if sd == 0:
        return np.full(len(luck), mean)
    from scipy.special import betaincinv

    evidence = 0.25 / sd**2 - 1
    return betaincinv(mean * evidence, (1 - mean) * evidence, luck)  # type: ignore[no-any-return]


@dataclass(frozen=True)
class Season:
    """Event tables with the true rates behind them: (kind of rate, label) → mean."""

    tables: dict[str, pd.DataFrame]
    rows: dict[str, list[dict[str, Any]]]
    truth: dict[tuple[str, str], float]


def season(seed: int, kind: Kind) -> Season:
    """Make one season.

    Parameters
    ----------
    seed : int
        Same seed, same season.
    kind : Kind
        How its games differ.

    Returns
    -------
    Season
        Our settled possessions, each with one run of a set, one screen, one look, and perhaps a shot; theirs, each with
        one shot on goal; and two goalkeepers, who change at half time.
    """
    rng = np.random.default_rng(seed)
    common = rng.random(kind.n_games)

    def rates(means: dict[str, float]) -> dict[str, np.ndarray]:
        return {
            name: about(rng, mean, kind.sd, common if kind.together else rng.random(kind.n_games))
            for name, mean in means.items()
        }

    made = {name: rates(means) for name, means in _ALL.items()}
    rows: dict[str, list[dict[str, Any]]] = {
        name: [] for name in ("possessions", "runs", "screens", "shots", "lines", "goalies")
    }
    for game in range(kind.n_games):
        here = {name: {label: float(rate[game]) for label, rate in kept.items()} for name, kept in made.items()}
        _game(rng, rows, f"g{game + 1:02d}", here, kind.per_game)
    truth = {(name, label): mean for name, means in _ALL.items() for label, mean in means.items()}
    truth |= {("players", man): _a_shot(mean, list(SHOT.values()), kind) for man, mean in SHOOTING.items()}
    faced = {"00": list(_ALL["opponents"].values()), "1": list(UNITS.values())}  # as `_without` has it
    truth |= {("goalkeeper", keeper): _a_shot(mean, faced[keeper], kind) for keeper, mean in SAVES.items()}
    return Season(frames({name: held for name, held in rows.items() if name != "goalies"}), rows, truth)


@functools.cache
def _luck() -> np.ndarray:
    """Games from the worst to the best, evenly."""
    return (np.arange(2000) + 0.5) / 2000


def _a_shot(mean: float, shots: list[float], kind: Kind) -> float:
    """A rate's mean over shots, of which a run brings one at these means: games good for all have more of them."""
    if not kind.together or kind.sd == 0:
        return mean
    rng = np.random.default_rng(0)  # draws nothing
    n = sum(about(rng, one, kind.sd, _luck()) for one in shots)
    return float(np.average(about(rng, mean, kind.sd, _luck()), weights=n))


_ALL = {
    "sets": SHOT,
    "looks": {"one": LOOKS["one"]},
    "screens": FREED,
    "players": SHOOTING,
    "lines": UNITS,
    "goalkeeper": SAVES,
    "opponents": {"two_man": 0.48, "cut": 0.40},
}


def _game(
    rng: np.random.Generator,
    rows: dict[str, list[dict[str, Any]]],
    game: str,
    here: dict[str, dict[str, float]],
    per_game: int,
) -> None:
    at_ms = 0

    def add(table: str, **row: Any) -> str:
        key = f"{game}/{table}{len(rows[table])}"
        rows[table].append(
            {"game": game, "book": "b", "id": key, "period": 1, "strength": "5v5", "marks": (key,), **row}
        )
        return key

    names = [name for name in SHOT for _ in range(int(rng.poisson(per_game)))]
    rng.shuffle(names)
    for turn, name in enumerate(names):
        at_ms += 30_000
        possession = add("possessions", team="ours", start_ms=at_ms, settled_ms=at_ms + 5000, end_ms=at_ms + 20_000)
        look = "one" if rng.random() < here["looks"]["one"] else str(rng.choice(["two", "three"], p=[0.6, 0.4]))
        shot = rng.random() < here["sets"][name]
        inside = {"team": "ours", "possession": possession}
        run = add(
            "runs", **inside, order=1, set=name, phase="set", look=look, settled_ms=at_ms + 5000, start_ms=at_ms + 5000,
            end_ms=at_ms + 20_000, ended="shot" if shot else "pull_out",
        )  # fmt: skip
        what = str(rng.choice(list(FREED)))
        free = "user" if rng.random() < here["screens"][what] else "nobody"
        add("screens", **inside, run=run, at_ms=at_ms + 8000, kind=what, free=free, coverage="stayed")
        if shot:
            shooter = str(rng.choice(list(SHOOTING)))
            result = "goal" if rng.random() < here["players"][shooter] else "saved"
            add("shots", **inside, run=run, at_ms=at_ms + 19_000, shooter=shooter, result=result)
        _without(rng, add, turn, at_ms + 20_000, here, list(UNITS)[turn % len(UNITS)])


def _without(
    rng: np.random.Generator, add: Any, turn: int, at_ms: int, here: dict[str, dict[str, float]], unit: str
) -> None:
    """Their possession: a shot at the rate of our unit on the floor, or of the family of their action."""
    add("lines", team="ours", unit=unit, at_ms=at_ms - 1, players="")
    family = ("two_man", "cut")[turn // len(UNITS) % 2]
    acted = turn % 2 == 0
    possession = add("possessions", team="theirs", start_ms=at_ms, settled_ms=at_ms + 3000, end_ms=at_ms + 9000)
    inside = {"team": "theirs", "possession": possession}
    shot = rng.random() < (here["opponents"][family] if acted else here["lines"][unit])
    run = add(
        "runs", **inside, order=1, set=family if acted else None, phase="family" if acted else "freelance",
        settled_ms=at_ms + 3000, start_ms=at_ms + 3000, end_ms=at_ms + 9000, ended="shot" if shot else "turnover",
    )  # fmt: skip
    if shot:
        keeper = ("00", "1")[turn % 2]
        add("goalies", team="ours", what="in", player=keeper, at_ms=at_ms + 1)
        saved = rng.random() < here["goalkeeper"][keeper]
        add("shots", **inside, run=run, at_ms=at_ms + 8000, shooter="44", result="saved" if saved else "goal")
