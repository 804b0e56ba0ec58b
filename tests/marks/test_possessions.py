"""What begins a possession beside the mark that says whose ball it is."""

from __future__ import annotations

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
