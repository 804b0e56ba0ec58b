"""Two hundred generated seasons, whose rates are known, through all tables: are drawn rates nearer the truth?"""

import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np

from tests.bench.figure import Figure, at_least, at_most

NAME = "seasons"
ABOUT = "200 generated seasons of eight games through all tables: rates drawn together against raw ones and the truth"
N_SEASONS = 200
N_GAMES = 8
N_PROCESSES = 2


@dataclass(frozen=True)
class _Season:
    raw: float
    drawn: float
    n: int
    n_covered: int
    drawn_is_nearer: bool
    tables_s: float


def run() -> list[Figure]:
    """Squared errors of the sets' raw and drawn rates of runs with a shot, summed over seasons."""
    start = time.perf_counter()
    with ProcessPoolExecutor(N_PROCESSES, mp_context=get_context("spawn")) as pool:
        seasons = list(pool.map(_season, range(1, N_SEASONS + 1), chunksize=5))
    took_s = time.perf_counter() - start
    n = sum(one.n for one in seasons)
    raw, drawn = (sum(getattr(one, name) for one in seasons) for name in ("raw", "drawn"))
    return [
        Figure(f"{N_SEASONS} seasons generated and worked out", took_s, "s"),
        Figure("a season's tables, median", float(np.median([one.tables_s for one in seasons])), "s"),
        Figure("rates looked at", n, "rates"),
        Figure("raw rates, root mean squared error", float(np.sqrt(raw / n)), ""),
        Figure("drawn rates, root mean squared error", float(np.sqrt(drawn / n)), ""),
        at_most("squared error of drawn rates", drawn / raw, "× that of raw ones", 1.0),
        Figure("seasons in which drawn rates lie nearer", sum(one.drawn_is_nearer for one in seasons), "seasons"),
        at_least("Wilson intervals that hold the true rate", sum(one.n_covered for one in seasons) / n, "", 0.93),
    ]


def _season(seed: int) -> _Season:
    """One season, generated from a seed of its own; any warning of any table is an error."""
    warnings.simplefilter("error")
    from analysis.slice import Slice
    from analysis.standing import standings
    from sample_data.rates import TrueRates
    from tests.analysis.generated import generated_season
    from tests.bench.analysis import all_tables

    tables = generated_season(seed, n_games=N_GAMES)
    start = time.perf_counter()
    for make in all_tables(tuple(f"g{number}" for number in range(1, N_GAMES + 1))).values():
        make(tables)
    tables_s = time.perf_counter() - start
    true = TrueRates()
    raw = drawn = 0.0
    n = n_covered = 0
    for row in standings(tables, Slice(team="ours", strengths=("even",))).to_dict("records"):
        if row["set"] == "samphire":  # the man-up set, run by mistake
            continue
        truth = true.of(row["set"]).p_shot
        raw += (row["raw"] - truth) ** 2
        drawn += (row["shrunken"] - truth) ** 2
        n_covered += int(row["raw_lo"] <= truth <= row["raw_hi"])
        n += 1
    return _Season(raw, drawn, n, n_covered, drawn < raw, tables_s)
