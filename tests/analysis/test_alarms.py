"""Whole tables over many seasons of fixed seeds: what was planted is found, and seasons in which nothing moves and no
set differs raise an alarm in no more than five of a hundred, although their games differ."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from analysis.findings import Findings, findings
from analysis.practice import practice_list
from analysis.slice import Slice
from tagger.tables import frames
from tests.counts import cases

N_GAMES, N_RUNS = 16, 6
SETS = ("lantern", "keel", "ferry", "breakwater", "tidepool")
GAMES = tuple(f"g{number:02d}" for number in range(N_GAMES))
EVEN = Slice(team="ours", strengths=("even",))
N_STILL, N_PLANTED = cases(40, many=200), cases(12, many=40)
EMPTY = frames({})
Tables = dict[str, pd.DataFrame]


def _season(seed: int, more: np.ndarray | float = 0.0) -> Tables:
    """Runs of five sets in sixteen games; what is added to the share with a shot has shape (games, sets)."""
    rng = np.random.default_rng(seed)
    day = rng.beta(8, 11, (N_GAMES, 1)) * np.ones((1, len(SETS)))  # games differ, sets of one game do not
    p = np.repeat(np.clip(day + more, 0.02, 0.98).ravel(), N_RUNS)
    n = len(p)
    shot = rng.random(n) < p
    lost = ~shot & (rng.random(n) < 0.6)
    ids = [f"r{at}" for at in range(n)]
    head = {
        "game": np.repeat(GAMES, len(SETS) * N_RUNS),
        "team": ["ours"] * n,
        "strength": ["5v5"] * n,
        "period": [1] * n,
    }
    runs = {
        **head,
        "id": ids,
        "phase": ["set"] * n,
        "set": np.tile(np.repeat(SETS, N_RUNS), N_GAMES),
        "side": rng.choice(["left", "right"], n),
        "ended": np.where(shot, "shot", np.where(lost, "turnover", "whistle")),
    }
    inside = {**head, "run": ids, "at_ms": [1] * n}
    rows = {
        "runs": (runs, np.ones(n, dtype=bool)),
        "shots": ({**inside, "id": [f"s{at}" for at in range(n)], "result": ["wide"] * n}, shot),
        "turnovers": ({**inside, "id": [f"t{at}" for at in range(n)]}, lost),
        "screens": (
            {
                **inside,
                "id": [f"e{at}" for at in range(n)],
                "coverage": rng.choice(["switched", "stayed", "under"], n),
                "free": rng.choice(["user", "setter", "nobody"], n),
            },
            rng.random(n) < 0.6,
        ),
        "grades": (
            {
                **inside,
                "id": [f"m{at}" for at in range(n)],
                "player": ["7"] * n,
                "checkpoint": rng.choice(["wall", "timing"], n),
                "grade": rng.choice(["plus", "minus"], n),
            },
            rng.random(n) < 0.5,
        ),
    }
    return EMPTY | {name: _frame(name, columns, which) for name, (columns, which) in rows.items()}


def _frame(name: str, columns: dict[str, object], which: np.ndarray) -> pd.DataFrame:
    empty = EMPTY[name]
    made = pd.DataFrame(columns)[which].reset_index(drop=True)
    return made.reindex(columns=empty.columns).astype(empty.dtypes.to_dict())


_HELD: dict[int, tuple[Tables, Findings]] = {}


def _found(tables: Tables) -> Findings:
    """What may be said, worked out once for all who ask."""
    if id(tables) not in _HELD:
        _HELD[id(tables)] = tables, findings(tables, EVEN, games=GAMES)
    return _HELD[id(tables)][1]


def _speaks(found: Findings) -> bool:
    return bool(found.compared["speaks"].any()) or any(each["moves"].any() for each in found.slopes.values())


ALARMS: dict[str, Callable[[Tables], bool]] = {
    "findings": lambda tables: _speaks(_found(tables)),
    "practice list": lambda tables: practice_list(tables, _found(tables))["kind"].iloc[0] != "nothing",
}


@pytest.fixture(scope="module")
def still() -> list[Tables]:
    return [_season(seed) for seed in range(N_STILL)]


@pytest.mark.parametrize("name", ALARMS)
def test_still_seasons_raise_an_alarm_in_no_more_than_five_of_a_hundred(name: str, still: list[Tables]) -> None:
    assert sum(ALARMS[name](tables) for tables in still) <= 0.05 * N_STILL


def _rising() -> np.ndarray:
    more = np.zeros((N_GAMES, len(SETS)))
    more[:, 1] = np.linspace(-0.4, 0.45, N_GAMES)
    return more


def _better() -> np.ndarray:
    more = np.zeros((N_GAMES, len(SETS)))
    more[:, 1] = 0.3
    return more


FOUND: dict[str, tuple[np.ndarray, Callable[[Tables], bool]]] = {
    "slopes": (_rising(), lambda tables: "keel" in set(_where(_found(tables).slopes["shot"], "moves")["set"])),
    "practice list": (
        _better(),
        lambda tables: practice_list(tables, _found(tables))[["kind", "subject"]].iloc[0].tolist() == ["keep", "keel"],
    ),
}


def _where(frame: pd.DataFrame, column: str) -> pd.DataFrame:
    return frame[frame[column].fillna(False)]


@pytest.mark.parametrize("name", FOUND)
def test_what_was_planted_is_found_in_most_seasons(name: str) -> None:
    more, found = FOUND[name]
    least = 0.4 if name == "slopes" else 0.85  # each slope knows its own games alone
    assert sum(found(_season(1000 + seed, more)) for seed in range(N_PLANTED)) >= least * N_PLANTED
