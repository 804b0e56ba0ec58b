"""Shot quality: planted effects are found, leaks are shut, and too little is said to be too little."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.codes import coded
from analysis.shot_quality import MODEL, NOTHING, ZONES, Quality, above_expected, number_of_goals, quality
from tagger.tables import frames
from tests.analysis.invented import one, records

GOAL_X_M = 25.3


def _season(
    seed: int, n: int = 500, *, placed: str = "all", fed: str = "all", slope: float = -0.4, n_games: int = 10
) -> dict[str, pd.DataFrame]:
    """Shots whose chance falls with distance and angle, by players who are all alike."""
    rng = np.random.default_rng(seed)
    shots: list[dict[str, Any]] = []
    for at in range(n):
        distance, side = rng.uniform(2, 11), rng.uniform(-1.2, 1.2)
        feeder = str(rng.choice(["none", "8"]))
        goal = bool(rng.random() < 1 / (1 + np.exp(-(0.9 + slope * distance - 0.8 * abs(side)))))
        there = placed == "all" or goal or (placed == "mostly goals" and at % 4 > 0)
        shots.append(
            {
                "game": f"g{at % n_games}", "id": f"s{at}", "team": "ours", "strength": "5v5", "at_ms": at,
                "shooter": str(rng.choice(["14", "5", "9"])),
                "result": "goal" if goal else str(rng.choice(["saved", "wide"])),
                "feeder": feeder if fed == "all" or goal else None,
                "x_m": GOAL_X_M - distance * np.cos(side) if there else None,
                "y_m": distance * np.sin(side) if there else None,
            }
        )  # fmt: skip
    return frames({"shots": shots})


def test_a_planted_distance_is_found_and_shots_not_seen_are_foretold_better_than_by_the_base_rate() -> None:
    found = quality(_season(1), goal_x_m=GOAL_X_M)
    assert found.method == MODEL and found.used[:2] == ("distance", "angle")
    distance = one(found.terms, term="distance")
    assert distance["odds_lo"] < np.exp(-0.4) < distance["odds_hi"] < 1
    check = records(found.checks)[0]
    assert check["brier"] < check["base_brier"] and check["log_loss"] < check["base_log_loss"]
    assert check["slope_lo"] < 1 < check["slope_hi"] and not check["separated"]
    assert found.shots["expected"].sum() == pytest.approx(check["goals"], abs=1e-6)


def test_places_known_on_goals_only_would_tell_the_result_and_are_left_out() -> None:
    found = quality(_season(2, placed="goals", fed="goals"), goal_x_m=GOAL_X_M)
    assert not {"distance", "angle", "feed"} & set(found.used)
    reasons = dict(reason.split(": ", 1) for reason in found.left_out)
    assert "answered" in reasons["distance"] and "answered" in reasons["feed"]


def test_places_that_were_not_looked_for_in_some_games_are_no_leak() -> None:
    tables = _season(2)
    shots = tables["shots"]
    late = shots["game"].isin(["g8", "g9"])
    shots.loc[late, ["x_m", "y_m"]] = None
    looks = {True: "shot shot.feeder", False: "shot shot.feeder shot.place"}
    detail = [
        {"game": f"g{n}", "id": f"d{n}", "start_ms": 0, "looks_for": looks[n > 7], "level": "main"} for n in range(10)
    ]
    found = quality(tables | {"detail": frames({"detail": detail})["detail"]}, goal_x_m=GOAL_X_M)
    assert found.used[:2] == ("distance", "angle") and len(found.shots) == len(shots)


def test_places_known_a_little_more_often_on_goals_are_left_out_for_that() -> None:
    found = quality(_season(8, placed="mostly goals", slope=-0.25), goal_x_m=GOAL_X_M)
    reasons = dict(reason.split(": ", 1) for reason in found.left_out)
    assert reasons["distance"] == "answered at another rate on goals than on other shots"


def test_without_floor_measures_it_works_from_what_there_is_and_says_so() -> None:
    found = quality(_season(3))
    assert "distance" not in found.used and any("measures" in reason for reason in found.left_out)
    assert found.method == MODEL and found.used == ("feed",) and "feed" in found.said


def test_terms_that_tell_goals_without_error_are_found_out_and_said() -> None:
    shots = [
        {
            "game": f"g{at % 6}", "id": f"s{at}", "team": "ours", "strength": "5v5", "at_ms": at, "shooter": "14",
            "result": "goal" if at % 4 == 0 else "wide", "feeder": "none",
            "x_m": GOAL_X_M - (2.0 if at % 4 == 0 else 6.0) - at % 7 / 10, "y_m": at % 5 - 2.0,
        }
        for at in range(160)
    ]  # fmt: skip
    found = quality(frames({"shots": shots}), goal_x_m=GOAL_X_M)
    check, distance = records(found.checks)[0], one(found.terms, term="distance")
    assert found.method == MODEL and check["separated"] and "without error" in found.said
    assert np.isfinite([distance["odds"], distance["odds_lo"], distance["odds_hi"]]).all()
    assert distance["method"].startswith("firth; wald") and check["slope_se"] > 0
    assert "without error" not in quality(_season(1), goal_x_m=GOAL_X_M).said


def test_too_few_shots_give_zone_rates_drawn_to_the_season() -> None:
    found = quality(_season(4, n=60), goal_x_m=GOAL_X_M)
    assert found.method == ZONES and "60 shots" in found.said and len(found.terms) == 0
    base = found.shots["goal"].astype(float).mean()
    assert found.shots["expected"].between(0, 1).all() and found.shots["expected"].mean() == pytest.approx(
        base, abs=0.05
    )
    assert found.checks["brier"].isna().all()


def test_terms_are_as_many_as_the_goals_allow() -> None:
    tables = _season(5, n=160, slope=-0.75)
    n_goals = int((tables["shots"]["result"] == "goal").sum())
    found = quality(tables, goal_x_m=GOAL_X_M)
    assert 5 <= n_goals < 15 and len(found.used) == n_goals // 5
    assert any("too few goals" in reason for reason in found.left_out)


def test_the_good_side_is_a_term_when_hands_are_known() -> None:
    found = quality(_season(6), goal_x_m=GOAL_X_M, shoots={"14": "R", "5": "L", "9": "R"})
    assert "good_side" in found.used


def test_empty_nets_and_unknown_results_are_left_out() -> None:
    shots = [
        {"game": "g", "id": "s1", "team": "ours", "strength": "5v6e", "result": "goal"},
        {"game": "g", "id": "s2", "team": "ours", "strength": "5v5", "result": "unseen"},
        {"game": "g", "id": "s3", "team": "ours", "strength": "5v5", "result": "goal"},
    ]
    found = quality(frames({"shots": shots}))
    assert found.shots["shot"].tolist() == ["s3"]


def test_players_who_are_all_alike_are_seldom_above_what_was_expected() -> None:
    outside = total = 0
    for seed in range(20):
        made = above_expected(quality(_season(seed, n=240), goal_x_m=GOAL_X_M))
        assert made["goals"].sum() - made["expected"].sum() == pytest.approx(made["above"].sum())
        outside += int(((made["above_lo"] > 0) | (made["above_hi"] < 0)).sum())
        total += len(made)
    assert total == 60 and outside <= 5


@settings(deadline=None)
@given(st.lists(st.floats(0, 1), max_size=12))
def test_numbers_of_goals_are_a_distribution_with_the_right_mean(p: list[float]) -> None:
    made = number_of_goals(np.array(p))
    assert made.sum() == pytest.approx(1) and made @ np.arange(len(p) + 1) == pytest.approx(sum(p))


def test_numbers_of_goals_of_equal_shots_are_scipys_binomial() -> None:
    from scipy.stats import binom

    np.testing.assert_allclose(number_of_goals(np.full(9, 0.3)), binom.pmf(np.arange(10), 9, 0.3))


@pytest.mark.parametrize("result", ["goal", "wide"])
def test_all_goals_and_no_goals_give_zones_without_warnings(result: str) -> None:
    shots = [
        {"game": "g", "id": f"s{n}", "team": "ours", "shooter": "14", "strength": "5v5", "result": result}
        for n in range(150)
    ]
    found = quality(frames({"shots": shots}))
    assert found.method == ZONES
    assert records(above_expected(found))[0]["above"] == pytest.approx(0, abs=1.0)


def test_nothing_and_coded_tables() -> None:
    found = quality(frames({}))
    assert found.method == NOTHING and len(found.shots) == 0 and len(above_expected(found)) == 0
    tables = _season(7, n=200)
    one_way, other = (quality(given_tables, goal_x_m=GOAL_X_M) for given_tables in (tables, coded(tables)))
    assert isinstance(one_way, Quality)
    for name in ("shots", "terms", "checks"):
        pd.testing.assert_frame_equal(getattr(one_way, name), getattr(other, name))
    pd.testing.assert_series_equal(found.shots.dtypes, one_way.shots.dtypes)
    pd.testing.assert_series_equal(found.checks.dtypes, one_way.checks.dtypes)
    pd.testing.assert_series_equal(above_expected(found).dtypes, above_expected(one_way).dtypes)
