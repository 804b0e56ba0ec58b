"""The shape of counts and rates."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis import rate
from tests.analysis.invented import rates_in


def _ids(*tuples: tuple[str, ...]) -> np.ndarray:
    made = np.empty(len(tuples), dtype=object)
    for place, each in enumerate(tuples):
        made[place] = each
    return made


def _in_one_game(*counted: int) -> np.ndarray:
    return np.array(counted, dtype=np.int64).reshape(-1, 1)


def test_a_rate_has_its_columns_in_order_with_their_types() -> None:
    made = rate.table(
        {"set": ["keel", None]}, rate.share("shot", _in_one_game(3, 0), _in_one_game(20, 0), _ids(("a",), ()))
    )
    assert list(made.columns) == [
        "set", "shot_k", "shot_n", "shot", "shot_lo", "shot_hi", "shot_few", "shot_ids", "shot_effect",
        "method", "level", "width",
    ]  # fmt: skip
    assert [str(made[name].dtype) for name in made] == [
        "string", "Int64", "Int64", "Float64", "Float64", "Float64", "boolean", "object", "Float64",
        "string", "Float64", "string",
    ]  # fmt: skip
    assert rates_in(made) == ["shot"]


def test_a_rate_without_trials_is_missing_and_flagged() -> None:
    made = rate.table(
        {"set": ["keel", "ferry"]}, rate.share("shot", _in_one_game(3, 0), _in_one_game(20, 0), _ids((), ()))
    )
    assert made["shot"].isna().tolist() == [False, True] and made["shot_few"].tolist() == [False, True]


def test_a_withheld_rate_keeps_its_counts_and_shows_no_estimate() -> None:
    made = rate.table(
        {"player": ["7"]},
        rate.share(
            "fed_goal", _in_one_game(9), _in_one_game(12), _ids(("a",)), asked=np.array([30]), withheld=np.array([True])
        ),
    )
    assert [int(made[f"fed_goal_{what}"].iloc[0]) for what in ("k", "n", "asked")] == [9, 12, 30]
    for name in ("fed_goal", "fed_goal_lo", "fed_goal_hi"):
        assert made[name].isna().tolist() == [True]
    assert made["fed_goal_withheld"].tolist() == [True]


def test_no_rows_give_the_same_columns_and_types() -> None:
    full = rate.table({"set": ["keel"]}, rate.share("shot", _in_one_game(1), _in_one_game(2), _ids(("a",))))
    empty = rate.table({"set": []}, rate.share("shot", _in_one_game(), _in_one_game(), _ids()))
    pd.testing.assert_series_equal(full.dtypes, empty.dtypes)


def test_the_width_says_whether_games_could_be_compared() -> None:
    one_game = rate.share("shot", _in_one_game(3), _in_one_game(20), _ids(()))
    two_games = rate.share("goal", np.array([[1, 2]]), np.array([[10, 10]]), _ids(()))
    bare = {"lift": rate.number([0.1])}
    widths = [
        rate.table({"set": ["keel"]}, *made)["width"].iloc[0] for made in ((one_game,), (two_games, one_game), (bare,))
    ]
    assert widths == [rate.ONE_GAME, rate.ALLOWED_FOR, rate.AT_LEAST]
