"""What a real browser shows agrees with what the film package says: picture by picture, by the numbers in them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tagger.film.convert import make_playable
from tagger.film.index import FrameIndex
from tagger.film.probe import probe
from tests.counts import cases
from tests.film.conftest import MakeFilm
from tests.film.maker import N_CELLS, Recipe, read_number
from tests.film.player import Player, media_s, seek_s, served
from tests.film.recipes import KINDS, PLAYS

BY_NAME = {kind.name: kind for kind in KINDS}
NOT_SHOWN = [
    "hevc",
    "hevc-10bit-mov",
    "mpeg4-mp4",
    "mjpeg-mov",
    "prores",
    "h264-ts",
    "mpeg4-avi",
    "mpeg2-ps",
    "mjpeg-avi",
]
NOT_HEARD = ["h264-m4v", "h264-mkv"]
TRIED = KINDS[:: cases(3, many=1)]
"""Every third kind of film when a change is checked: each costs a film, a copy and a page."""
pytestmark = pytest.mark.browser


@pytest.fixture
def play(page: Any, tmp_path: Path) -> Iterator[Any]:
    """`play(path) -> (player, what the browser says)`."""
    films: dict[str, Path] = {}
    with served(films) as address:
        player = Player(page, address)

        def load(path: Path) -> tuple[Player, dict[str, Any]]:
            films[path.name] = path
            return player, player.load(path.name)

        yield load
        page.goto("about:blank")


@pytest.mark.parametrize("kind", [kind for kind in TRIED if kind.name in PLAYS], ids=lambda kind: kind.name)
def test_what_is_said_to_play_as_it_lies_shows_every_frame_and_sounds(kind: Recipe, film: MakeFilm, play: Any) -> None:
    path, index = film(kind)
    facts = probe(path)
    player, said = play(path)
    assert facts.as_it_lies
    assert said["why"] == "plays"
    assert (said["width"], said["height"]) == (facts.width, facts.height) == kind.shown_size
    _assert_exact(player, index, kind.n_hidden, n=6)
    assert (player.play(250)["heard"] > 0) == (kind.sound is not None)


@pytest.mark.parametrize("name", NOT_SHOWN)
def test_what_is_said_not_to_be_shown_is_not(name: str, film: MakeFilm, play: Any) -> None:
    path, _ = film(BY_NAME[name])
    _, said = play(path)
    assert said["why"].startswith("error") or said["width"] == 0


@pytest.mark.parametrize("name", NOT_HEARD)
def test_sound_that_is_said_not_to_play_is_not_heard(name: str, film: MakeFilm, play: Any) -> None:
    path, _ = film(BY_NAME[name])
    player, said = play(path)
    assert said["why"] == "plays"
    assert player.play(250)["heard"] == 0


@pytest.mark.parametrize("kind", [kind for kind in TRIED if kind.name not in PLAYS], ids=lambda kind: kind.name)
def test_what_does_not_play_as_it_lies_has_a_copy_that_shows_every_frame_and_sounds(
    kind: Recipe, film: MakeFilm, play: Any, tmp_path: Path
) -> None:
    path, index = film(kind)
    assert not probe(path).as_it_lies
    copy = make_playable(path, tmp_path / "copy.mp4", index=index)
    player, said = play(copy.path)
    assert (said["why"], said["width"], said["height"]) == ("plays", *kind.shown_size)
    _assert_exact(player, copy.index, kind.n_hidden, n=6, per_frame=copy.pictures_per_frame)
    assert (player.play(250)["heard"] > 0) == (kind.sound is not None)


def _assert_exact(player: Player, index: FrameIndex, n_hidden: int, *, n: int, per_frame: int = 1) -> None:
    keys = np.flatnonzero(index.key[1:])[:4]  # the frames before key frames: a seek to these must not land behind
    frames = [index.n_frames - 1, 0, *keys.tolist()]  # the first is on show when a film is there
    frames += np.random.default_rng(7).integers(0, index.n_frames, n - 2).tolist()
    for frame in dict.fromkeys(frames):  # the frame on show gives no new picture
        shown_s, _, strip = player.frame_at(seek_s(index, frame), media_s(index, frame))
        assert abs(shown_s - media_s(index, frame)) < 0.001
        upper = np.concatenate([strip, np.zeros((strip.shape[0] * 7, *strip.shape[1:]), np.uint8)])
        assert strip.shape[1] >= N_CELLS
        assert read_number(upper) == frame // per_frame + n_hidden
