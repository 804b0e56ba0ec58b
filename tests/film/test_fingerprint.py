"""A film's identity."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tagger.film.convert import make_playable
from tagger.film.errors import FilmMissing
from tagger.film.fingerprint import N_SAMPLES, SAMPLE_BYTES, fingerprint
from tagger.film.index import build_index
from tests.film.conftest import MakeFilm
from tests.film.recipes import PLAIN, SILENT


def test_a_moved_and_renamed_film_keeps_its_fingerprint(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(PLAIN)
    moved = tmp_path / "another name.mov"
    shutil.copy(path, moved)
    assert fingerprint(moved, build_index(moved)) == fingerprint(path, index)
    assert fingerprint(path, index).startswith("fb1-")


def test_another_repacked_or_changed_film_has_another_one(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(PLAIN)
    copy = make_playable(path, tmp_path / "copy.mp4")
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    changed = tmp_path / "changed.mp4"
    changed.write_bytes(data)
    found = {
        fingerprint(path, index),
        fingerprint(*film(SILENT)),
        fingerprint(copy.path, copy.index),
        fingerprint(changed, index),
    }
    assert len(found) == 4


def test_large_films_are_sampled_from_first_to_last_byte(film: MakeFilm, tmp_path: Path) -> None:
    _, index = film(PLAIN)
    size = N_SAMPLES * SAMPLE_BYTES * 5
    found = set()
    for place in (None, 0, size - 1):
        data = bytearray(size)
        if place is not None:
            data[place] = 1
        path = tmp_path / "large.mp4"
        path.write_bytes(data)
        found.add(fingerprint(path, index))
    assert len(found) == 3


def test_a_missing_film_has_none(film: MakeFilm, tmp_path: Path) -> None:
    with pytest.raises(FilmMissing):
        fingerprint(tmp_path / "gone.mp4", film(PLAIN)[1])
