"""Play time and the game's clock: worked out where the film gives enough, unknown elsewhere."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.playtime import PeriodClock, PlayTime
from tests.marks.test_fold import LANGUAGE, OURS, START, THEIRS, book


def folded(*marks: tuple[int, str, dict[str, Any]], stop_clock: bool = True) -> Folded:
    facts = GameFacts("g1", "anna", LANGUAGE, (FilmSpan("f1", 0, 3_600_000),), period_s=900, stop_clock=stop_clock)
    return fold(book(*marks), facts)


def clocks(found: Folded, table: str) -> list[int | None]:
    return [row.get("clock_s") for row in found.rows[table]]


def test_with_running_time_the_clock_runs_from_the_periods_beginning() -> None:
    found = folded(
        START,
        (10, "possession", OURS),
        (20, "whistle", {"to": "ours"}),
        (40, "shot", {"result": "wide"}),
        stop_clock=False,
    )
    assert clocks(found, "possessions") == [890] and clocks(found, "shots") == [860]


def test_with_a_stop_clock_and_no_reading_the_clock_is_unknown() -> None:
    assert clocks(folded(START, (10, "possession", OURS)), "possessions") == [None]


def test_the_clock_stands_from_the_whistle_to_the_next_play() -> None:
    found = folded(
        START,
        (5, "clock", {"clock": 895}),
        (10, "possession", OURS),
        (20, "whistle", {"to": "theirs"}),
        (50, "possession", THEIRS),
        (55, "shot", {"result": "goal"}),
        (80, "faceoff", {"won": "ours"}),
    )
    assert clocks(found, "possessions") == [890, 880]
    assert clocks(found, "shots") == [875] and clocks(found, "faceoffs") == [875]


def test_between_readings_that_disagree_the_clock_is_unknown_and_after_them_known_again() -> None:
    found = folded(
        START,
        (5, "clock", {"clock": 895}),
        (10, "possession", OURS),
        (100, "clock", {"clock": 860}),
        (110, "possession", THEIRS),
    )
    assert clocks(found, "possessions") == [None, 850]


def test_a_reading_a_second_off_is_believed_and_the_time_between_shared_out() -> None:
    found = folded(START, (0, "clock", {"clock": 900}), (50, "possession", OURS), (100, "clock", {"clock": 798}))
    assert clocks(found, "possessions") == [849]


@given(
    st.lists(st.tuples(st.integers(0, 50_000), st.booleans()), max_size=30),
    st.lists(st.integers(0, 60_000), min_size=2, max_size=5),
)
def test_play_time_only_grows_and_never_faster_than_film(turns: list[tuple[int, bool]], moments: list[int]) -> None:
    play = PlayTime(True)
    for at_ms, on in sorted(turns):
        (play.start if on else play.halt)(at_ms)
    last = None
    for at_ms in sorted(moments):
        now = play.until(at_ms)
        if last is not None:
            assert 0 <= now - last[1] <= at_ms - last[0]
        last = (at_ms, now)


def test_a_clock_never_says_less_than_nothing() -> None:
    play = PlayTime(False)
    play.start(0)
    assert PeriodClock(play, 0, 60).left_s(61_000) is None


def test_the_clock_of_overtime_is_unknown_until_it_is_read() -> None:
    facts = GameFacts(
        "g1", "anna", LANGUAGE, (FilmSpan("f1", 0, 3_600_000),), period_s=900, stop_clock=False, n_periods=1
    )
    marks = [START, (10, "possession", OURS), (100, "period_end", {}), (200, "period_start", {})]
    unread = fold(book(*marks, (210, "possession", THEIRS)), facts)
    assert clocks(unread, "possessions") == [890, None]
    read = fold(book(*marks, (210, "possession", THEIRS), (220, "clock", {"clock": 290}), (230, "turnover", {})), facts)
    assert clocks(read, "possessions") == [890, None] and clocks(read, "turnovers") == [280]


def test_every_mark_of_a_period_has_its_period_and_its_clock_where_the_film_gives_them() -> None:
    found = folded(
        START,
        (0, "clock", {"clock": 900}),
        (2, "faceoff", {"won": "ours"}),
        (3, "possession", OURS),
        (6, "settled", {}),
        (8, "screen", {"free": "user"}),
        (9, "penalty", {"team": "theirs", "kind": "minor", "delayed": "yes"}),
        (10, "shot", {"result": "saved", "recovered": "yes"}),
        (12, "fresh_clock", {}),
        (13, "turnover", {"player": "9"}),
        (14, "loose_ball", {"team": "theirs"}),
        (15, "whistle", {"to": "ours"}),
        (40, "line", {"team": "ours"}),
        (41, "note", {"text": "late"}),
        stop_clock=True,
    )
    rows = [row for table in found.rows.values() for row in table if "at_ms" in row]
    at = {row["at_ms"] // 1000: (row["period"], row["clock_s"]) for row in rows}
    left = {0: 900, 2: 898, 8: 892, 9: 891, 10: 890, 12: 888, 13: 887, 14: 886, 15: 885, 40: 885, 41: 885}
    assert at == {at_s: (1, left_s) for at_s, left_s in left.items()}
    assert [(row["start_ms"] // 1000, row["clock_s"]) for row in found.rows["runs"]][:2] == [(3, 897), (6, 894)]


def test_outside_a_period_nothing_has_a_clock() -> None:
    found = folded(START, (0, "clock", {"clock": 900}), (10, "period_end", {}), (20, "note", {"text": "break"}))
    assert clocks(found, "notes") == [None]
