"""Intervals against the truth: does what is called plausible hold it as often as it says, where games differ?"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from tagger.tables import frames
from tests.bench.figure import Figure
from tests.bench.honesty.still import FREED, LOOKS, SHOOTING, Kind, Season, about, season

NAME = "honesty.widths"
ABOUT = "200 generated seasons a scenario, eight games: coverage of every kind of interval, and of chances to be best"
N_SEASONS = 200
N_PROCESSES = 2
LEAST, AIM, MOST = 0.93, 0.95, 0.97
KINDS = (
    Kind("games alike", 0.0),
    Kind("games differ .11", 0.11),
    Kind("games differ .15", 0.15),
    Kind("sets differ by game .11", 0.11, together=False),
    Kind("sets differ by game .15", 0.15, together=False),
    Kind("few runs, alike", 0.0, per_game=6),
    Kind("few runs, .11", 0.11, per_game=6),
    Kind("few runs, .15", 0.15, per_game=6),
)
SPREADS = (0.0, 0.03, 0.06, 0.10)
COUNTED = tuple((n_games, a_game, cv) for n_games in (8, 14) for a_game in (1.5, 4.0, 10.0) for cv in (0.0, 0.3, 0.6))
"""Rates a minute or a game: games, how often in one, and how far games differ (sd over mean)."""
ALONE = (
    ("shooters", tuple(SHOOTING.values()), 6.75),
    ("looks of six sets", (LOOKS["one"],) * 6, 10.0),
    ("screens", tuple(FREED.values()), 20.0),
)
"""What of a season is like that: true rates, and trials of each in a game."""
N_ALONE = 1500
Held = tuple[str, bool, float]


def run() -> Iterator[Figure]:
    """Intervals of the pages, rates drawn together, chances to be best, rates a minute, the formula alone."""
    yield from _pages()
    yield from _drawn()
    yield from _counted()
    yield from _alone()


def _pages() -> Iterator[Figure]:
    with ProcessPoolExecutor(N_PROCESSES, mp_context=get_context("spawn")) as pool:
        for kind in KINDS:
            found = list(pool.map(held, range(1, N_SEASONS + 1), [kind] * N_SEASONS, chunksize=10))
            yield from covered(kind.name, found)


def _drawn() -> Iterator[Figure]:
    with ProcessPoolExecutor(N_PROCESSES, mp_context=get_context("spawn")) as pool:
        for kind in KINDS:
            found = list(pool.map(together, range(1, N_SEASONS + 1), [kind] * N_SEASONS, chunksize=10))
            yield from covered(f"drawn together, {kind.name}", [each for each, _ in found], split=True)
            yield from chances(kind.name, [one for _, each in found for one in each])


def _counted() -> Iterator[Figure]:
    for n_games, a_game, cv in COUNTED:
        hits = [hit for seed in range(1, N_SEASONS + 1) for hit in counted(seed, n_games, a_game, cv)]
        share = float(np.mean(hits))
        name = f"a minute, {n_games} games of {a_game:g}, games differ {cv:g}: {len(hits)}"
        yield Figure(name, share, "", f"{LEAST:g} to {MOST:g}", LEAST <= share <= MOST)


def counted(seed: int, n_games: int, a_game: float, cv: float) -> list[bool]:
    """Whether intervals of six men's rates a minute hold the truth.

    Parameters
    ----------
    seed, n_games : int
        The season's, and how many games it has.
    a_game : float
        How often something happens in one, on average.
    cv : float
        How far games differ: standard deviation over mean, of a gamma distribution.

    Returns
    -------
    list of bool
        One a man.
    """
    from analysis.stats.cluster import widened_counts

    rng = np.random.default_rng([seed, n_games, round(a_game * 10), round(cv * 10)])
    minutes = rng.integers(8, 16, (6, n_games))
    true = a_game / 12 * np.linspace(0.6, 1.4, 6)
    of_games = rng.gamma(1 / cv**2, cv**2, (6, n_games)) if cv else np.ones((6, n_games))
    found = widened_counts(rng.poisson(true[:, None] * of_games * minutes), minutes, 0.95, 1.0).interval
    return ((found.lo <= true) & (true <= found.hi)).tolist()


def _alone() -> Iterator[Figure]:
    """The pages' formula by itself over many more seasons, so that luck is out of the question."""
    for kind in (kind for kind in KINDS if kind.together and kind.per_game == 10):
        for name, means, a_game in ALONE:
            hits = [hit for seed in range(1, N_ALONE + 1) for hit in alone(seed, kind, means, a_game)]
            share = float(np.mean(hits))
            text = f"formula alone, {kind.name}: {name}, {len(hits)}"
            yield Figure(text, share, "", f"{LEAST:g} to {MOST:g}", LEAST <= share <= MOST)


