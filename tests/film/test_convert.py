"""Making films playable: which way is taken, and what is left when it ends early."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from tagger.film.convert import PLAYABLE_SETTINGS, make_playable
from tagger.film.errors import FilmStopped
from tagger.film.index import build_index, same_times
from tests.film.conftest import MakeFilm
from tests.film.recipes import INTERLACED, KINDS, PLAIN

BY_NAME = {kind.name: kind for kind in KINDS}


@pytest.mark.parametrize("name", ["h264-mkv", "h264-ts", "h264-mov", "h264-m4v", "vp9-webm", "hidden-beginning"])
def test_where_only_the_wrapping_is_in_the_way_no_picture_is_touched(name: str, film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(BY_NAME[name])
    copy = make_playable(path, tmp_path / "copy.mp4", index=index)
    assert copy.how == "repacked"
    assert same_times(index, copy.index)
    again = build_index(copy.path)
    assert np.array_equal(again.all_ms(), copy.index.all_ms())
    assert np.array_equal(again.key, copy.index.key)
    assert np.array_equal(_pictures(path), _pictures(copy.path))


@pytest.mark.parametrize("name", ["hevc", "mpeg4-avi", "h264-422", "interlaced"])
def test_what_a_browser_cannot_show_is_encoded_with_key_frames_close_together(
    name: str, film: MakeFilm, tmp_path: Path
) -> None:
    path, index = film(BY_NAME[name])
    copy = make_playable(path, tmp_path / "copy.mp4", index=index)
    assert copy.how == "encoded"
    keys = np.flatnonzero(copy.index.key)
    assert np.diff([*keys, copy.index.n_frames]).max() <= PLAYABLE_SETTINGS.gop
    assert copy.size_bytes == copy.path.stat().st_size


@pytest.mark.parametrize("name", ["h264-ts", "hevc"])
def test_stopping_leaves_nothing(name: str, film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(BY_NAME[name])
    with pytest.raises(FilmStopped):
        make_playable(path, tmp_path / "copy.mp4", index=index, stop=lambda: True)
    assert list(tmp_path.iterdir()) == []


def test_progress_rises_to_one(film: MakeFilm, tmp_path: Path) -> None:
    said: list[float] = []
    make_playable(film(INTERLACED)[0], tmp_path / "copy.mp4", progress=lambda done, text: said.append(done))
    assert said == sorted(said)
    assert said[-1] == 1.0
    assert len(said) > 3


def test_a_camera_recording_keeps_frames_and_times(camera_film: Path, tmp_path: Path) -> None:
    index = build_index(camera_film)
    copy = make_playable(camera_film, tmp_path / "copy.mp4")
    assert same_times(index, copy.index)
    assert np.array_equal(_pictures(camera_film), _pictures(copy.path))


def test_picture_and_sound_both_begin_at_zero(film: MakeFilm, tmp_path: Path) -> None:
    path, _ = film(PLAIN)
    with av.open(str(make_playable(path, tmp_path / "copy.mp4").path)) as container:
        starts = [(s.start_time or 0) * float(s.time_base or 1) for s in container.streams]
    assert max(abs(start) for start in starts) < 0.03


def _pictures(path: Path) -> np.ndarray:
    with av.open(str(path)) as container:
        return np.stack([f.to_ndarray(format="gray")[::8, ::8] for f in container.decode(video=0)])
