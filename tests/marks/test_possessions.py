"""What begins a possession beside the mark that says whose ball it is."""

from __future__ import annotations

from tests.marks.test_floor import codes, play, table


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


def test_a_ball_won_by_who_has_it_or_by_nobody_knows_whom_begins_nothing() -> None:
    found = play("B f", 6, "U h Escape", 8, "U v", 10, "x v", level="whole")
    assert table(found, "possessions", "team", "start_ms") == [("theirs", 200)]
    assert table(found, "loose_balls", "possession") == [(found.rows["possessions"][0]["id"],)] * 2
