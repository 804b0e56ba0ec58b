"""Films of several files."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from tagger.film.errors import BadClip, FilmMissing
from tagger.film.parts import join_parts
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe


def dated(name: str, when: str, **more: object) -> Recipe:
    return Recipe(name, metadata={"creation_time": when}, **more)  # type: ignore[arg-type]


FIRST = dated("clip 9", "2026-02-14T18:00:00Z", n_frames=50)
SECOND = dated("clip 10", "2026-02-14T18:00:02Z", n_frames=30, first_number=50)
THIRD = dated("clip 11", "2026-02-14T18:10:00Z", n_frames=30, first_number=80, size=(240, 180))
STREAM_A = Recipe("b", suffix=".mts", container="mpegts", n_frames=50, start_s=Fraction(10))
STREAM_B = Recipe("a", suffix=".mts", container="mpegts", n_frames=40, first_number=50, start_s=Fraction(15))


def test_time_runs_on_and_a_gap_is_kept_as_film_time(film: MakeFilm) -> None:
    parts = join_parts([film(kind)[0] for kind in (FIRST, SECOND, THIRD)])
    assert [(part.start_ms, part.gap_before_ms, part.gap_from) for part in parts] == [
        (0, 0, "assumed"),
        (2000, 0, "date"),
        (3200 + 596_800, 596_800, "date"),
    ]
    assert parts[-1].end_ms == 601_200


def test_order_is_found_by_date_by_running_clock_or_by_name(film: MakeFilm) -> None:
    paths = [film(kind)[0] for kind in (THIRD, FIRST, SECOND)]
    assert [part.path.stem for part in join_parts(paths, in_order=False)] == ["clip 9", "clip 10", "clip 11"]
    streams = [film(kind)[0] for kind in (STREAM_B, STREAM_A)]
    assert [part.path.stem for part in join_parts(streams, in_order=False)] == ["b", "a"]
    plain = [film(Recipe(f"part {n}", n_frames=5, sound=None))[0] for n in (10, 9)]
    assert [part.path.stem for part in join_parts(plain, in_order=False)] == ["part 9", "part 10"]
    assert [part.path.stem for part in join_parts(plain)] == ["part 10", "part 9"]


def test_a_running_clock_gives_the_gap_exactly(film: MakeFilm) -> None:
    parts = join_parts([film(kind)[0] for kind in (STREAM_A, STREAM_B)])
    assert (parts[1].gap_before_ms, parts[1].gap_from) == (3000, "clock")


def test_no_file_a_doubled_file_and_a_missing_one_are_refused(film: MakeFilm, tmp_path: Path) -> None:
    path = film(FIRST)[0]
    with pytest.raises(BadClip):
        join_parts([])
    with pytest.raises(BadClip, match="twice"):
        join_parts([path, path])
    with pytest.raises(FilmMissing):
        join_parts([path, tmp_path / "gone.mp4"])
