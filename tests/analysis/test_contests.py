"""Face-offs and loose balls: who won them, what followed, and what came before."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from analysis.codes import coded
from analysis.contests import faceoffs, loose_balls
from analysis.errors import QuestionError
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, season

HEAD = {"game": "g", "book": "b", "period": 1}


def _at(name: str, at_s: int, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": name, "at_ms": at_s * 1000} | how


def _from(name: str, start_s: int, team: str, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": name, "start_ms": start_s * 1000, "team": team} | how


def test_what_follows_a_face_off_is_of_the_next_possession_before_another_one() -> None:
    drawn = [
        _at("f1", 0, won="ours", ours="14"), _at("f2", 60, won="theirs", ours="14"),
        _at("f3", 100, won="unseen"), _at("f4", 100, period=2, ours="7"),
    ]  # fmt: skip
    held = [_from("p1", 2, "ours"), _from("p2", 65, "ours"), _from("p3", 101, "theirs", period=2)]
    shots = [
        _at("s1", 8, team="ours", result="wide"), _at("s2", 90, team="theirs", result="saved"),
        _at("s3", 61, team="theirs", result="dump"), _at("s4", 100, team="ours", period=2, result="goal"),
    ]  # fmt: skip
    made = faceoffs(frames({"faceoffs": drawn, "possessions": held, "shots": shots}))
    his, nobody, other = one(made, ours="14"), one(made, ours=None), one(made, ours="7")
    assert (his["faceoffs"], his["won_k"], his["won_n"], his["ball_k"], his["ball_n"]) == (2, 1, 2, 2, 2)
    assert (his["shot_10s_k"], his["shot_30s_ids"], his["shot_against_30s_ids"]) == (1, ("f1",), ("f2",))
    assert (nobody["won_n"], nobody["ball_n"], nobody["shot_30s_n"], nobody["won_asked"]) == (0, 0, 0, 1)
    assert (other["won_n"], other["ball_k"], other["ball_n"], other["shot_10s_k"]) == (0, 0, 1, 1)


def test_shots_that_nobody_looked_for_did_not_fail_to_come() -> None:
    rows = {"faceoffs": [_at("f1", 5)], "possessions": [_from("p1", 6, "ours")]}
    detail = [HEAD | {"id": "d", "start_ms": 0, "looks_for": "faceoff possession"}]
    made = one(faceoffs(frames({**rows, "detail": detail}), by="winner"))
    assert (made["ball_n"], made["shot_30s_n"], made["shot_30s"]) == (1, 0, None)


def test_a_loose_ball_stands_under_what_was_marked_last_before_it() -> None:
    tables = frames(
        {
            "faceoffs": [_at("f", 0)],
            "possessions": [_from("p1", 2, "ours", settled_ms=10_000), _from("p2", 30, "theirs")],
            "shots": [_at("s", 15, team="ours", result="wide")],
            "turnovers": [_at("t", 40, team="theirs")],
            "loose_balls": [
                _at("l1", 2, team="ours", player="14"), _at("l2", 5, team="ours", player="7"), _at("l3", 12),
                _at("l4", 15, team="theirs", player="12"), _at("l5", 31, team="theirs"), _at("l6", 41, team="ours"),
                _at("l7", 1, team="ours", period=2, player="14"),
            ],
        }
    )  # fmt: skip
    made = loose_balls(tables)
    found = {row["place"]: row["loose_balls_ids"] for _, row in made.iterrows()}
    assert found == {
        "faceoff": ("l1",), "our_shot": ("l4",), "their_loss": ("l6",), "our_start": ("l2",), "their_start": ("l5",),
        "our_settled": ("l3",), "nothing": ("l7",),
    }  # fmt: skip
    assert (one(made, place="our_settled")["won_n"], one(made, place="our_shot")["won"]) == (0, 0)
    man = one(loose_balls(tables, Slice(team="ours"), by="player"), player="14")
    assert (man["loose_balls"], man["after_faceoff_ids"], man["in_possession"]) == (2, ("l1",), 0)


def test_what_cannot_be_split_by_is_refused_by_name() -> None:
    with pytest.raises(QuestionError, match="“moon”"):
        faceoffs(frames({}), by="moon")
    with pytest.raises(QuestionError, match="“moon”"):
        loose_balls(frames({}), by="moon")


@pytest.mark.parametrize("make", [faceoffs, loose_balls])
def test_nothing_and_coded_tables(make: Any) -> None:
    tables = season(7, n_games=2, n_possessions=12)
    full, nothing = make(tables), make(frames({}))
    pd.testing.assert_series_equal(full.dtypes, nothing.dtypes)
    pd.testing.assert_frame_equal(full, make(coded(tables)))
