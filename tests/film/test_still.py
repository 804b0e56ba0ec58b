"""Stills."""

from __future__ import annotations

from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from tagger.film.errors import BadClip
from tagger.film.index import build_index
from tagger.film.still import still, still_jpeg
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe, draw_picture, read_number
from tests.film.recipes import PLAIN, TALL


def test_a_still_shows_the_drawn_picture_upright(film: MakeFilm) -> None:
    """Against the picture as it was drawn, not only its number: colours, direction and place all have to agree."""
    for kind in (PLAIN, TALL):
        path, index = film(kind)
        picture = still(path, index, 9)
        drawn = draw_picture(9, kind.shown_size)
        assert np.abs(picture.astype(int) - drawn.astype(int)).mean() < 6


@pytest.mark.parametrize(("codec", "suffix"), [("libx264", ".mp4"), ("libx265", ".mp4"), ("mpeg2video", ".ts")])
def test_any_frame_behind_frames_that_refer_forward_is_exact(codec: str, suffix: str, film: MakeFilm) -> None:
    """On the way to a frame, those that none refers to are left out of decoding; it must never be the wanted one."""
    recipe = Recipe(f"forward-{codec}", suffix=suffix, codec=codec, n_frames=72, gop=24, b_frames=3, sound=None)
    path, index = film(recipe)
    frames = np.random.default_rng(2).permutation(72)[:36].tolist()
    assert [read_number(still(path, index, frame)) for frame in frames] == frames


def test_a_jpeg_holds_the_frame_no_wider_than_asked(film: MakeFilm) -> None:
    path, index = film(PLAIN)
    data = still_jpeg(path, index, 33)
    assert data.startswith(b"\xff\xd8\xff")
    decoded = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    assert decoded is not None
    assert read_number(decoded) == 33
    small = cv2.imdecode(np.frombuffer(still_jpeg(path, index, 33, width_px=160), np.uint8), cv2.IMREAD_COLOR)
    assert small is not None
    assert small.shape == (90, 160, 3)
    large = cv2.imdecode(np.frombuffer(still_jpeg(path, index, 33, width_px=4000), np.uint8), cv2.IMREAD_COLOR)
    assert large is not None
    assert large.shape == (180, 320, 3)


@pytest.mark.parametrize("frame", [-1, 50])
def test_a_frame_beyond_the_film_is_refused(frame: int, film: MakeFilm) -> None:
    with pytest.raises(BadClip):
        still(*film(PLAIN), frame)


def test_stills_of_a_camera_recording_are_its_decoded_frames(camera_film: Path) -> None:
    index = build_index(camera_film)
    with av.open(str(camera_film)) as container:
        originals = [f.to_ndarray(format="rgb24") for f in container.decode(video=0)]
    for frame in (0, 1, 77, 124, 125, 126, 200, 249):
        assert np.abs(still(camera_film, index, frame).astype(int) - originals[frame].astype(int)).max() <= 2
