"""Players by role, and the box score: rows add up to the team."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.answered import answered
from analysis.codes import coded
from analysis.games import box
from analysis.pairs import feeds
from analysis.players import players
from analysis.slice import Slice
from tagger.tables import frames
from tests.analysis.invented import one, records, season
from tests.counts import cases

HEAD = {"game": "g", "book": "b", "period": 1, "team": "ours", "strength": "5v5"}


def _shot(shot: str, **how: Any) -> dict[str, Any]:
    return HEAD | {"id": shot, "result": "saved", "shooter": "14"} | how


def test_every_role_is_counted_with_its_ids() -> None:
    tables = frames(
        {
            "shots": [
                _shot("s1", result="goal", feeder="8"),
                _shot("s2", feeder="none"),
                _shot("s3", shooter=None, result="unseen"),
            ],
            "screens": [
                HEAD | {"id": "e1", "setter": "8", "user": "14", "free": "user"},
                HEAD | {"id": "e2", "setter": "8", "user": "14", "free": "setter"},
                HEAD | {"id": "e3", "setter": "8", "user": "unseen", "free": None},
            ],
            "turnovers": [HEAD | {"id": "t1", "player": "14"}],
        }
    )
    made = players(tables)
    assert made["player"].tolist()[:3] == ["8", "14", "unseen"] and pd.isna(made["player"].iloc[3])
    eight, fourteen, _, missing = (made.iloc[row] for row in range(4))
    assert (fourteen["shots"], fourteen["goals"], fourteen["shooting_n"], fourteen["shots_ids"]) == (
        2,
        1,
        2,
        ("s1", "s2"),
    )
    assert (fourteen["screens_used"], fourteen["came_free_k"], fourteen["came_free_n"], fourteen["turnovers"]) == (
        2,
        1,
        2,
        1,
    )
    assert (eight["feeds"], eight["feed_goals"], eight["screens_set"], eight["freed_k"], eight["freed_n"]) == (
        1,
        1,
        3,
        2,
        2,
    )
    assert (missing["shots"], missing["shooting_n"]) == (1, 0)


def test_faceoffs_grades_and_games_stand_beside_the_rest() -> None:
    head = {"book": "b", "period": 1, "strength": "5v5"}
    tables = frames(
        {
            "possessions": [
                head | {"game": game, "id": f"p{game}", "team": "ours", "start_ms": 0} for game in ("g1", "g2")
            ],
            "shots": [
                head | {"game": "g1", "id": f"s{n}", "team": "ours", "shooter": "14", "result": "wide"}
                for n in range(3)
            ],
            "turnovers": [
                head | {"game": "g2", "id": "t", "team": "ours", "player": "14", "by": "9"},
                head | {"game": "g2", "id": "u", "team": "theirs", "player": "9", "by": "none"},
                head | {"game": "g2", "id": "v", "team": "theirs", "player": "9", "by": "14", "strength": "4v5"},
            ],
            "faceoffs": [
                {"game": "g1", "id": f"f{n}", "won": won, "ours": "14", "theirs": "9"}
                for n, won in enumerate(["ours", "theirs", "unseen"])
            ],
            "grades": [
                {"game": "g1", "id": f"g{n}", "player": "14", "grade": grade}
                for n, grade in enumerate(["plus", "minus", "not_gradable"])
            ],
            "detail": [
                {"game": "g1", "id": "d1", "start_ms": 0, "looks_for": "shot turnover loose_ball"},
                {"game": "g2", "id": "d2", "start_ms": 0, "looks_for": "shot turnover"},
            ],
        }
    )
    ours, theirs = records(players(tables))
    assert (ours["player"], theirs["player"], ours["games"]) == ("14", "9", 2)
    assert (ours["caused"], ours["caused_ids"], theirs["caused_ids"]) == (1, ("v",), ("t",))
    assert (ours["faceoffs_k"], ours["faceoffs_n"], ours["faceoffs_asked"], theirs["faceoffs_k"]) == (1, 2, 3, 1)
    assert (ours["done_k"], ours["done_n"], ours["done_asked"]) == (1, 2, 3)
    assert (ours["shots_per_game_k"], ours["shots_per_game_n"], ours["shots_per_game"]) == (3, 2, 1.5)
    assert ours["loose_balls_per_game_n"] == 1 and ours["screens_set_per_game_n"] == 0
    assert ours["screens_set_per_game"] is None
    assert len(players(tables, Slice(team="theirs"))) == 1


def test_a_feeders_rate_is_withheld_when_feeders_are_named_on_goals_only() -> None:
    goals = [_shot(f"g{n}", result="goal", feeder="8" if n < 24 else None) for n in range(25)]
    others = [_shot(f"o{n}", feeder="8" if n < 7 else None) for n in range(33)]
    made = players(frames({"shots": goals + others}))
    eight = made[made["player"] == "8"].iloc[0]
    assert (eight["feeds"], eight["fed_goal_k"], eight["fed_goal_n"]) == (31, 24, 31)
    assert eight["fed_goal_withheld"] and pd.isna(eight["fed_goal"])
    told = answered(frames({"shots": goals + others}))
    feeder = told[told["question"] == "feeder"].iloc[0]
    assert (feeder["answered_k"], feeder["answered_n"], feeder["answered_yes_k"], feeder["answered_no_k"]) == (
        31,
        58,
        24,
        7,
    )
    assert feeder["leans"] and not told[told["question"] == "shooter"]["leans"].iloc[0]


def test_a_shooters_rates_are_withheld_when_shooters_are_named_on_goals_only() -> None:
    goals = [_shot(f"g{n}", result="goal", shooter="14" if n < 24 else None) for n in range(25)]
    others = [_shot(f"o{n}", shooter="14" if n < 7 else None) for n in range(33)]
    made = one(players(frames({"shots": goals + others})), player="14")
    assert (made["goals"], made["shooting_k"], made["shooting_n"]) == (24, 24, 31)
    assert made["shooting_withheld"] and made["shooting"] is None and made["on_goal"] is None
    looked = [{"game": "g", "id": "d", "start_ms": 0, "looks_for": "shot"}]  # nobody was to name shooters: not asked
    fair = players(frames({"shots": goals[:24] + others[:7], "detail": looked}))
    assert one(fair, player="14")["shooting"] == pytest.approx(24 / 31)
    unasked = players(frames({"shots": goals + others, "detail": looked}))  # named all the same, and on goals most
    assert one(unasked, player="14")["shooting_withheld"]
    assert feeds(frames({"shots": [row | {"feeder": "8"} for row in goals + others]}))["goal"].isna().all()


def test_a_question_that_was_not_looked_for_was_not_asked() -> None:
    shots = [_shot(f"s{n}", at_ms=n * 1000, feeder="8" if n in {1, 7} else None) for n in range(10)]
    detail = [
        {"game": "g", "id": "d1", "start_ms": 0, "end_ms": 5000, "looks_for": "shot shot.shooter"},
        {"game": "g", "id": "d2", "start_ms": 5000, "looks_for": "shot shot.shooter shot.feeder"},
    ]
    feeder = one(answered(frames({"shots": shots, "detail": detail})), question="feeder")
    assert (feeder["answered_k"], feeder["answered_n"]) == (2, 6)


def test_a_feeders_rate_is_shown_when_answers_do_not_lean() -> None:
    goals = [_shot(f"g{n}", result="goal", feeder="8") for n in range(5)]
    others = [_shot(f"o{n}", feeder="8") for n in range(15)]
    eight = players(frames({"shots": goals + others})).iloc[0]
    assert not eight["fed_goal_withheld"] and eight["fed_goal"] == 0.25


@settings(max_examples=cases(5, many=12), deadline=None)
@given(
    st.integers(0, 10_000),
    st.sampled_from([None, "ours", "theirs"]),
    st.sampled_from([None, ("even",), ("up", "down")]),
)
def test_players_shots_are_the_teams_shots(seed: int, team: str | None, strengths: tuple[str, ...] | None) -> None:
    tables = season(seed, n_games=2, n_possessions=10)
    part = Slice(team=team, strengths=strengths)
    by_player, by_game = players(tables, part), box(tables, part)
    for name in ("shots", "shots_on_goal", "goals", "blocked", "turnovers"):
        per_team = by_game.groupby("team")[name].sum()
        for side, total in per_team.items():
            assert by_player[by_player["team"] == side][name].sum() == total


@settings(max_examples=cases(4, many=10), deadline=None)
@given(st.integers(0, 10_000))
def test_box_scores_add_up_over_games_and_periods(seed: int) -> None:
    tables = season(seed, n_games=3, n_possessions=9)
    season_rows, by_game, by_period = (box(tables, by=by) for by in ((), ("game",), ("game", "period")))
    counts = [
        name for name in season_rows.columns.tolist() if f"{name}_ids" in season_rows and f"{name}_k" not in season_rows
    ]
    assert "possessions" in counts and "saves" in counts
    for name in counts:
        for team in ("ours", "theirs"):
            whole = season_rows[season_rows["team"] == team].iloc[0]
            for table in (by_game, by_period):
                rows = table[table["team"] == team]
                assert rows[name].sum() == whole[name]
                assert {i for ids in rows[f"{name}_ids"] for i in ids} == set(whole[f"{name}_ids"])


def test_saves_and_goals_against_are_the_other_teams_shots() -> None:
    shots = [
        _shot("s1", team="theirs", result="goal"), _shot("s2", team="theirs"), _shot("s3", team="theirs"),
        _shot("s4", result="goal"), _shot("s5", team="theirs", result="wide"),
    ]  # fmt: skip
    made = box(frames({"shots": shots}))
    ours = made[made["team"] == "ours"].iloc[0]
    assert (ours["saves"], ours["goals_against"], ours["save_k"], ours["save_n"]) == (2, 1, 2, 3)
    assert ours["saves_ids"] == ("s2", "s3") and ours["goals"] == 1


def test_a_game_with_nothing_of_one_team_still_has_both_rows() -> None:
    made = box(frames({"possessions": [HEAD | {"id": "p"}]}))
    assert made["team"].tolist() == ["ours", "theirs"] and made["possessions"].tolist() == [1, 0]
    assert pd.isna(made["goals_per_100"].iloc[1]) and made["goals_per_100"].iloc[0] == 0.0


def test_empty_seasons_and_coded_tables() -> None:
    for make in (players, box, answered):
        nothing = make(frames({}))
        assert len(nothing) == 0
        tables = season(5, n_games=2, n_possessions=12)
        full = make(tables)
        pd.testing.assert_series_equal(nothing.dtypes, full.dtypes)
        pd.testing.assert_frame_equal(full, make(coded(tables)))
