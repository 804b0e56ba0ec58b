"""From rows to stretches of film, with every number worked out by hand."""

from dataclasses import dataclass
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.clips import KINDS, Clip, Piece, Shown, Timing, clip_of, in_order, merged
from tagger.marks.plain import plain_vocabulary
from tagger.tables import tables_of

TABLES = tables_of(plain_vocabulary()["kinds"])
PLAIN_KIND = Shown()
PLAIN = Timing(before_ms=6000, after_ms=2500, lead_ms=1000, most_ms=60_000, open_ms=30_000)


@dataclass(frozen=True)
class Film:
    id: str
    offset_ms: int
    duration_ms: int


def test_a_moment_is_shown_from_before_it_to_after_it():
    clip = clip_of("shots", {"game": "g", "id": "s", "at_ms": 20_000}, PLAIN)
    assert (clip.start_ms, clip.end_ms, clip.key_ms) == (14_000, 23_500, 20_000)
    assert clip.rows == (("shots", "s"),)


def test_nothing_begins_before_the_game():
    assert clip_of("shots", {"game": "g", "id": "s", "at_ms": 2000}, PLAIN).start_ms == 0


def test_a_long_run_is_shown_whole_with_a_lead():
    clip = clip_of("runs", {"game": "g", "id": "r", "start_ms": 10_000, "end_ms": 30_000}, PLAIN)
    assert (clip.start_ms, clip.end_ms, clip.key_ms) == (9000, 32_500, None)


def test_a_short_run_shows_what_led_to_its_end():
    clip = clip_of("runs", {"game": "g", "id": "r", "start_ms": 10_000, "end_ms": 11_000}, PLAIN)
    assert clip.start_ms == 5000


def test_an_endless_run_is_shown_to_its_end():
    clip = clip_of("runs", {"game": "g", "id": "r", "start_ms": 0, "end_ms": 100_000}, PLAIN)
    assert (clip.start_ms, clip.end_ms) == (40_000, 102_500)


def test_a_stretch_whose_end_is_not_marked_is_shown_for_a_while():
    clip = clip_of("possessions", {"game": "g", "id": "p", "start_ms": 10_000, "end_ms": None}, PLAIN)
    assert (clip.start_ms, clip.end_ms) == (9000, 42_500)


def test_a_clip_over_the_border_of_two_films_has_two_pieces():
    films = [Film("b", 10_000, 10_000), Film("a", 0, 10_000)]
    clip = Clip("g", (("runs", "r"),), 8000, 12_000)
    assert clip.pieces(films) == (Piece("a", 8000, 10_000), Piece("b", 0, 2000))


def test_time_that_is_missing_between_films_is_left_out():
    films = [Film("a", 0, 10_000), Film("b", 15_000, 10_000)]
    assert Clip("g", (("runs", "r"),), 8000, 16_000).pieces(films) == (Piece("a", 8000, 10_000), Piece("b", 0, 1000))


def test_what_happened_just_after_the_film_is_not_shown_by_what_is_left_of_it():
    film = Film("a", 0, 10_000)
    assert clip_of("shots", {"game": "g", "id": "s", "at_ms": 10_000}, PLAIN).pieces([film]) == ()
    assert clip_of("shots", {"game": "g", "id": "s", "at_ms": 9999}, PLAIN).pieces([film]) == (
        Piece("a", 3999, 10_000),
    )


def test_a_game_without_film_has_no_pieces():
    assert clip_of("shots", {"game": "g", "id": "s", "at_ms": 1}, PLAIN).pieces([]) == ()


def test_clips_that_share_moments_are_put_together_and_neighbours_are_not():
    one = Clip("g", (("shots", "a"),), 0, 100)
    two = Clip("g", (("shots", "b"),), 99, 150)
    three = Clip("g", (("shots", "c"),), 150, 200)
    other = Clip("h", (("shots", "d"),), 120, 130)
    made = merged([three, other, two, one])
    assert [(clip.game, clip.start_ms, clip.end_ms) for clip in made] == [
        ("g", 0, 150),
        ("g", 150, 200),
        ("h", 120, 130),
    ]
    assert made[0].rows == (("shots", "a"), ("shots", "b"))


def test_clips_go_by_date_of_game_and_then_by_time():
    clips = [Clip("b", (("x", "1"),), 5, 6), Clip("a", (("x", "2"),), 9, 10), Clip("b", (("x", "3"),), 1, 2)]
    assert [clip.rows[0][1] for clip in in_order(clips, ["b", "a"])] == ["3", "1", "2"]


@given(st.lists(st.tuples(st.sampled_from("ab"), st.integers(0, 500), st.integers(1, 100))))
def test_putting_together_loses_no_moment_and_shows_none_twice(spans):
    clips = [Clip(game, (("x", str(n)),), start, start + length) for n, (game, start, length) in enumerate(spans)]
    made = merged(clips)

    def moments(several):
        return [(clip.game, at) for clip in several for at in range(clip.start_ms, clip.end_ms)]

    assert len(moments(made)) == len(set(moments(made)))
    assert set(moments(made)) == set(moments(clips))
    assert sorted(row for clip in made for row in clip.rows) == sorted(row for clip in clips for row in clip.rows)


@pytest.mark.parametrize("table", ["shots", "screens", "turnovers", "grades"])
def test_every_table_of_moments_is_cut_alike(table):
    assert clip_of(table, {"game": "g", "id": "x", "at_ms": 9000}, PLAIN).start_ms == 3000


RUN: dict[str, Any] = {"game": "g", "id": "r", "start_ms": 10_000, "end_ms": 40_000, "ended": "shot"}


@pytest.mark.parametrize("table", sorted(TABLES))
def test_the_film_of_a_row_covers_its_own_moment_whatever_table_it_is_of(table):
    names = {column.name for column in TABLES[table]}
    stretch = "at_ms" not in names and "start_ms" in names
    row = {"game": "g", "id": "x", "run": "r", **(RUN if stretch else {})}
    if "at_ms" in names:
        row["at_ms"] = 25_000
    clip = clip_of(table, row, run=RUN)
    first, last = (RUN["start_ms"], RUN["start_ms"] if table in ("periods", "detail") else RUN["end_ms"])
    first, last = (first, last) if "at_ms" not in names else (25_000, 25_000)
    assert clip.start_ms <= first and last < clip.end_ms
    if KINDS.get(table, PLAIN_KIND).through or KINDS.get(table, PLAIN_KIND).whole:
        assert clip.end_ms > RUN["end_ms"] + 2000, "what came of it is part of what its number says"


def test_a_screen_is_shown_to_the_end_of_its_run_but_no_longer_than_a_shot_clock():
    screen = {"game": "g", "id": "s", "at_ms": 12_000}
    assert clip_of("screens", screen, PLAIN, RUN).end_ms == 43_500
    long = {**RUN, "end_ms": 90_000}
    assert clip_of("screens", screen, PLAIN, long).end_ms == 45_500
    assert clip_of("screens", screen, PLAIN, {**RUN, "end_ms": None}).end_ms == 14_500
    assert clip_of("screens", screen, PLAIN).key_ms == 12_000
