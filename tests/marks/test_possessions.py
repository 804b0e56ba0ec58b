"""What begins a possession beside the mark that says whose ball it is."""

from __future__ import annotations

import pytest

from tagger.marks.fold import fold
from tests.marks.test_floor import codes, play, table
from tests.marks.test_fold import FACTS, OURS, START, book


def test_a_ball_won_begins_the_possession_that_saying_it_again_only_confirms() -> None:
    found = play(
        "B", 6, "U u 1 4 Enter", 7, "1 a", 9, "s 1 4 w h", 12, "U h Escape", 13, "f c", 20, "x v", level="whole"
    )
    assert table(found, "possessions", "team", "gained", "start_ms") == [
        ("ours", "loose_ball", 6100),
        ("theirs", "turnover", 12_100),
    ]
    assert table(found, "loose_balls", "team", "possession") == [("ours", None), ("theirs", None)]
    assert codes(found) == []


@pytest.mark.parametrize(
    ("before", "gained"),
    [
        ("B F u 2 1 Enter 9 Enter", "faceoff"),
        ("B F Enter", "faceoff"),
        ("B F h 2 1 Enter 9 Enter", "loose_ball"),  # they had it from the draw, and lost it without a mark
        ("B", "loose_ball"),
        ("B f s 9 w Escape", "missed_shot"),
        ("B f s 9 w h", "missed_shot"),
        ("B f s 9 a h", "save"),
        ("B f s 9 g Escape", "faceoff"),
        ("B f x 9 b", "turnover"),
        ("B f q u Escape", "whistle"),
        ("B f", "loose_ball"),  # taken from them: how theirs ended nobody marked, which is listed
        ("B d x 1 4 b", "loose_ball"),  # our own lost ball is nothing that we gained by
        ("B d s 1 4 w h", "loose_ball"),
        ("B f s 9 w h B B", "loose_ball"),  # what ended with the period gives nobody the ball
    ],
)
def test_a_loose_ball_is_gained_by_what_it_came_loose_from(before: str, gained: str) -> None:
    found = play(before, 6, "U u 1 4 Enter", 9, "x 1 4 b", level="whole")
    assert table(found, "possessions", "team", "gained")[-1] == ("ours", gained)
    assert [row["team"] for row in found.rows["loose_balls"]] == ["ours"]


def test_how_a_loose_ball_was_gained_can_be_said_otherwise() -> None:
    found = play("B f s 9 w h", 6, "U u 1 4 Enter", 7, "d b", 9, "x 1 4 b", level="whole")
    assert table(found, "possessions", "team", "gained") == [("theirs", None), ("ours", "loose_ball")]


def test_a_ball_won_by_who_has_it_or_by_nobody_knows_whom_begins_nothing() -> None:
    found = play("B f", 6, "U h Escape", 8, "U v", 10, "x v", level="whole")
    assert table(found, "possessions", "team", "start_ms") == [("theirs", 200)]
    assert table(found, "loose_balls", "possession") == [(found.rows["possessions"][0]["id"],)] * 2


def test_an_illegal_pick_is_one_mark_its_screen_and_the_lost_ball_where_screens_are_looked_for() -> None:
    lost = (20, "turnover", {"player": "22", "kind": "illegal_pick", "picked": "yes"})
    found = fold(book(START, (10, "possession", OURS), lost), FACTS)
    (screen,), (ball,) = found.rows["screens"], found.rows["turnovers"]
    assert (screen["free"], screen["setter"], screen["run"], screen["marks"]) == ("illegal", "22", ball["run"], ("m3",))
    assert (screen["id"], ball["id"], ball["player"], found.problems) == ("m3/screen", "m3", "22", ())
    assert found.rows["possessions"][0]["ended"] == "violation"
    for more in (
        (15, "screen", {"free": "illegal", "setter": "22"}),  # its own mark says it, or begins to
        (15, "screen", {"setter": "22"}),
        (5, "detail", {"level": "basic"}),
    ):
        rows = fold(book(START, *sorted([more, (10, "possession", OURS), lost], key=lambda one: one[0])), FACTS).rows
        assert [row["id"] for row in rows["screens"]] == (["m3"] if more[1] == "screen" else [])
    before = (20, "turnover", {"player": "22", "kind": "illegal_pick"})  # as it was entered before
    assert fold(book(START, (10, "possession", OURS), before), FACTS).rows["screens"] == []
