"""Seasons in which nothing differs, with everything that a page may single out: sets and their sides, freelance,
checkpoints, coverage, the safety. What varies are games, and, where a scenario says so, what a set was kept for and how
opponents cover.

Nothing of it says that one set, side, checkpoint or coverage is better than another; a sentence that does is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from tagger.tables import frames
from tests.bench.honesty.still import Kind, about

SETS = ("anchor", "beacon", "cutter", "dory", "eddy", "fathom")
FREELANCE = "freelance"
ACTIONS = ("two_man", "cut", "give_go", "motion")
SHOT, LOST, FREE, AGAINST = 0.45, 0.35, 0.45, 0.30
WORSE = 0.42
COVERAGES = ("switched", "stayed", "under", "blown")
EMPTY = frames({})


@dataclass(frozen=True)
class Scenario:
    """How a season is still.

    Attributes
    ----------
    kind : Kind
        How its games differ, and its name.
    kept : bool
        Whether sets are kept for some opponents: each is run often in some games, which are good or bad for all.
    covered : bool
        Whether opponents cover in ways of their own, each as good at it in all ways.
    frees : bool
        Whether one answer of coverage frees by definition.
    better : float
        Rate of the first set; left at `SHOT`, no set differs.
    asked : bool
        Whether a question was stated.
    """

    kind: Kind
    kept: bool = False
    covered: bool = False
    frees: bool = False
    better: float = SHOT
    asked: bool = False


def quiet(seed: int, how: Scenario) -> dict[str, pd.DataFrame]:
    """Make one season.

    Parameters
    ----------
    seed : int
        Same seed, same season.
    how : Scenario
        What varies.

    Returns
    -------
    dict of str to DataFrame
        Event tables: a possession of ours for each run, one of theirs after it.
    """
    rng = np.random.default_rng([seed, len(how.kind.name)])
    run = _runs(rng, how)
    n = len(run["game"])
    ids = {name: [f"{name}{at}" for at in range(n)] for name in ("r", "p", "q", "s", "t", "e", "m", "k", "u")}
    shot, lost = run["shot"], run["lost"]
    start = np.arange(n) * 60_000
    head = {"game": run["game"], "book": ["b"] * n, "period": [1] * n, "strength": ["5v5"] * n}
    ours, theirs = {**head, "team": ["ours"] * n}, {**head, "team": ["theirs"] * n}
    inside = {**ours, "run": ids["r"], "possession": ids["p"], "at_ms": start + 9000}
    every = np.ones(n, dtype=bool)
    safety = rng.random(n) < 0.3
    grade = np.where(rng.random(n) < 0.6, "plus", "minus")
    ended = np.where(shot, "save", np.where(lost, "turnover", "whistle"))
    of_run = np.where(shot, "shot", np.where(lost, "turnover", "whistle"))
    from_ms, whistle = {"start_ms": start, "settled_ms": start + 3000, "end_ms": start + 20_000}, ["whistle"] * n
    after = {"start_ms": start + 20_000, "settled_ms": start + 23_000, "end_ms": start + 40_000}
    kind = np.where(safety, "safety", rng.choice(["wall", "timing"], n))
    free = np.where(run["freed"], "user", "nobody")
    action = {"phase": ["family"] * n, "set": rng.choice(ACTIONS, n), "order": [1] * n}
    own = [
        ("possessions", {**ours, **from_ms, "id": ids["p"], "ended": ended}, every),
        ("possessions", {**theirs, **after, "id": ids["q"], "ended": whistle}, every),
        ("runs", {**ours, **from_ms, "id": ids["r"], "possession": ids["p"], "order": [1] * n, "phase": run["phase"],
                  "set": run["set"], "side": run["side"], "ended": of_run}, every),
        ("runs", {**theirs, **after, **action, "id": ids["u"], "possession": ids["q"], "ended": whistle}, every),
        ("shots", {**inside, "id": ids["s"], "result": ["saved"] * n}, shot),
        ("shots", {**theirs, "id": ids["k"], "possession": ids["q"], "run": ids["u"], "at_ms": start + 25_000,
                   "result": ["wide"] * n}, run["against"]),
        ("turnovers", {**inside, "id": ids["t"]}, lost),
        ("screens", {**inside, "id": ids["e"], "coverage": run["coverage"], "free": free}, run["named"]),
        ("grades", {**inside, "id": ids["m"], "player": ["7"] * n, "grade": grade, "checkpoint": kind}, run["named"]),
    ]  # fmt: skip
    made = dict(EMPTY)
    for name, columns, which in own:
        rows = pd.DataFrame(columns)[which].reindex(columns=EMPTY[name].columns).astype(EMPTY[name].dtypes.to_dict())
        made[name] = rows if not len(made[name]) else pd.concat([made[name], rows], ignore_index=True)
    return made


def _runs(rng: np.random.Generator, how: Scenario) -> dict[str, Any]:
    """What each run was and brought."""
    kind, names = how.kind, (*SETS, FREELANCE)
    common = rng.random(kind.n_games)

    def by_game(mean: float) -> np.ndarray:
        return about(rng, mean, kind.sd, common if kind.together else rng.random(kind.n_games))

    means = {"shot": SHOT, "lost": LOST, "free": FREE, "against": AGAINST}
    rates = {what: np.array([by_game(mean) for _ in names]) for what, mean in means.items()}
    if how.better != SHOT:
        rates["shot"] = np.array([by_game(how.better if name == SETS[0] else WORSE) for name in names])
    often = np.full((len(names), kind.n_games), float(kind.per_game))
    if how.kept:
        often *= rng.choice([0.3, 1.7], often.shape)
    n_in = rng.poisson(often)
    cell = np.repeat(np.arange(n_in.size), n_in.ravel())
    cell = cell[np.argsort(cell % kind.n_games, kind="stable")]
    of, game = cell // kind.n_games, cell % kind.n_games
    n = len(cell)

    def so(what: str) -> np.ndarray:
        return rng.random(n) < rates[what].ravel()[cell]

    shot = so("shot")
    ways = len(COVERAGES) if how.frees else len(COVERAGES) - 1
    liked = rng.dirichlet(np.full(ways, 0.8), kind.n_games) if how.covered else np.full((kind.n_games, ways), 1 / ways)
    covered = (rng.random(n)[:, None] > np.cumsum(liked, axis=1)[game]).sum(axis=1).clip(0, ways - 1)
    named = of < len(SETS)
    hard = about(rng, FREE, max(kind.sd, 0.1), rng.random(kind.n_games)) if how.covered else None
    freed = so("free") if hard is None else rng.random(n) < hard[game]
    return {
        "game": [f"g{at + 1:02d}" for at in game],
        "phase": np.where(named, "set", FREELANCE),
        "set": [names[at] if at < len(SETS) else None for at in of],
        "side": [
            side if its else None for side, its in zip(rng.choice(["left", "right"], n).tolist(), named, strict=True)
        ],
        "shot": shot,
        "lost": ~shot & (rng.random(n) < rates["lost"].ravel()[cell] / (1 - SHOT)),
        "against": so("against"),
        "coverage": np.array(COVERAGES)[covered],
        "freed": freed | (covered == len(COVERAGES) - 1),
        "named": named,
    }
