"""Finding moved films again."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tagger.film.errors import FilmMissing, FilmStopped
from tagger.film.finding import films_in, find_again
from tagger.film.fingerprint import fingerprint
from tests.film.conftest import MakeFilm
from tests.film.recipes import PLAIN, SILENT, TALL


def test_moved_and_renamed_films_are_found_and_changed_ones_are_not(film: MakeFilm, tmp_path: Path) -> None:
    wanted = {}
    for kind in (PLAIN, SILENT, TALL):
        path, index = film(kind)
        wanted[fingerprint(path, index)] = path.stat().st_size
    first, second, third = wanted
    (tmp_path / "2026" / "cards").mkdir(parents=True)
    shutil.copy(film(PLAIN)[0], tmp_path / "2026" / "cards" / "renamed.MP4")
    shutil.copy(film(SILENT)[0], tmp_path / "other.mov")
    data = bytearray(film(TALL)[0].read_bytes())
    data[len(data) // 2] ^= 1
    (tmp_path / "changed.mp4").write_bytes(data)
    (tmp_path / "same-size.mp4").write_bytes(bytes(wanted[first]))
    found = find_again(wanted, tmp_path)
    assert found == {first: tmp_path / "2026" / "cards" / "renamed.MP4", second: tmp_path / "other.mov"}
    assert third not in found


def test_only_what_is_called_like_a_film_is_looked_at(tmp_path: Path) -> None:
    for name in ("b.mp4", "a.MTS", "notes.txt", ".hidden.mp4"):
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / ".cache").mkdir()
    (tmp_path / ".cache" / "c.mp4").write_bytes(b"x")
    assert [path.name for path in films_in(tmp_path)] == ["a.MTS", "b.mp4"]


def test_a_missing_folder_and_a_stop_say_so(film: MakeFilm, tmp_path: Path) -> None:
    with pytest.raises(FilmMissing):
        find_again({}, tmp_path / "gone")
    path, index = film(PLAIN)
    shutil.copy(path, tmp_path / "a.mp4")
    with pytest.raises(FilmStopped):
        find_again({fingerprint(path, index): path.stat().st_size}, tmp_path, stop=lambda: True)
