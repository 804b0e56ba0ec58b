"""A disk that fills up while film is written is called full, nothing half is left, and what is made is its owner’s."""

from __future__ import annotations

import stat
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import av
import pytest

from tagger.film.convert import make_playable
from tagger.film.errors import DiskFull, from_os
from tagger.film.viewing import make_viewing_copy
from tagger.work.originals import copy_original
from tagger.written import FullDisk, is_full
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe
from tests.film.tight import send, tries

posix = pytest.mark.skipif(sys.platform == "win32", reason="Windows bounds no file’s size")
WRAPPED = Recipe("wrapped for a full disk", suffix=".mkv", sound="ac3", n_frames=30, size=(160, 90))
OLD = Recipe("old for a full disk", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=30, size=(160, 90))
MOST = (0, 1, 40, 1000, 5000, 12_000, 1 << 30)


@posix
@pytest.mark.parametrize(
    ("work", "recipe"),
    [(make_playable, WRAPPED), (make_playable, OLD), (make_viewing_copy, OLD), (copy_original, OLD), (send, OLD)],
)
def test_a_full_disk_is_called_one_and_nothing_half_is_left(
    work: Callable[..., Any], recipe: Recipe, film: MakeFilm, tmp_path: Path
) -> None:
    source, _ = film(recipe)
    target = tmp_path / "made.mp4"
    tried = tries(work, target, source, MOST, source=source)
    assert [one for one in tried if one.is_half or one.is_wrong] == []
    assert tried[0].said and not tried[-1].said, "with room enough it is written"
    assert target.is_file() and stat.S_IMODE(target.stat().st_mode) == 0o600


def test_whatever_says_that_there_is_no_room_becomes_a_full_disk() -> None:
    for fault in (
        OSError(28, "No space left on device"),
        OSError(122, "Disk quota exceeded") if sys.platform == "linux" else OSError(28, ""),
        OSError(27, "File too large"),
        FullDisk(Path("notes.json")),
        av.error.OSError(28, "No space left on device", "a.mp4"),
    ):
        told = from_os(fault, "a.mp4")
        assert isinstance(told, DiskFull) and is_full(told) and "disk is full" in str(told)
