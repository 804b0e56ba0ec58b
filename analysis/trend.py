"""Is it getting better: a dot per game, a running estimate, and a slope only where there are games enough for one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, places, words
from analysis.errors import QuestionError
from analysis.groups import Groups, group
from analysis.outcome import FACTS, outcomes, run_ids
from analysis.shots import NO, UNKNOWN, YES
from analysis.slice import EVERYTHING, Slice, cut, keep
from analysis.stats.logistic import fit
from analysis.stats.proportion import Interval
from analysis.strength import classes

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

FEWEST_GAMES = 12
REMEMBERED = 0.8
DONE = "done"


@dataclass(frozen=True)
class Slope:
    """How the log odds move from game to game.

    Attributes
    ----------
    per_game, lo, hi : float
        Change of log odds per game, with its interval; NaN with fewer than `FEWEST_GAMES` games.
    first, last : float
        Fitted rate of the first and the last game; NaN likewise.
    n_games : int
        Games with trials.
    p : float
        Probability of a slope as steep by chance alone, of either sign; NaN likewise.
    """

    per_game: float
    lo: float
    hi: float
    first: float
    last: float
    n_games: int
    p: float


def slope(k: ArrayLike, n: ArrayLike, level: float = 0.95) -> Slope:
    """Fit a straight line to the log odds over the games.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials per game, in order of playing; games without trials keep their place.
    level : float
        Coverage of the interval.

    Returns
    -------
    Slope
        NaN with fewer than `FEWEST_GAMES` games that have trials.

    Notes
    -----
    Firth's logistic regression on the game's number. Games differ by more than chance (opponents, line-ups): the
    variance is multiplied by Pearson's X² / (games − 2) where that is above 1, with Student's quantiles
    (quasi-binomial; P. McCullagh & J. A. Nelder 1989, Generalized Linear Models, §4.5).
    """
    successes, trials = np.asarray(k, dtype=np.float64), np.asarray(n, dtype=np.float64)
    some = trials > 0
    n_games = int(some.sum())
    if n_games < FEWEST_GAMES:
        nan = float("nan")
        return Slope(nan, nan, nan, first=nan, last=nan, n_games=n_games, p=nan)
    from scipy.special import stdtr, stdtrit

    place = np.arange(len(trials), dtype=np.float64)[some]
    middle = float(np.average(place, weights=trials[some]))
    x = np.column_stack([np.ones(n_games), place - middle])
    found = fit(x, successes[some], trials[some])
    p = found.chances(x)
    pearson = float(np.sum((successes[some] - trials[some] * p) ** 2 / np.maximum(trials[some] * p * (1 - p), 1e-12)))
    error = float(found.se[1]) * np.sqrt(max(1.0, pearson / (n_games - 2)))
    half = float(stdtrit(n_games - 2, (1 + level) / 2)) * error
    per_game = float(found.coef[1])
    chance = 2 * float(stdtr(n_games - 2, -abs(per_game) / error))
    return Slope(
        per_game, per_game - half, per_game + half, first=float(p[0]), last=float(p[-1]), n_games=n_games, p=chance
    )


def running(k: ArrayLike, n: ArrayLike, *, remembered: float = REMEMBERED, level: float = 0.95) -> Interval:
    """Follow a rate from game to game, forgetting older games bit by bit.

    Parameters
    ----------
    k, n : array-like of int
        Successes and trials per game, in order of playing.
    remembered : float
        How much of its weight a game keeps with every game that follows; 1 forgets nothing.
    level : float
        Coverage of the bounds, if the rate moves slowly.

    Returns
    -------
    Interval
        After each game: mean and equal-tailed bounds of a beta distribution; NaN until there have been trials.

    Notes
    -----
    Power discounting of a beta-binomial (J. Q. Smith 1979, Journal of the Royal Statistical Society B 41:375–387),
    starting from Jeffreys' ½, ½: a ← δ a + k, b ← δ b + n − k.
    """
    from scipy.special import betaincinv

    successes, trials = np.asarray(k, dtype=np.float64), np.asarray(n, dtype=np.float64)
    a = b = 0.0
    seen = np.empty((len(trials), 2))
    for game in range(len(trials)):
        a = remembered * a + successes[game]
        b = remembered * b + trials[game] - successes[game]
        seen[game] = a, b
    there = np.cumsum(trials) > 0
    one, other = seen[:, 0] + 0.5, seen[:, 1] + 0.5
    tail = (1 - level) / 2
    columns = (one / (one + other), betaincinv(one, other, tail), betaincinv(one, other, 1 - tail))
    return Interval(*(np.where(there, column, np.nan) for column in columns))


def dots(
    tables: Mapping[str, pd.DataFrame],
    games: Sequence[str],
    part: Slice = EVERYTHING,
    *,
    what: str = "shot",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say how each set, or each habit, went in each game.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    games : sequence of str
        Ids of games in order of playing; others are left out.
    part : Slice
        What is looked at.
    what : str
        A fact of `analysis.outcome.FACTS` (share of a set's runs), or "done" (share of a checkpoint's grades that are
        plus).
    small_n : int
        Under this n a rate is flagged as too few.
    level : float
        Coverage of the intervals.

    Returns
    -------
    DataFrame
        One row per team, class of strength, set (checkpoint for "done") and game: `team`, `strength`, `set`,
        `checkpoint` (missing but for "done"), `game`: string; `place` Int64: number of the game, from 1; rate `rate`
        (ids of runs or grades); `running`, `running_lo`, `running_hi` Float64: the running estimate after that game;
        `method`, `level`, `width`.

    Raises
    ------
    QuestionError
        No such fact.
    """
    lines = rows_of_games(tables, games, part, what)
    parts = []
    for keys, k, n, yes_ids, n_ids in lines:
        followed = running(k, n, level=level)
        labels = {name: [value] * len(games) for name, value in keys.items()}
        parts.append(
            rate.table(
                {**labels, "game": list(games), "place": pd.array(range(1, len(games) + 1), dtype="Int64")},
                rate.share("rate", k[:, None], n[:, None], yes_ids, small_n=small_n, level=level, n_ids=n_ids),
                {
                    "running": rate.number(followed.estimate),
                    "running_lo": rate.number(followed.lo),
                    "running_hi": rate.number(followed.hi),
                },
                method="wilson; running: discounted beta",
                level=level,
            )
        )
    if not parts:
        return _empty_dots(small_n, level)
    return pd.concat(parts, ignore_index=True)


