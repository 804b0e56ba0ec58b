"""The viewing copy: the same frames at the same times, made in pieces that outlive a stop."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tagger.film.errors import DiskFull, FilmStopped
from tagger.film.index import build_index
from tagger.film.probe import probe
from tagger.film.room import SPARE_BYTES
from tagger.film.still import still
from tagger.film.viewing import (
    VIEWING_SETTINGS,
    discard,
    make_viewing_copy,
    playable_so_far,
    viewing_bytes,
    why_viewing_copy,
)
from tests.film.conftest import MakeFilm
from tests.film.maker import RATE_HZ, Recipe, field_numbers, read_number, read_numbers, read_sound, sound_offset_s
from tests.film.recipes import INTERLACED, PLAIN, TALL, VARIABLE

LONG = Recipe("long-groups", n_frames=150, gop=150, size=(160, 90))
LARGE = Recipe("large", size=(1440, 900), n_frames=12, sound=None)


def stop_after(n: int) -> Callable[[], bool]:
    asked = iter(range(10**9))
    return lambda: next(asked) >= n


@pytest.mark.parametrize("kind", [PLAIN, VARIABLE, TALL, LONG], ids=lambda kind: kind.name)
def test_the_copy_has_the_same_frames_at_the_same_times(kind: Recipe, film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(kind)
    copy = make_viewing_copy(path, tmp_path / "copy.mp4", piece_s=1)
    assert read_numbers(copy.path) == list(range(index.n_frames))
    assert np.array_equal(copy.index.all_ms(), index.all_ms())
    assert np.diff([*np.flatnonzero(copy.index.key), copy.index.n_frames]).max() <= VIEWING_SETTINGS.gop
    assert probe(copy.path).as_it_lies
    assert sorted(tmp_path.iterdir()) == [copy.path]
    _, source = read_sound(path)
    starts_s, heard = read_sound(copy.path)
    n = len(heard) - 4800
    assert starts_s == 0
    assert abs(sound_offset_s(heard[:n], source[:n])) <= 1024 / RATE_HZ


def test_interlaced_film_gets_its_full_field_rate_and_maps_back(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(INTERLACED)
    copy = make_viewing_copy(path, tmp_path / "copy.mp4", piece_s=1)
    assert copy.index.n_frames == 2 * index.n_frames
    assert copy.pictures_per_frame == 2
    for picture in (0, 1, 24, 25, 26, 79):
        frame, field = divmod(picture, copy.pictures_per_frame)
        shown = still(copy.path, copy.index, picture)
        assert read_number(shown, band=1, field=field) == field_numbers(frame)[field]
        assert abs(copy.index.at_ms(picture) - (index.at_ms(frame) + field * 20)) <= 1


def test_a_large_picture_becomes_720_lines(film: MakeFilm, tmp_path: Path) -> None:
    copy = make_viewing_copy(film(LARGE)[0], tmp_path / "copy.mp4")
    facts = probe(copy.path)
    assert (facts.width, facts.height) == (1152, 720)
    assert read_numbers(copy.path) == list(range(12))


def test_what_was_done_before_a_stop_is_kept_and_can_be_played(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(LONG)
    target = tmp_path / "copy.mp4"
    with pytest.raises(FilmStopped):
        make_viewing_copy(path, target, index=index, piece_s=1, stop=stop_after(110))
    assert not target.exists()
    so_far = playable_so_far(target)
    assert so_far is not None
    part = build_index(so_far)
    assert read_numbers(so_far) == list(range(part.n_frames))
    assert part.n_frames in (50, 100)
    assert np.array_equal(part.all_ms(), index.all_ms()[: part.n_frames])
    assert len(read_sound(so_far)[1]) > part.n_frames / 25 * 0.9 * RATE_HZ

    asked = iter(range(10**9))
    n_encoded = [0]

    def count() -> bool:
        n_encoded[0] = next(asked)
        return False

    copy = make_viewing_copy(path, target, index=index, piece_s=1, stop=count)
    assert n_encoded[0] < 80, "the pieces that were whole are not made again"
    assert read_numbers(copy.path) == list(range(150))
    assert np.array_equal(copy.index.all_ms(), index.all_ms())
    assert playable_so_far(target) is None


def test_another_films_pieces_are_never_taken_over(film: MakeFilm, tmp_path: Path) -> None:
    target = tmp_path / "copy.mp4"
    with pytest.raises(FilmStopped):
        make_viewing_copy(film(LONG)[0], target, piece_s=1, stop=stop_after(110))
    other = film(Recipe("long-groups-b", n_frames=150, gop=150, size=(160, 90), first_number=500))[0]
    copy = make_viewing_copy(other, target, piece_s=1)
    assert read_numbers(copy.path) == list(range(500, 650))


def test_a_copy_that_was_begun_can_be_given_up(film: MakeFilm, tmp_path: Path) -> None:
    target = tmp_path / "copy.mp4"
    with pytest.raises(FilmStopped):
        make_viewing_copy(film(LONG)[0], target, piece_s=1, stop=stop_after(60))
    discard(target)
    assert list(tmp_path.iterdir()) == []


def test_too_little_room_is_said_before_anything_begins(
    film: MakeFilm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, index = film(PLAIN)

    class Usage:
        free = SPARE_BYTES + viewing_bytes(index) - 1

    monkeypatch.setattr(shutil, "disk_usage", lambda folder: Usage)
    with pytest.raises(DiskFull, match=r"copy\.mp4: needs up to 3\.0 MB, and only 203\.0 MB are free; make room"):
        make_viewing_copy(path, tmp_path / "copy.mp4", index=index)
    assert list(tmp_path.iterdir()) == []


def test_the_reason_for_a_copy_is_said(film: MakeFilm) -> None:
    for kind, reason in ((PLAIN, ""), (LONG, "seeking is slow"), (LARGE, "1440 x 900"), (INTERLACED, "(ts)")):
        path, index = film(kind)
        assert reason in why_viewing_copy(probe(path), index)
        assert bool(reason) == bool(why_viewing_copy(probe(path), index))
