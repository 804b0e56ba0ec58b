"""What a film is said to be."""

from __future__ import annotations

import pytest

from tagger.film.probe import probe
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe
from tests.film.recipes import KINDS, PLAIN, PLAYS

BY_NAME = {kind.name: kind for kind in KINDS}


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_browser_plays_it_as_it_lies_or_the_reason_is_given(kind: Recipe, film: MakeFilm) -> None:
    facts = probe(film(kind)[0])
    assert facts.as_it_lies == (kind.name in PLAYS)
    assert bool(facts.why_not) != facts.as_it_lies
    assert (facts.width, facts.height) == kind.shown_size
    assert facts.rotation == kind.rotation
    assert facts.interlaced == kind.interlaced
    assert facts.pix_fmt == kind.pix_fmt
    assert (facts.audio_codec is None) == (kind.sound is None)
    if kind.sound is not None:
        assert facts.sample_rate == kind.rate_hz
        assert facts.channels == kind.n_channels


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("hevc", "hevc pictures"),
        ("h264-m4v", "ac3 sound"),
        ("h264-ts", "(ts)"),
        ("mpeg4-mp4", "mpeg4 pictures"),
        ("h264-422", "yuv422p"),
        ("open-groups-mp4", "groups of frames are open"),
    ],
)
def test_the_reason_names_what_is_in_the_way(name: str, word: str, film: MakeFilm) -> None:
    assert word in probe(film(BY_NAME[name])[0]).why_not


def test_the_claimed_length_is_near_the_indexed_one(film: MakeFilm) -> None:
    path, index = film(PLAIN)
    assert abs(probe(path).duration_ms - index.duration_ms) <= 50
    assert probe(path).size_bytes == path.stat().st_size
