"""Whole tables against the generator's known rates: what was put in comes out, within what chance allows."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.games import box
from analysis.man_up import power_plays
from analysis.screens import screens
from analysis.sets import sets
from analysis.slice import Slice
from analysis.standing import standings
from sample_data.rates import TrueRates
from tests.analysis.generated import generated_season
from tests.analysis.invented import one, rates_in, records
from tests.counts import cases

EVEN = Slice(team="ours", strengths=("even",))
N_GAMES = 6
N_SEASONS = cases(6, many=12)
TRUE = TrueRates()


@pytest.fixture(scope="module")
def season() -> dict[str, pd.DataFrame]:
    return generated_season(3, N_GAMES)


def test_the_score_is_the_score_and_possessions_are_shared(season: dict[str, pd.DataFrame]) -> None:
    made = box(season, by=())
    ours, theirs = one(made, team="ours"), one(made, team="theirs")
    goals = season["shots"][season["shots"]["result"] == "goal"]["team"].value_counts()
    assert (ours["goals"], theirs["goals"]) == (goals["ours"], goals["theirs"])
    assert ours["goals_against"] == theirs["goals"] and ours["save_n"] == theirs["shots_on_goal"]
    assert abs(ours["possessions"] - theirs["possessions"]) < 0.1 * ours["possessions"]
    assert sum(one(power_plays(season), team=team)["power_plays"] for team in ("ours", "theirs")) > 0


def test_true_rates_of_the_sets_lie_in_their_intervals(season: dict[str, pd.DataFrame]) -> None:
    made = sets(season, Slice(team="ours", strengths=("even",), phases=("set",)))
    held = [
        row["shot_lo"] <= TRUE.of(row["set"]).p_shot <= row["shot_hi"]
        for row in records(made)
        if row["set"] != "samphire"
    ]
    assert len(held) == 5 and sum(held) >= 4


def test_the_share_of_screens_that_freed_somebody_is_what_was_put_in(season: dict[str, pd.DataFrame]) -> None:
    made = screens(season, EVEN, by=("set",))
    for name in ("lantern", "keel", "ferry"):
        row, true = one(made, set=name), TRUE.of(name)
        # the first screen of a run draws from the true shares; re-picks come on top, so a wide net
        assert row["freed"] == pytest.approx(true.p_free / true.screened, abs=0.15)


def test_drawn_rates_lie_nearer_the_truth_than_raw_ones_over_seasons_generated_one_by_one() -> None:
    # Seasons of two games, each from seeds of its own; `python -m tests.bench seasons` does 200 of eight games.
    raw = drawn = 0.0
    n = 0
    for seed in range(101, 101 + N_SEASONS):
        for row in records(standings(generated_season(seed, n_games=2), EVEN)):
            if row["set"] != "samphire" and row["raw_n"]:  # the man-up set, run by mistake
                truth = TRUE.of(row["set"]).p_shot
                raw += (row["raw"] - truth) ** 2
                drawn += (row["shrunken"] - truth) ** 2
                n += 1
    assert n >= 4 * N_SEASONS and drawn < 0.9 * raw


def test_every_rate_of_a_season_is_a_share_with_its_rows(season: dict[str, pd.DataFrame]) -> None:
    made = sets(season)
    names = rates_in(made)
    assert len(names) > 10
    for name in names:
        assert (made[f"{name}_ids"].map(len) == made[f"{name}_k"]).all()
        share = made[name].dropna().to_numpy(dtype=np.float64)
        assert ((share >= 0) & (share <= 1)).all()
