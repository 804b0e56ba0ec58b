"""The index against another program's count: `ffprobe -count_frames`, which decodes every frame (Debian: ffmpeg)."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tagger.film.index import FrameIndex, build_index
from tests.film.conftest import MakeFilm
from tests.film.counting import counted_frames
from tests.film.maker import Recipe
from tests.film.recipes import KINDS

pytestmark = pytest.mark.skipif(
    shutil.which("ffprobe") is None, reason="ffprobe is not installed (Debian: apt-get install ffmpeg)"
)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_ffprobe_counts_as_many_frames(kind: Recipe, film: MakeFilm) -> None:
    path, index = film(kind)
    assert _agree(index, path)


def test_ffprobe_counts_as_many_frames_of_a_camera_recording(camera_film: Path) -> None:
    assert _agree(build_index(camera_film), camera_film)


def _agree(index: FrameIndex, path: Path) -> bool:
    return counted_frames(path) == index.n_frames
