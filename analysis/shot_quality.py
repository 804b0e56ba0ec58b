"""Shot quality: how often shots like this one go in, learned from the season at hand and from nothing else.

The model uses what was tagged: place and angle, whether it came off a screen that freed somebody, off a feed, as a
second chance, with more runners, from the shooter's good side. What was answered on goals but not on other shots is
left out, since it would know the result. Under a floor of shots there is no model; then shots get the season's rate
of their zone, drawn towards the season's rate. Nothing here is a norm of any league.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis import rate
from analysis.codes import among, words
from analysis.groups import group
from analysis.players import number_order
from analysis.shot_terms import terms
from analysis.shots import GOAL, attempts, resulted
from analysis.slice import EVERYTHING, Slice, cut
from analysis.stats.calibration import Slope, bounds, calibration, drawn_in
from analysis.stats.logistic import Score, fit, score, separated, unseen_chances
from analysis.stats.proportion import Interval
from analysis.stats.shrinkage import by_moments, shrunken
from analysis.strength import EMPTY_NET, classes

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAST_SHOTS = 100
GOALS_PER_TERM = 5
FEWEST_GAMES = 5
MODEL = "model"
ZONES = "zones"
ODDS_METHOD = "firth; wald, games as draws where wider"
NOTHING = "nothing"


@dataclass(frozen=True)
class Quality:
    """How likely each shot of a slice was to go in, and how far that can be trusted.

    Attributes
    ----------
    method : str
        "model", "zones" (too few shots for a model), or "nothing" (no shots with a known result).
    said : str
        One plain sentence: what was used and why not more.
    used, left_out : tuple of str
        Terms of the model, and terms that were not used with the reason behind a colon.
    shots : DataFrame
        One row per shot with a known result and a goalkeeper in the net: `shot` (id), `team`, `shooter`, `game`
        string, `goal` boolean, `expected` Float64 from 0 to 1 (of the model that has seen it, drawn in).
    terms : DataFrame
        One row per term of the model: `term` string; `odds`, `odds_lo`, `odds_hi` Float64: odds ratio, not drawn in,
        with its 95 % interval; `method` string, `level` Float64; empty without a model.
    checks : DataFrame
        One row: `shots`, `goals` Int64; `kept` Float64: what is left, from 0 to 1, of the differences that the model
        found between shots, since few goals make it too sure; of shots not seen `brier`, `log_loss`, and
        `base_brier`, `base_log_loss` of the base rate, and `slope`, `slope_se`, `slope_lo`, `slope_hi` of the
        calibration (1 is right; missing under five games, and where the model says no more than the base rate:
        there is nothing to calibrate); `separated` boolean: some combination of terms tells goals from other shots
        without error. Missing without a model.
    """

    method: str
    said: str
    used: tuple[str, ...]
    left_out: tuple[str, ...]
    shots: pd.DataFrame
    terms: pd.DataFrame
    checks: pd.DataFrame


def quality(
    tables: Mapping[str, pd.DataFrame],
    part: Slice = EVERYTHING,
    *,
    goal_x_m: float | None = None,
    shoots: Mapping[str, str] | None = None,
    least_shots: int = LEAST_SHOTS,
) -> Quality:
    """Learn from the shots of a slice how likely each was to go in.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        Event tables.
    part : Slice
        Shots to learn from; take both teams, there are few enough.
    goal_x_m : float, optional
        Distance of the goal line from the floor's centre in metres, by rule code; without it places are not used.
    shoots : mapping of str to str, optional
        Our players' numbers → "L" or "R".
    least_shots : int
        With fewer shots there is no model.

    Returns
    -------
    Quality
        Expected goals of every shot, and the evidence.

    Notes
    -----
    Firth's penalised logistic regression, see `analysis.stats.logistic`, drawn towards the season's rate by what it
    must be too sure (`analysis.stats.calibration.drawn_in`). Terms are taken in a fixed order, one for every five goals
    (or five misses, if these are fewer): never by looking which ones help. Ten folds of whole games, or tenths of the
    shots under five games; each is foretold by a model drawn in without it. Shots into an empty net are left out.
    """
    kept = cut(tables, part, "shots")["shots"]
    kept = kept[attempts(kept) & (resulted(kept, (GOAL,)) >= 0)]
    kept = kept[~among(classes(kept["strength"]), (EMPTY_NET,))]
    goal = among(kept["result"], (GOAL,))
    offered, left_out = terms(tables, kept, goal, goal_x_m, shoots or {})
    n, n_goals = len(kept), int(goal.sum())
    room = min(n_goals, n - n_goals) // GOALS_PER_TERM
    used = dict(list(offered.items())[:room])
    left_out += [f"{name}: too few goals for another term" for name in list(offered)[room:]]
    if n == 0:
        return _without(kept, goal, np.empty(0), NOTHING, "There are no shots with a known result.", left_out)
    if n < least_shots or not used:
        expected = _by_zone(offered, goal)
        said = (
            f"{n} shots with {n_goals} goals are too few for a model: each has its zone’s rate, drawn to the season’s."
        )
        return _without(kept, goal, expected, ZONES, said, left_out)
    x = np.column_stack([np.ones(n), *used.values()])
    plain = fit(x, goal)
    found, share = drawn_in(plain, x, goal)
    game, n_games, folds = _folds(kept["game"])
    unseen, base = unseen_chances(x, goal, folds, lambda columns, came: drawn_in(fit(columns, came), columns, came)[0])
    split = separated(x, goal)
    told, plainly = score(unseen, goal), score(base, goal)
    slope = None
    if n_games >= FEWEST_GAMES and share > 0 and told.log_loss < plainly.log_loss:
        slope = calibration(unseen, goal, game)
    checks = _checks(goal, share, told, plainly, slope, split)
    said = f"A model of {', '.join(used)}, learned from {n} shots with {n_goals} goals."
    if split:
        said += " These tell goals from other shots without error here, so their odds are held back by the penalty."
    made = _shots(kept, goal, found.chances(x))
    odds = _odds(list(used), plain.coef, *bounds(plain, x, goal, game))
    return Quality(MODEL, said, tuple(used), left_out=tuple(left_out), shots=made, terms=odds, checks=checks)


def above_expected(found: Quality, *, small_n: int = rate.SMALL_N, level: float = rate.LEVEL) -> pd.DataFrame:
    """Compare each player's goals with what his shots were likely to bring.

    Parameters
    ----------
    found : Quality
        From `quality`.
    small_n : int
        Under this many shots a number is flagged as too few.
    level : float
        Coverage of the interval.

    Returns
    -------
    DataFrame
        One row per team and shooter, by number: `team`, `player`; counts `shots` and `goals` (ids of shots);
        `expected` Float64: goals that such shots bring on average; measure `above`: goals minus expected, with the
        interval of what chance alone leaves open; `method`, `level`, `width`.

    Notes
    -----
    The number of goals of shots with these probabilities is Poisson-binomial, worked out exactly; the interval is
    goals minus its central quantiles. Errors of the model come on top, so the true interval is at least this wide.
    """
    shots = found.shots
    groups = group({"team": shots["team"], "player": shots["shooter"]})
    labels = groups.labels
    order = sorted(
        range(groups.size), key=lambda row: (labels["team"][row] or "~", number_order(labels["player"][row]))
    )
    groups = groups.ordered(order)
    ids, goal = words(shots["shot"]), shots["goal"].to_numpy(dtype=bool)
    p = shots["expected"].to_numpy(dtype=np.float64)
    goals, expected = groups.count(goal), groups.total(p)
    bounds = np.full((groups.size, 2), np.nan)
    for row in range(groups.size):
        lo, hi = _central(p[groups.codes == row], level)
        bounds[row] = goals[row] - hi, goals[row] - lo
    return rate.table(
        groups.labels,
        rate.count("shots", groups.count(), groups.ids(ids)),
        rate.count("goals", goals, groups.ids(ids, goal)),
        {"expected": rate.number(expected)},
        rate.measure("above", groups.count(), Interval(goals - expected, *bounds.T), groups.ids(ids), small_n=small_n),
        method="poisson-binomial",
        level=level,
    )


def number_of_goals(p: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the probability of each number of goals of shots with given chances.

    Parameters
    ----------
    p : float array of shape (n,)
        Chance of each shot.

    Returns
    -------
    float64 array of shape (n + 1,)
        P(0 goals) … P(n goals): the Poisson-binomial distribution, built up one shot at a time.
    """
    made = np.zeros(len(p) + 1)
    made[0] = 1
    for chance in p:
        made[1:] = made[1:] * (1 - chance) + made[:-1] * chance
        made[0] *= 1 - chance
    return made


