"""What falls in a slice."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import SliceError
from analysis.slice import EVERYTHING, PHASES, Slice, cut
from analysis.strength import class_of
from tagger.tables import frames
from tests.analysis.invented import season
from tests.counts import cases


@pytest.mark.parametrize(
    ("strength", "kind"),
    [("5v5", "even"), ("4v4", "even"), ("5v4", "up"), ("5v3", "up"), ("4v5", "down"), ("6ev5", "empty_net"),
     ("5v6e", "empty_net"), ("five", None)],
)  # fmt: skip
def test_strengths_have_a_class_seen_from_the_ball(strength: str, kind: str | None) -> None:
    assert class_of(strength) == kind


@settings(max_examples=cases(5, many=10), deadline=None)
@given(st.integers(0, 10_000))
def test_slices_that_split_the_season_put_every_row_in_exactly_one(seed: int) -> None:
    tables = season(seed, n_games=2, n_possessions=8)
    splits = {
        "game": [Slice(games=(game,)) for game in ("g1", "g2")],
        "period": [Slice(periods=(period,)) for period in (1, 2, 3)],
        "strength": [Slice(strengths=(name,)) for name in ("even", "up", "down", "empty_net")],
        "team": [Slice(team=team) for team in ("ours", "theirs")],
    }
    for parts in splits.values():
        pieces = [cut(tables, part) for part in parts]
        for name in ("possessions", "runs", "shots", "turnovers", "screens", "grades", "loose_balls"):
            held = sorted(row for piece in pieces for row in piece[name]["id"])
            assert held == sorted(tables[name]["id"])
    by_phase = [cut(tables, Slice(phases=(phase,))) for phase in PHASES]
    for name in ("runs", "screens", "shots", "grades"):
        assert sorted(row for piece in by_phase for row in piece[name]["id"]) == sorted(tables[name]["id"])


def test_a_slice_changes_nothing_and_keeps_the_index() -> None:
    tables = season(4, n_games=2, n_possessions=6)
    before = {name: frame.copy() for name, frame in tables.items()}
    made = cut(tables, Slice(games=("g2",), strengths=("even",), team="ours", phases=("set",)))
    assert set(made["runs"].index) <= set(tables["runs"].index)
    assert made["runs"]["game"].eq("g2").all() and made["runs"]["phase"].eq("set").all()
    for name, frame in tables.items():
        pd.testing.assert_frame_equal(frame, before[name])
    assert cut(tables, EVERYTHING)["shots"] is tables["shots"]


def test_what_carries_no_strength_goes_with_its_run() -> None:
    head = {"game": "g", "book": "b", "period": 1, "team": "ours"}
    tables = frames(
        {
            "possessions": [head | {"id": "p1", "strength": "5v5"}, head | {"id": "p2", "strength": "5v4"}],
            "runs": [head | {"id": "r1", "possession": "p1", "strength": "5v4", "phase": "set"}],
            "grades": [
                {"game": "g", "id": "in_run", "possession": "p1", "run": "r1", "period": 1},
                {"game": "g", "id": "in_possession", "possession": "p2", "period": 1},
                {"game": "g", "id": "nowhere", "period": 1},
            ],
        }
    )
    assert cut(tables, Slice(strengths=("up",)))["grades"]["id"].tolist() == ["in_run", "in_possession"]
    assert cut(tables, Slice(strengths=("5v5",)))["grades"]["id"].tolist() == []
    assert cut(tables, Slice(team="ours"))["grades"]["id"].tolist() == ["in_run", "in_possession", "nowhere"]


def test_opponents_are_games() -> None:
    met = {"g1": "Quarry Hill", "g2": "Millrace", "g7": "Millrace"}
    assert Slice().against(("Millrace",), met).games == ("g2", "g7")
    assert Slice(games=("g1", "g7")).against(("Millrace",), met).games == ("g7",)


@pytest.mark.parametrize(
    ("how", "word"),
    [
        ({"team": "us"}, "us"),
        ({"sides": ("middle",)}, "middle"),
        ({"phases": ("sets",)}, "sets"),
        ({"strengths": ("pp",)}, "pp"),
    ],
)
def test_a_slice_of_what_does_not_exist_is_refused_by_name(how: dict[str, object], word: str) -> None:
    with pytest.raises(SliceError, match=word):
        Slice(**how)  # type: ignore[arg-type]
