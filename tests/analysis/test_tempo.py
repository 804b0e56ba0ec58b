"""Time of possession, shots in time, and what was looked for."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.looked import looked_for
from analysis.tempo import median, tempo
from tagger.tables import frames
from tests.analysis.invented import one, season
from tests.counts import cases

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _possession(name: str, start_s: int, end_s: int, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": name, "start_ms": start_s * 1000, "end_ms": end_s * 1000} | how


def test_a_possession_without_a_shot_had_none_in_time_and_is_not_left_out() -> None:
    tables = frames(
        {
            "possessions": [
                _possession("p1", 0, 30),
                _possession("p2", 40, 44),
                _possession("p3", 50, 90, settled_ms=55_000),
            ],
            "runs": [HEAD | {"id": "r", "possession": "p3", "phase": "second_chance"}],
            "shots": [
                HEAD | {"id": "s1", "possession": "p1", "at_ms": 9000, "result": "wide"},
                HEAD | {"id": "s2", "possession": "p3", "at_ms": 75_000, "result": "saved"},
                HEAD | {"id": "s3", "possession": "p3", "at_ms": 78_000, "result": "goal", "run": "r"},
            ],
        }
    )
    made = one(tempo(tables))
    assert [(made[f"shot_in_{s}s_k"], made[f"shot_in_{s}s_n"]) for s in (10, 20, 30)] == [(1, 3), (1, 3), (2, 3)]
    assert (made["time_s"], made["length_s"], made["settle_s"], made["first_shot_s"]) == (74.0, 30.0, 5.0, 17.0)
    assert (made["first_shot_s_n"], made["first_shot_s_lo"]) == (2, None)
    assert (made["extended_k"], made["extended_n"], made["second_goal_k"], made["second_goal_n"]) == (1, 3, 1, 1)


@settings(deadline=None)
@given(st.lists(st.floats(0, 100), min_size=6, max_size=40))
def test_the_median_lies_in_its_interval(values: list[float]) -> None:
    middle, lo, hi = median(np.array(values))
    assert lo <= middle <= hi and lo in values and hi in values


def test_the_medians_interval_covers_by_counting_all_orders() -> None:
    # Under continuity the number of values below the median is binomial (n, 1/2); textbook ranks for 95 %: n = 10 →
    # 2nd and 9th (Conover, Practical Nonparametric Statistics, from memory).
    _, lo, hi = median(np.arange(1.0, 11.0))
    assert (lo, hi) == (2.0, 9.0)
    rng = np.random.default_rng(2)
    hits = [lo <= np.log(2) <= hi for _, lo, hi in (median(rng.exponential(size=25)) for _ in range(1500))]
    assert 0.95 <= np.mean(hits) <= 0.985


def _games(rng: np.random.Generator, differ: float) -> dict[str, Any]:
    """Eight games of 25 possessions, whose lengths are of another scale in each."""
    scale = np.repeat(np.exp(rng.normal(0, differ, 8)), 25)
    rows = [
        HEAD | {"game": f"g{at // 25}", "id": f"p{at}", "start_ms": 0, "end_ms": int(20_000 * scale[at] * seconds)}
        for at, seconds in enumerate(rng.exponential(1 / np.log(2), 200))
    ]
    return frames({"possessions": rows})


def test_a_median_over_games_that_differ_holds_as_often_as_it_says() -> None:
    rng = np.random.default_rng(8)
    alike = [one(tempo(_games(rng, 0.0))) for _ in range(cases(30, many=100))]
    differ = [one(tempo(_games(rng, 0.4))) for _ in range(cases(30, many=100))]
    for made in (alike, differ):
        hits = [row["length_s_lo"] <= 20 <= row["length_s_hi"] for row in made]
        assert np.mean(hits) >= 0.9
    wide, narrow = (np.mean([row["length_s_hi"] - row["length_s_lo"] for row in made]) for made in (differ, alike))
    assert wide > 1.2 * narrow
    assert median(np.arange(1.0, 31.0), stretch=4.0)[1:] == (4.0, 27.0) and median(np.arange(1.0, 31.0))[1:] == (
        10.0,
        21.0,
    )


def test_what_was_looked_for_goes_by_time_and_game() -> None:
    tables = frames(
        {
            "detail": [
                {"game": "g1", "id": "d1", "start_ms": 0, "end_ms": 5000, "looks_for": "shot penalty"},
                {"game": "g1", "id": "d2", "start_ms": 5000, "looks_for": "shot screen screen.free"},
                {"game": "g2", "id": "d3", "start_ms": 0, "looks_for": "shot screen"},
            ],
            "possessions": [
                {"game": "g1", "id": "a", "start_ms": 0}, {"game": "g1", "id": "b", "start_ms": 6000},
                {"game": "g2", "id": "c", "start_ms": 0}, {"game": "g3", "id": "d", "start_ms": 0},
            ],
        }
    )  # fmt: skip
    assert looked_for(tables, tables["possessions"], "screen").tolist() == [False, True, True, True]
    assert looked_for(tables, tables["possessions"], "screen.free").tolist() == [False, True, False, True]
    edge = frames({"possessions": [{"game": "g1", "id": "e", "start_ms": at_ms} for at_ms in (4999, 5000)]})[
        "possessions"
    ]
    assert looked_for(tables, edge, "penalty").tolist() == [True, False]


@pytest.mark.parametrize("make", [tempo])
def test_nothing_and_coded_tables(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=12)
    full, nothing = make(tables), make(frames({}))
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))
