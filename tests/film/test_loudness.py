"""Loudness and outline of a film's sound."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from tagger.film.errors import FilmStopped
from tagger.film.index import FrameIndex
from tagger.film.loudness import SILENCE_LUFS, _Meter, outline_sound
from tests.film.conftest import MakeFilm
from tests.film.maker import RATE_HZ, Recipe, noise
from tests.film.recipes import PLAIN, SILENT


def tone(level_dbfs: float, seconds: float, *, hz: float = 1000, left: bool = True, right: bool = True) -> np.ndarray:
    wave = 10 ** (level_dbfs / 20) * np.sin(2 * np.pi * hz * np.arange(round(seconds * RATE_HZ)) / RATE_HZ)
    return np.stack([wave * left, wave * right]).astype(np.float32)


def measured(samples: np.ndarray) -> float:
    meter = _Meter()
    meter.add(0, samples)
    return meter.result().integrated


def test_a_full_scale_tone_in_one_channel_is_3_lufs_down() -> None:
    """ITU-R BS.1770-4, annex 1: a 0 dB FS 997 Hz sine in one channel reads -3.01 LKFS (from memory)."""
    assert measured(tone(0, 10, hz=997, right=False)) == pytest.approx(-3.01, abs=0.02)


def test_the_ebu_test_tones_read_as_they_should() -> None:
    """EBU Tech 3341, test signals 1 to 3, tolerance 0.1 LU (from memory)."""
    assert measured(tone(-23, 20)) == pytest.approx(-23.0, abs=0.1)
    assert measured(tone(-33, 20)) == pytest.approx(-33.0, abs=0.1)
    gated = np.concatenate([tone(-36, 10), tone(-23, 60), tone(-36, 10)], axis=1)
    assert measured(gated) == pytest.approx(-23.0, abs=0.1)


def test_a_films_loudness_agrees_with_the_librarys_own_meter(film: MakeFilm) -> None:
    """Against libavfilter's ebur128 over the same decoded sound."""
    path, index = film(Recipe("loud", n_frames=200, size=(64, 48)))
    found = outline_sound(path, index)
    graph = av.filter.Graph()
    with av.open(str(path)) as container:
        stream = container.streams.audio[0]
        source = graph.add_abuffer(template=stream)
        graph.link_nodes(source, graph.add("ebur128", "metadata=1"), graph.add("abuffersink")).configure()
        momentary: list[float] = []
        integrated = 0.0
        for frame in container.decode(stream):
            graph.push(frame)
            while True:
                try:
                    out = graph.pull()
                except (av.error.BlockingIOError, av.error.EOFError):
                    break
                momentary.append(float(out.metadata["lavfi.r128.M"]))
                integrated = float(out.metadata["lavfi.r128.I"])
    assert found.integrated == pytest.approx(integrated, abs=0.3)
    assert float(np.median(found.loudness)) == pytest.approx(float(np.median(momentary[10:])), abs=0.3)
    assert abs(len(found.loudness) - (80 - 3)) <= 1


def test_the_outline_follows_the_sound_from_the_first_frame_on(film: MakeFilm) -> None:
    path, index = film(Recipe("late-outline", suffix=".mkv", start_s=2, sound="pcm_s16le", n_frames=50))  # type: ignore[arg-type]
    found = outline_sound(path, index)
    wave = noise(0, 2 * RATE_HZ).reshape(-1, RATE_HZ // 50)
    assert len(found.low) == len(found.high) == 100
    assert np.abs(found.high - wave.max(axis=1)).max() < 0.02
    assert np.abs(found.low - wave.min(axis=1)).max() < 0.02


def test_a_film_without_sound_is_silent(film: MakeFilm) -> None:
    found = outline_sound(*film(SILENT))
    assert (len(found.loudness), len(found.low), found.integrated) == (0, 0, SILENCE_LUFS)


def test_listening_can_be_stopped(film: MakeFilm) -> None:
    path, index = film(PLAIN)
    with pytest.raises(FilmStopped):
        outline_sound(Path(path), FrameIndex.from_bytes(index.to_bytes()), stop=lambda: True)
