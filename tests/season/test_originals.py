"""Originals copied into the season: verified, gone on with after a stop, and never half."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tagger.film.errors import DiskFull, FilmMissing, FilmStopped, FilmTorn
from tagger.work import originals
from tagger.work.originals import copy_original, note_of, part_of

BLOCK = 64 * 1024


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "card.mp4"
    path.write_bytes(np.random.default_rng(5).bytes(10 * BLOCK + 1234))
    return path


@pytest.fixture(autouse=True)
def small_reads(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(originals, "_CHUNK", 16 * 1024)


def test_a_copy_is_the_same_bytes_and_date_and_leaves_nothing_beside(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.mp4"
    told: list[float] = []
    copy_original(source, target, block_bytes=BLOCK, progress=lambda done, text: told.append(done))
    assert target.read_bytes() == source.read_bytes() and target.stat().st_mtime_ns == source.stat().st_mtime_ns
    assert sorted(path.name for path in tmp_path.iterdir()) == ["card.mp4", "kept.mp4"]
    assert told == sorted(told) and told[-1] == pytest.approx(1.0)


@pytest.mark.parametrize("n_asked", [1, 9, 25, 41, 60])
def test_a_stopped_copy_goes_on_where_it_was(source: Path, tmp_path: Path, n_asked: int) -> None:
    target = tmp_path / "kept.mp4"
    asked = iter(range(1000))
    with pytest.raises(FilmStopped, match="goes on where it was"):
        copy_original(source, target, block_bytes=BLOCK, stop=lambda: next(asked) >= n_asked)
    assert not target.exists() and part_of(target).exists()
    done = len(json.loads(note_of(target).read_text(encoding="utf-8"))["digests"]) if note_of(target).exists() else 0
    assert done == min(10, n_asked // 4)
    begun = iter(range(1000))
    n_again = [0]

    def count() -> bool:
        n_again[0] = next(begun) + 1
        return False

    copy_original(source, target, block_bytes=BLOCK, stop=count)
    assert target.read_bytes() == source.read_bytes()
    assert n_again[0] == 2 * 41 - 4 * done, "whole blocks are not copied again, all are read back"


def test_a_copy_that_was_damaged_meanwhile_is_noticed(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.mp4"
    asked = iter(range(1000))
    with pytest.raises(FilmStopped):
        copy_original(source, target, block_bytes=BLOCK, stop=lambda: next(asked) >= 20)
    with part_of(target).open("r+b") as part:
        part.seek(BLOCK + 5)
        part.write(b"??")
    with pytest.raises(FilmTorn, match="not what was read"):
        copy_original(source, target, block_bytes=BLOCK)
    assert not target.exists()


def test_a_begun_copy_of_another_file_is_begun_anew(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.mp4"
    asked = iter(range(1000))
    with pytest.raises(FilmStopped):
        copy_original(source, target, block_bytes=BLOCK, stop=lambda: next(asked) >= 20)
    source.write_bytes(np.random.default_rng(6).bytes(10 * BLOCK + 1234))
    copy_original(source, target, block_bytes=BLOCK)
    assert target.read_bytes() == source.read_bytes()


def test_a_file_that_grows_while_it_is_copied_is_not_kept(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "kept.mp4"

    def grow(done: float, text: str) -> None:
        if text == "reading back":
            with source.open("ab") as film:
                film.write(b"more")

    with pytest.raises(FilmTorn, match="changed while it was copied"):
        copy_original(source, target, block_bytes=BLOCK, progress=grow)
    assert [path.name for path in tmp_path.iterdir()] == ["card.mp4"]


def test_no_source_and_no_room_are_one_line_each(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(FilmMissing, match=r"gone\.mp4: there is no such file"):
        copy_original(tmp_path / "gone.mp4", tmp_path / "kept.mp4")

    class Usage:
        free = 1000

    from tagger.film import room

    monkeypatch.setattr(room.shutil, "disk_usage", lambda folder: Usage)
    with pytest.raises(DiskFull, match=r"kept\.mp4: needs up to .* make room"):
        copy_original(source, tmp_path / "kept.mp4", block_bytes=BLOCK)
    assert [path.name for path in tmp_path.iterdir()] == ["card.mp4"]
