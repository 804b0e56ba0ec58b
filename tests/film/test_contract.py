"""One suite over every kind of film: index, still, clip, sound and playable copy against the numbers in the picture."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tagger.film.convert import make_playable
from tagger.film.cut import Clip, write_reel
from tagger.film.index import FrameIndex
from tagger.film.probe import probe
from tagger.film.still import still
from tests.film.conftest import MakeFilm
from tests.film.maker import (
    RATE_HZ,
    Recipe,
    field_numbers,
    read_number,
    read_numbers,
    read_sound,
    sound_at,
    sound_offset_s,
)
from tests.film.recipes import KINDS

AUDIO_FRAME_S = 1024 / RATE_HZ
pytestmark = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)


def test_index_lists_every_shown_frame_at_its_time(kind: Recipe, film: MakeFilm) -> None:
    _, index = film(kind)
    assert index.n_frames == len(kind.at_s)
    assert np.abs(index.all_ms() - np.array(kind.at_ms)).max() <= (1 if kind.suffix in (".mkv", ".webm") else 0)
    assert [index.nearest(index.at_ms(n)) for n in range(index.n_frames)] == list(range(index.n_frames))
    assert index.key[0] or kind.n_hidden
    claimed = kind.at_ms[-1] + round(1000 / kind.rate)
    assert abs(index.duration_ms - claimed) <= 50
    assert np.array_equal(FrameIndex.from_bytes(index.to_bytes()).pts, index.pts)


def test_still_is_the_frame_with_that_number(kind: Recipe, film: MakeFilm) -> None:
    path, index = film(kind)
    for frame in (0, 1, 13, 12, 25, index.n_frames - 1):
        picture = still(path, index, frame)
        assert picture.shape == (kind.shown_size[1], kind.shown_size[0], 3)
        assert read_number(picture) == frame + kind.n_hidden


def test_clip_holds_exactly_its_frames_and_their_sound(kind: Recipe, film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(kind)
    end_frame = 11 + max(17, round(kind.rate / 2))
    clip = Clip(path, index, 11, end_frame)
    reel = write_reel([clip], tmp_path / "reel.mp4")
    expected = list(range(11 + kind.n_hidden, end_frame + kind.n_hidden))
    assert read_numbers(reel.path) == expected
    assert reel.n_frames == len(expected)
    assert reel.has_sound == (kind.sound is not None)
    if kind.sound is not None:
        _assert_sound_follows(path, index, 11, reel.path, clip.length_s)


def test_playable_copy_has_the_same_frames_at_the_same_times(kind: Recipe, film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(kind)
    copy = make_playable(path, tmp_path / "copy.mp4")
    facts = probe(copy.path)
    assert facts.as_it_lies, facts.why_not
    assert copy.index.pts[0] == 0
    doubled = copy.pictures_per_frame
    assert doubled == (2 if kind.interlaced else 1)
    assert np.abs(copy.index.all_ms()[::doubled] - index.all_ms()).max() <= 1
    for frame in (0, 14, index.n_frames - 1):
        picture = still(copy.path, copy.index, frame * doubled)
        assert read_number(picture) == frame + kind.n_hidden
        if doubled == 2:
            second = still(copy.path, copy.index, frame * 2 + 1)
            first, last = kind.fields
            assert read_number(picture, band=1, field=first) == field_numbers(frame)[first]
            assert read_number(second, band=1, field=last) == field_numbers(frame)[last]
    if kind.sound is not None:
        length_s = Fraction(index.duration_ms, 1000)
        _assert_sound_follows(path, index, 0, copy.path, length_s)


def _assert_sound_follows(path: Path, index: FrameIndex, frame: int, made: Path, length_s: Fraction) -> None:
    """The made film's sound is the source's from that frame on, to one audio frame; and the source's own is right."""
    starts_s, heard = read_sound(made)
    source_s, source = read_sound(path)
    begin_s = int(index.pts[frame]) * index.time_base + starts_s
    skip = round((begin_s - source_s) * RATE_HZ)
    n = round(length_s * RATE_HZ) - 4800
    assert skip >= -RATE_HZ // 20
    expected = source[skip:] if skip >= 0 else np.concatenate([np.zeros(-skip, np.float32), source])
    assert abs(sound_offset_s(heard[:n], expected[:n])) <= AUDIO_FRAME_S
    film_s = begin_s - int(index.pts[0]) * index.time_base
    assert abs(sound_offset_s(heard[:n], sound_at(film_s, n))) <= 2 * AUDIO_FRAME_S  # encoders may delay by themselves
