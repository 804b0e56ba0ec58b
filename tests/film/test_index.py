"""The frame index as a value."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tagger.film.errors import BadIndex, FilmStopped
from tagger.film.index import FrameIndex, build_index
from tagger.film.still import still
from tests.counts import cases
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe, read_number
from tests.film.recipes import PLAIN, VARIABLE


def index_of(steps: list[int], base: Fraction, first: int = 0) -> FrameIndex:
    pts = np.cumsum([first, *steps]).astype(np.int64)
    key = np.arange(len(pts)) % 7 == 0
    return FrameIndex(pts, key, base, int(pts[-1]) + 10)


BASES = st.sampled_from([Fraction(1, 90_000), Fraction(1, 12_800), Fraction(1001, 30_000), Fraction(1, 1000)])


@given(steps=st.lists(st.integers(200, 9000), max_size=40), base=BASES, first=st.integers(-(10**6), 10**10))
@settings(max_examples=cases(30, many=80), deadline=None)
def test_bytes_give_the_same_index_back(steps: list[int], base: Fraction, first: int) -> None:
    index = index_of(steps, base, first)
    back = FrameIndex.from_bytes(index.to_bytes())
    assert np.array_equal(back.pts, index.pts)
    assert np.array_equal(back.key, index.key)
    assert (back.time_base, back.end_pts) == (index.time_base, index.end_pts)


@given(steps=st.lists(st.integers(200, 9000), max_size=40), base=BASES, first=st.integers(-(10**6), 10**10))
@settings(max_examples=cases(30, many=80), deadline=None)
def test_times_are_the_nearest_ms_and_lead_back_to_their_frame(steps: list[int], base: Fraction, first: int) -> None:
    index = index_of(steps, base, first)
    for frame, at_ms in enumerate(index.all_ms()):
        exact = (int(index.pts[frame]) - first) * base * 1000
        assert abs(at_ms - exact) <= Fraction(1, 2)
        assert at_ms == index.at_ms(frame)
        assert index.nearest(int(at_ms)) == frame


def test_nearest_never_rounds_down() -> None:
    """At 29.97 fps the time of every second frame or so, cut to ms, lies before the frame; the nearest is still it."""
    index = index_of([1] * 299, Fraction(1001, 30_000))
    for frame in range(index.n_frames):
        exact = frame * Fraction(1001, 30)
        assert index.nearest(int(exact)) == frame
        assert index.nearest(int(exact) + 1) == frame


def test_nearest_outside_the_film_is_its_first_or_last_frame() -> None:
    index = index_of([40] * 9, Fraction(1, 1000))
    assert index.nearest(-5000) == 0
    assert index.nearest(10**7) == 9
    assert index.nearest(20) == 0  # as near to the next: the earlier


def test_a_frame_the_film_does_not_have_is_refused() -> None:
    index = index_of([40] * 9, Fraction(1, 1000))
    for frame in (-1, 10):
        with pytest.raises(IndexError):
            index.at_ms(frame)


def test_damaged_bytes_are_refused() -> None:
    data = index_of([40] * 9, Fraction(1, 1000)).to_bytes()
    for bad in (
        b"",
        b"something else",
        data[:-3],
        data[:20] + bytes([data[20] ^ 1]) + data[21:],
        b"FBIX\x09" + data[5:],
    ):
        with pytest.raises(BadIndex):
            FrameIndex.from_bytes(bad)


def test_an_average_rate_would_be_wrong_where_the_index_is_right(film: MakeFilm) -> None:
    _, index = film(VARIABLE)
    average = np.arange(index.n_frames) * index.duration_ms / index.n_frames
    wrong = sum(index.nearest(round(at)) != n for n, at in enumerate(average))
    assert wrong > index.n_frames / 2
    assert index.all_ms().tolist() == VARIABLE.at_ms


def test_indexing_reports_progress_and_can_be_stopped(film: MakeFilm) -> None:
    path, index = film(PLAIN)
    said: list[float] = []
    build_index(path, progress=lambda done, text: said.append(done))
    assert said[-1] == 1.0
    assert index.n_frames == PLAIN.n_frames
    long_path, _ = film(Recipe("long", size=(64, 48), n_frames=700, sound=None))
    with pytest.raises(FilmStopped):
        build_index(long_path, stop=lambda: True)


def test_frames_that_refer_to_what_was_cut_off_are_not_counted(film: MakeFilm, tmp_path: Path) -> None:
    """A transport stream cut before a key frame of an open group: frames before it can't be shown, by anyone."""
    whole, index = film(
        Recipe("cut-open-groups", suffix=".ts", n_frames=60, options={"x264-params": "open-gop=1:scenecut=0:keyint=12"})
    )
    data = whole.read_bytes()
    path = tmp_path / "begun-late.ts"
    path.write_bytes(data[len(data) * 3 // 8 // 188 * 188 :])
    late = build_index(path)
    with av.open(str(path)) as container:
        decoded = [frame.pts for frame in container.decode(video=0)]
    assert late.pts.tolist() == decoded
    numbers = [read_number(still(path, late, n)) for n in (0, 1, 2, late.n_frames - 1)]
    first = int(np.searchsorted(index.pts, late.pts[0]))
    assert numbers == [first, first + 1, first + 2, 59]


def test_a_camera_recording_has_its_headers_250_frames(camera_film: Path) -> None:
    index = build_index(camera_film)
    assert index.n_frames == 250
