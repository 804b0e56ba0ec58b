"""Reaction offsets: where a mark counts that was made while the film ran, and what they never change."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tagger.marks.entries import Entry, read_entry
from tagger.marks.fold import FilmSpan, GameFacts, fold
from tagger.marks.reaction import counted
from tagger.marks.resolve import Mark
from tests.marks.test_fold import LANGUAGE

FILMS = (FilmSpan("f1", 0, 60_000), FilmSpan("f2", 60_000, 60_000))


def facts(**reaction_ms: int) -> GameFacts:
    return GameFacts("g1", "anna", LANGUAGE, FILMS, reaction_ms=tuple(reaction_ms.items()))


def mark(n: int, kind: str, at_ms: int, speed: float = 1.0, film: str = "f1", **answers: Any) -> Entry:
    return Entry(f"m{n}", n, "anna", "mark", kind=kind, film=film, at_ms=at_ms, answers=answers, speed=speed)


BOOK = [
    mark(1, "period_start", 0, 0),
    mark(2, "possession", 5_000, team="ours"),
    mark(3, "screen", 9_000, 2.0, free="user"),
    mark(4, "shot", 12_000, result="goal", shooter="14"),
]


def shot_at(entries: list[Entry], **reaction_ms: int) -> int:
    (row,) = fold(entries, facts(**reaction_ms)).rows["shots"]
    return int(row["at_ms"])


def test_a_mark_made_while_the_film_ran_counts_earlier_by_its_kinds_offset() -> None:
    found = fold(BOOK, facts(shot=400, screen=300))
    assert found.rows["shots"][0]["at_ms"] == 11_600
    assert found.rows["screens"][0]["at_ms"] == 9_000 - 2 * 300, "at double speed the film ran on twice as far"
    assert found.rows["possessions"][0]["end_ms"] == 11_600
    assert found.rows["possessions"][0]["start_ms"] == 5_000, "a kind without an offset counts where it stands"
    assert {line.mark.id: line.mark.at_ms for line in found.log}["m4"] == 12_000, (
        "what is stored is the frame on screen"
    )


def test_without_a_setting_nothing_moves() -> None:
    assert shot_at(BOOK) == 12_000


def test_a_mark_on_held_film_or_put_on_its_frame_by_hand_counts_where_it_stands() -> None:
    held = [*BOOK[:3], replace(BOOK[3], speed=0.0)]
    assert shot_at(held, shot=400) == 12_000
    moved = [*BOOK, Entry("r", 5, "anna", "retime", of="m4", film="f1", at_ms=11_300)]
    assert shot_at(moved, shot=400) == 11_300
    assert shot_at([*moved, Entry("u", 6, "anna", "undo", of="r")], shot=400) == 11_600
    back = [*BOOK[:3], replace(BOOK[3], speed=-2.0)]
    assert shot_at(back, shot=400) == 12_000, "nobody reacts to film that runs backwards"


def test_an_offset_never_takes_a_mark_past_the_one_before_it_nor_before_its_film() -> None:
    quick = [*BOOK[:2], mark(3, "shot", 5_100, result="goal")]
    found = fold(quick, facts(shot=400))
    assert found.rows["shots"][0]["at_ms"] == 5_000 and found.rows["shots"][0]["possession"] == "m2"
    assert found.problems == ()
    second = [mark(1, "note", 100, film="f2", text="on")]
    assert fold(second, facts(note=400)).rows["notes"][0]["at_ms"] == 60_000


@given(st.lists(st.tuples(st.integers(0, 5000), st.sampled_from(["a", "b"]), st.floats(-4, 4)), max_size=20))
def test_counted_times_keep_the_order_and_are_never_later(given_marks: list[tuple[int, str, float]]) -> None:
    marks = sorted(given_marks, key=lambda one: one[0])
    standing = [
        (Mark("m", kind, "", film="f", at_ms=at, answers={}, place=(1, "m"), speed=speed), at)
        for at, kind, speed in marks
    ]
    found = counted(standing, {"f": 0}, {"a": 500})
    assert found == sorted(found)
    for (at, kind, speed), now in zip(marks, found, strict=True):
        assert 0 <= now <= at
        assert now == at or (kind == "a" and speed > 0)


def test_the_speed_travels_with_the_entry_and_held_film_leaves_it_out() -> None:
    ran = mark(1, "shot", 5, 2.0)
    assert '"speed":2.0' in ran.as_json() and read_entry(json.loads(ran.as_json())) == ran
    assert "speed" not in replace(ran, speed=0.0).as_json()