def alone(seed: int, kind: Kind, means: tuple[float, ...], a_game: float) -> list[bool]:
    """Whether intervals made of counts per game, without any table, hold the truth.

    Parameters
    ----------
    seed : int
        The season's.
    kind : Kind
        How its games differ.
    means : tuple of float
        True rates.
    a_game : float
        Trials of each in a game, on average.

    Returns
    -------
    list of bool
        One a rate.
    """
    from analysis.stats.cluster import widened

    rng = np.random.default_rng([seed, round(a_game * 100)])
    true, common = np.array(means), rng.random(kind.n_games)
    rates = np.array([about(rng, mean, kind.sd, common) for mean in means])
    n = rng.poisson(a_game, rates.shape)
    found = widened(rng.binomial(n, rates), n).interval
    return ((found.lo <= true) & (true <= found.hi)).tolist()


def covered(name: str, found: list[list[Held]], *, split: bool = False) -> Iterator[Figure]:
    """Share of intervals that hold the truth, with its standard error: intervals of one season share their games.

    Parameters
    ----------
    name : str
        The scenario.
    found : list of list of tuple
        A season's intervals: kind, whether it held, its width.
    split : bool
        Say the width too.

    Returns
    -------
    iterator of Figure
        One a kind of interval. The goal is missed where luck alone, two standard errors, is no reason.
    """
    for kind in dict.fromkeys(kind for one in found for kind, _, _ in one):
        seasons = [[hit for which, hit, _ in one if which == kind] for one in found]
        share, n = _share(seasons), sum(map(len, seasons))
        luck = 2 * _error(seasons)
        good = LEAST - luck <= share <= MOST + luck
        yield Figure(f"{name}: {kind}, {n}", share, "", f"{LEAST:g} to {MOST:g}, luck ±{luck:.3f}", good)
        if split:
            wide = float(np.mean([width for one in found for which, _, width in one if which == kind]))
            yield Figure(f"{name}: {kind}, width", wide, "")


def _share(seasons: list[list[bool]]) -> float:
    return sum(map(sum, seasons)) / sum(map(len, seasons))


def _error(seasons: list[list[bool]]) -> float:
    """Standard error of a share of which a season gives several: a ratio, so about its own value."""
    share, n = _share(seasons), sum(map(len, seasons))
    apart = np.array([sum(one) - share * len(one) for one in seasons])
    least = float(np.sqrt(AIM * (1 - AIM) / n))  # of intervals that were draws of their own
    return max(float(np.sqrt(np.sum(apart**2))) / n, least)


def chances(name: str, said: list[tuple[float, bool]]) -> Iterator[Figure]:
    """Chances to be the best that were said, against how often it was: of each season's first, and of all.

    Parameters
    ----------
    name : str
        The scenario.
    said : list of tuple
        Chance, and whether it was so.

    Returns
    -------
    iterator of Figure
        Said and true shares of what was called likelier than not, and the slope of truth on what was said.
    """
    p, so = np.array([chance for chance, _ in said]), np.array([true for _, true in said], dtype=float)
    for lo, hi in ((0.0, 0.1), (0.1, 0.3), (0.3, 0.5), (0.5, 0.8), (0.8, 1.01)):
        here = (lo <= p) & (p < hi)
        if here.sum() >= 30:
            off = float(so[here].mean() - p[here].mean())
            noise = 2 * float(np.sqrt(np.mean(p[here] * (1 - p[here])) / here.sum()))
            text = f"P(best) {lo:g}–{min(hi, 1):g}, {name}: said {p[here].mean():.3f}, {here.sum()}: truth less said"
            yield Figure(text, off, "", f"within ±{max(noise, 0.02):.3f}", abs(off) <= max(noise, 0.02))


def held(seed: int, kind: Kind) -> list[Held]:
    """Whether each interval of one season's pages holds the truth.

    Parameters
    ----------
    seed : int
        The season's.
    kind : Kind
        How its games differ.

    Returns
    -------
    list of tuple
        Kind of interval, whether it held, its width.
    """
    warnings.simplefilter("error")
    made = season(seed, kind)
    found: list[Held] = []
    for name, rows, label, rate in _tables(made):
        for row in rows.to_dict("records"):
            truth = made.truth.get((name, str(row[label])))
            if truth is not None and not pd.isna(row[f"{rate}_lo"]):
                lo, hi = float(row[f"{rate}_lo"]), float(row[f"{rate}_hi"])
                found.append((name, lo <= truth <= hi, hi - lo))
    return found


