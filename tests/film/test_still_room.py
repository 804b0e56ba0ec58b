"""Stills from a process that stays."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tagger.film.child import Limits
from tagger.film.errors import BadClip, FilmTooMuch, FilmTorn, NotFilm
from tagger.film.still import still_jpeg
from tagger.film.still_room import StillRoom
from tests.film.conftest import MakeFilm
from tests.film.recipes import PLAIN


@pytest.fixture(scope="module")
def room() -> Iterator[StillRoom]:
    made = StillRoom(Limits(silence_s=1.5))
    yield made
    made.close()


def test_it_is_the_same_picture_as_made_here(room: StillRoom, film: MakeFilm) -> None:
    path, index = film(PLAIN)
    for frame in (0, 17, 49):
        assert room.jpeg(path, index, frame, width_px=200) == still_jpeg(path, index, frame, width_px=200)


def test_what_is_wrong_comes_back_and_the_next_still_is_made(room: StillRoom, film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(PLAIN)
    text = tmp_path / "text.mp4"
    text.write_text("no film", encoding="utf-8")
    with pytest.raises(NotFilm, match=r"text\.mp4: this is text"):
        room.jpeg(text, index, 0)
    with pytest.raises(BadClip):
        room.jpeg(path, index, 5000)
    with pytest.raises(RuntimeError, match="fault of floorbook’s own"):
        room.jpeg(path, "no index", 0)  # type: ignore[arg-type]
    assert room.jpeg(path, index, 3)


def test_a_process_that_was_brought_down_is_begun_anew(room: StillRoom, film: MakeFilm) -> None:
    path, index = film(PLAIN)
    room.jpeg(path, index, 3)
    room._child.kill()
    room._child.join()
    assert room.jpeg(path, index, 3), "it was gone before anybody asked"
    room._child.kill()
    try:
        assert room.jpeg(path, index, 3)
    except FilmTorn as told:
        assert "brought the reader down" in str(told)
    assert room.jpeg(path, index, 3)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows stops no process")
def test_a_still_that_takes_too_long_is_given_up(room: StillRoom, film: MakeFilm) -> None:
    path, index = film(PLAIN)
    room.jpeg(path, index, 3)
    os.kill(room._child.pid, signal.SIGSTOP)
    begun = time.monotonic()
    with pytest.raises(FilmTooMuch, match=r"plain\.mp4: one picture of it took longer than 2 s"):
        room.jpeg(path, index, 0)
    assert time.monotonic() - begun < 10
    assert room.jpeg(path, index, 3)