def _central(p: NDArray[np.float64], level: float) -> tuple[int, int]:
    below = np.cumsum(number_of_goals(p))
    tail = (1 - level) / 2
    return int(np.searchsorted(below, tail + 1e-12)), int(np.searchsorted(below, 1 - tail - 1e-12))


def _by_zone(offered: Mapping[str, NDArray[np.float64]], goal: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Give each shot its zone's rate, drawn towards the season's.

    Zones are thirds of distance by halves of angle; without places, fed or not by second chance or not.
    """
    zone = np.zeros(len(goal), dtype=np.intp)
    for name, cuts in (("distance", 2), ("angle", 1), ("feed", 1), ("second_chance", 1)):
        if name not in offered or (name in {"feed", "second_chance"} and "distance" in offered):
            continue
        edges = [0.5]
        if name in {"distance", "angle"}:
            edges = np.quantile(offered[name], np.linspace(0, 1, cuts + 2)[1:-1]).tolist()
        zone = zone * (cuts + 1) + np.searchsorted(edges, offered[name], side="right")
    n, k = np.bincount(zone), np.bincount(zone, weights=goal)
    return shrunken(k, n, by_moments(k, n)).estimate[zone]


def _folds(game: pd.Series) -> tuple[NDArray[np.intp], int, NDArray[np.intp]]:
    """Number each shot's game, count the games, and say which shots are foretold together."""
    games = group({"game": game})
    if games.size >= FEWEST_GAMES:
        return games.codes, games.size, games.codes % 10
    return games.codes, games.size, np.arange(len(game), dtype=np.intp) % 10


def _shots(kept: pd.DataFrame, goal: NDArray[np.bool_], expected: NDArray[np.float64]) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "shot": pd.array(words(kept["id"]), dtype="string"),
            "team": pd.array([word or None for word in words(kept["team"])], dtype="string"),
            "shooter": pd.array([word or None for word in words(kept["shooter"])], dtype="string"),
            "game": pd.array([word or None for word in words(kept["game"])], dtype="string"),
            "goal": pd.array(goal, dtype="boolean"),
            "expected": pd.array(expected, dtype="Float64"),
        }
    )