def slopes(
    tables: Mapping[str, pd.DataFrame],
    games: Sequence[str],
    part: Slice = EVERYTHING,
    *,
    what: str = "shot",
    small_n: int = rate.SMALL_N,
    level: float = rate.LEVEL,
) -> pd.DataFrame:
    """Say of each set, or each habit, whether it moved over the season.

    Parameters
    ----------
    tables, games, part, what, small_n, level
        As in `dots`.

    Returns
    -------
    DataFrame
        One row per team, class of strength, set (and checkpoint): `team`, `strength`, `set`, `checkpoint`: string;
        `games` Int64: with trials; measure `slope`: change of log odds per game (missing with fewer than twelve
        games); `first`, `last` Float64: fitted rates of the first and last game; `p` Float64: of standing still,
        missing where there are too few rows; `method`, `level`, `width`. Whether one may be said to move is
        `analysis.findings`' to say.

    Raises
    ------
    QuestionError
        No such fact.
    """
    lines = rows_of_games(tables, games, part, what)
    found = [slope(k, n, level) for _, k, n, _, _ in lines]
    totals = np.array([int(n.sum()) for _, _, n, _, _ in lines], dtype=np.int64)
    labels = {name: [keys[name] for keys, *_ in lines] for name in ("team", "strength", "set", "checkpoint")}
    values = np.array([(one.per_game, one.lo, one.hi, one.first, one.last) for one in found]).reshape(len(found), 5)
    ids = rate.tuples([[row for held in n_ids for row in held] for *_, n_ids in lines])
    p = np.array([one.p for one in found], dtype=np.float64)
    p[totals < small_n] = np.nan
    return rate.table(
        labels,
        {"games": pd.array([one.n_games for one in found], dtype="Int64")},
        rate.measure("slope", totals, Interval(*values[:, :3].T), ids, small_n=small_n),
        {
            "first": rate.number(values[:, 3]),
            "last": rate.number(values[:, 4]),
            "p": rate.number(p),
        },
        method="quasi-binomial",
        level=level,
        width=rate.ALLOWED_FOR,
    )