def _tables(made: Season) -> Iterator[tuple[str, pd.DataFrame, str, str]]:
    """Every kind of table with the column that labels its rows and the rate that is known."""
    from analysis.lines import units
    from analysis.looks import looks
    from analysis.opponent import scouting
    from analysis.players import players
    from analysis.screens import screens
    from analysis.sets import sets
    from analysis.slice import Slice

    ours = Slice(team="ours")
    yield "sets", sets(made.tables, ours), "set", "shot"
    taken = looks(made.tables, ours)
    yield "looks", taken[taken["look"] == "one"], "look", "taken"
    yield "screens", screens(made.tables, ours), "kind", "freed"
    yield "players", players(made.tables, ours), "player", "shooting"
    without = Slice(team="theirs", phases=("freelance",))
    kept = _only(made.tables, without)
    at = units(kept, Slice(team="theirs"))
    yield "lines", at[at["ball"] == "without"], "unit", "shot"
    yield "goalkeeper", _in_net(made), "player", "save"
    yield "opponents", scouting(made.tables)["actions"], "set", "shot"


def _only(tables: dict[str, pd.DataFrame], part: Any) -> dict[str, pd.DataFrame]:
    """The tables with those possessions alone whose run the slice keeps."""
    from analysis.slice import keep

    kept = set(tables["runs"]["possession"][keep(tables["runs"], part)])
    own = tables["possessions"]
    return tables | {"possessions": own[own["id"].isin(kept)].reset_index(drop=True)}


def _in_net(made: Season) -> pd.DataFrame:
    from dashboard.in_net import _given

    games = [SimpleNamespace(id=game) for game in sorted({row["game"] for row in made.rows["shots"]})]
    tables = made.tables | {"goalies": frames({"goalies": made.rows["goalies"]})["goalies"]}
    rows = {"shots": {row["id"]: row for row in made.rows["shots"]}}
    moment = SimpleNamespace(rows=rows.__getitem__, games=games, tables=tables)
    net = _given(moment)  # type: ignore[arg-type]
    return pd.DataFrame([{"player": number} | net.row(number, 10) for number in sorted(net.saves)])


def together(seed: int, kind: Kind) -> tuple[list[Held], list[tuple[float, bool]]]:
    """Whether rates drawn together hold the truth, and what was said of the best, for playbooks of each spread.

    Parameters
    ----------
    seed : int
        Of the seasons.
    kind : Kind
        How their games differ.

    Returns
    -------
    tuple of list
        As of `held`, a kind for each spread of the sets' true rates; chances said, and whether it was so.
    """
    warnings.simplefilter("error")
    from analysis.standing import standings

    found: list[Held] = []
    said: list[tuple[float, bool]] = []
    for place, spread in enumerate(SPREADS):
        rng = np.random.default_rng([seed, place])
        truth = dict(zip("abcdef", np.clip(0.45 + spread * rng.standard_normal(6), 0.05, 0.95).tolist(), strict=True))
        rows = standings(only_runs(rng, truth, kind)).to_dict("records")
        best = max(truth, key=lambda name: truth[name])
        for row in rows:
            lo, hi, name = float(row["shrunken_lo"]), float(row["shrunken_hi"]), str(row["set"])
            which = f"sets' spread {spread:g}"
            found.append((which, lo <= truth[name] <= hi, hi - lo))
            if str(row["spread"]) == "pooled":
                found.append((f"{which}, taken as one", lo <= truth[name] <= hi, hi - lo))
            if spread and not pd.isna(row["p_best"]):
                said.append((float(row["p_best"]), name == best))
    return found, said


def only_runs(rng: np.random.Generator, truth: dict[str, float], kind: Kind) -> dict[str, pd.DataFrame]:
    """Runs of sets with these true rates, with a shot or without.

    Parameters
    ----------
    rng : Generator
        Draws them.
    truth : dict of str to float
        Set → mean of its games' true rates.
    kind : Kind
        How games differ.

    Returns
    -------
    dict of str to DataFrame
        Event tables.
    """
    from tagger.tables import frames
    from tests.bench.honesty.still import about

    common = rng.random(kind.n_games)
    runs: list[dict[str, Any]] = []
    shots: list[dict[str, Any]] = []
    for name, mean in truth.items():
        rates = about(rng, mean, kind.sd, common if kind.together else rng.random(kind.n_games))
        for game, rate in enumerate(rates.tolist()):
            for _ in range(int(rng.poisson(kind.per_game))):
                head = {"game": f"g{game}", "team": "ours", "strength": "5v5"}
                key, shot = f"r{len(runs)}", bool(rng.random() < rate)
                runs.append(head | {"id": key, "phase": "set", "set": name, "ended": "shot" if shot else "pull_out"})
                if shot:
                    shots.append(head | {"id": f"s{key}", "run": key, "result": "wide"})
    return frames({"runs": runs, "shots": shots})