def _odds(
    names: list[str], coef: NDArray[np.float64], lo: NDArray[np.float64], hi: NDArray[np.float64]
) -> pd.DataFrame:
    made: dict[str, Any] = {"term": pd.array(names, dtype="string")}
    for name, column in (("odds", coef), ("odds_lo", lo), ("odds_hi", hi)):
        made[name] = rate.number(np.exp(column[1:]))
    made["method"] = pd.array([ODDS_METHOD] * len(names), dtype="string")
    made["level"] = pd.array([rate.LEVEL] * len(names), dtype="Float64")
    return pd.DataFrame(made)


def _checks(
    goal: NDArray[np.bool_],
    kept: float | None = None,
    unseen: Score | None = None,
    base: Score | None = None,
    slope: Slope | None = None,
    split: bool | None = None,
) -> pd.DataFrame:
    nan = float("nan")
    numbers = {
        "kept": nan if kept is None else kept,
        "brier": nan if unseen is None else unseen.brier,
        "log_loss": nan if unseen is None else unseen.log_loss,
        "base_brier": nan if base is None else base.brier,
        "base_log_loss": nan if base is None else base.log_loss,
        "slope": nan if slope is None else slope.estimate,
        "slope_se": nan if slope is None else slope.se,
        "slope_lo": nan if slope is None else slope.lo,
        "slope_hi": nan if slope is None else slope.hi,
    }
    return pd.DataFrame(
        {
            "shots": pd.array([len(goal)], dtype="Int64"),
            "goals": pd.array([int(goal.sum())], dtype="Int64"),
            **{name: rate.number(np.array([value])) for name, value in numbers.items()},
            "separated": pd.array([split], dtype="boolean"),
        }
    )


def _without(
    kept: pd.DataFrame,
    goal: NDArray[np.bool_],
    expected: NDArray[np.float64],
    method: str,
    said: str,
    left_out: list[str],
) -> Quality:
    return Quality(
        method,
        said,
        (),
        left_out=tuple(left_out),
        shots=_shots(kept, goal, expected),
        terms=_odds([], *[np.empty(0)] * 3),
        checks=_checks(goal),
    )