Row = tuple[dict[str, Any], "NDArray[np.int64]", "NDArray[np.int64]", "NDArray[np.object_]", "NDArray[np.object_]"]


def rows_of_games(tables: Mapping[str, pd.DataFrame], games: Sequence[str], part: Slice, what: str) -> list[Row]:
    """Count for each set (and checkpoint) game by game.

    Parameters
    ----------
    tables, games, part, what
        As in `dots`.

    Returns
    -------
    list of tuple
        What it is (`team`, `strength`, `set`, `checkpoint`); successes and trials per game, in order of playing; ids
        of the successes and of the trials per game.

    Raises
    ------
    QuestionError
        No such fact.
    """
    columns, fact, ids = _grades(tables, part) if what == DONE else _runs(tables, part, what)
    game = columns.pop("game")
    groups = group(columns)
    at = {name: place for place, name in enumerate(games)}
    place = np.array([at.get(word, -1) for word in words(game)], dtype=np.intp)
    n_games = len(games)
    cell = np.where((place >= 0) & (fact != UNKNOWN), groups.codes * n_games + place, -1)
    cells = Groups(cell, {}, groups.size * n_games)
    yes = fact == YES
    k, n = cells.count(yes), cells.count()
    yes_ids, n_ids = cells.ids(ids, yes), cells.ids(ids)
    made: list[Row] = []
    for row in range(groups.size):
        own = slice(row * n_games, (row + 1) * n_games)
        keys = {name: values[row] for name, values in groups.labels.items()}
        made.append(({"checkpoint": None} | keys, k[own], n[own], yes_ids[own], n_ids[own]))
    order = ("team", "strength", "set", "checkpoint")
    return [({name: keys[name] for name in order}, *rest) for keys, *rest in made]  # type: ignore[misc]


def _runs(
    tables: Mapping[str, pd.DataFrame], part: Slice, what: str
) -> tuple[dict[str, pd.Series], NDArray[np.int8], NDArray[np.object_]]:
    if what not in FACTS:
        raise QuestionError(f"trend: no fact “{what}”; it is {DONE} or one of {', '.join(FACTS)}")
    runs = tables["runs"]
    kept = keep(runs, part) & among(runs["phase"], ("set", "family"))
    own = runs[kept]
    columns = {
        "team": own["team"],
        "strength": classes(own["strength"]),
        "set": own["set"],
        "game": own["game"],
    }
    return columns, outcomes(tables).facts[what][kept], run_ids(own)


def _grades(
    tables: Mapping[str, pd.DataFrame], part: Slice
) -> tuple[dict[str, pd.Series], NDArray[np.int8], NDArray[np.object_]]:
    own = cut(tables, part, "grades")["grades"]
    runs = tables["runs"]
    at = places(runs["id"], own["run"])
    looked_up = {
        name: pd.Series(
            pd.array([word or None for word in np.append(words(column), "")[at]], dtype="string"), index=own.index
        )
        for name, column in (("team", runs["team"]), ("strength", classes(runs["strength"])), ("set", runs["set"]))
    }
    fact = np.full(len(own), UNKNOWN)
    fact[among(own["grade"], ("plus",))] = YES
    fact[among(own["grade"], ("minus",))] = NO
    return {**looked_up, "checkpoint": own["checkpoint"], "game": own["game"]}, fact, words(own["id"])


def _empty_dots(small_n: int, level: float) -> pd.DataFrame:
    none = np.empty(0, dtype=np.int64)
    ids = rate.tuples([])
    labels: dict[str, Any] = {name: [] for name in ("team", "strength", "set", "checkpoint", "game")}
    return rate.table(
        {**labels, "place": pd.array([], dtype="Int64")},
        rate.share("rate", none[:, None], none[:, None], ids, small_n=small_n, level=level, n_ids=ids),
        {name: rate.number(np.empty(0)) for name in ("running", "running_lo", "running_hi")},
        method="wilson; running: discounted beta",
        level=level,
    )
