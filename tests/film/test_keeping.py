"""Keeping originals: copied byte for byte, gone on with after a stop, never taken for another."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tagger.film import keeping
from tagger.film.errors import DiskFull, FilmMissing, FilmStopped
from tagger.film.keeping import keep_film
from tagger.film.room import check_room


@pytest.fixture
def original(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(keeping, "BLOCK_BYTES", 100_000)
    monkeypatch.setattr(keeping, "CHECK_BYTES", 50_000)
    path = tmp_path / "card" / "clip.mp4"
    path.parent.mkdir()
    path.write_bytes(np.random.default_rng(1).bytes(1_030_000))
    return path


def test_a_stopped_copy_goes_on_where_it_was(original: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.mp4"
    asked = iter(range(100))
    with pytest.raises(FilmStopped):
        keep_film(original, target, stop=lambda: next(asked) >= 5)
    part = tmp_path / "kept.mp4.part"
    assert part.stat().st_size == 600_000
    assert not target.exists()
    said: list[float] = []
    assert keep_film(original, target, progress=lambda done, text: said.append(done)) == 1_030_000
    assert len(said) == 5, "only the rest is copied"
    assert target.read_bytes() == original.read_bytes()
    assert not part.exists()


def test_a_part_of_another_film_is_begun_anew(original: Path, tmp_path: Path) -> None:
    part = tmp_path / "kept.mp4.part"
    part.write_bytes(bytes(600_000))
    keep_film(original, tmp_path / "kept.mp4")
    assert (tmp_path / "kept.mp4").read_bytes() == original.read_bytes()


def test_a_kept_film_is_not_copied_twice_but_another_is_replaced(original: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.mp4"
    keep_film(original, target)
    said: list[float] = []
    keep_film(original, target, progress=lambda done, text: said.append(done))
    assert said == []
    target.write_bytes(b"something else")
    keep_film(original, target)
    assert target.read_bytes() == original.read_bytes()


def test_missing_originals_and_full_disks_say_so(original: Path, tmp_path: Path) -> None:
    with pytest.raises(FilmMissing):
        keep_film(tmp_path / "gone.mp4", tmp_path / "kept.mp4")
    with pytest.raises(DiskFull, match="are free; make room"):
        check_room(tmp_path / "kept.mp4", 10**18)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["card"]
