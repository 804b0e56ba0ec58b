"""Film work in a process of its own."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from tagger.film.child import Limits, WorkFault, in_child
from tagger.film.convert import make_playable
from tagger.film.errors import FilmStopped, FilmTooMuch, FilmTorn, NotFilm
from tagger.film.index import build_index
from tagger.progress import Progress, Stop
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe
from tests.film.recipes import PLAIN

LONG = Recipe("long-hevc", codec="libx265", size=(320, 180), n_frames=100, sound=None)


def crash(path: Path) -> None:
    os._exit(139)


def hang(path: Path) -> None:
    time.sleep(60)


def devour(path: Path) -> int:
    return len(np.ones(400_000_000, dtype=np.uint8))


def blunder(path: Path) -> None:
    raise KeyError("unexpected")


def dawdle(path: Path, target: Path, *, progress: Progress, stop: Stop) -> None:
    target.with_name(target.name + ".part").write_bytes(b"half")
    for n in range(600):
        progress(n / 600, "dawdling")
        time.sleep(0.1)


def test_results_progress_and_errors_come_back_as_from_a_call(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(PLAIN)
    said: list[float] = []
    found = in_child(build_index, path, film=path, progress=lambda done, text: said.append(done))
    assert np.array_equal(found.pts, index.pts)
    assert said[-1] == 1.0
    text = tmp_path / "text.mp4"
    text.write_text("no film", encoding="utf-8")
    with pytest.raises(NotFilm, match=r"text\.mp4: this is text, not a film; "):
        in_child(build_index, text, film=text)


@pytest.mark.parametrize(
    ("work", "kind", "says"),
    [
        (crash, FilmTorn, "brought the reader down"),
        (hang, FilmTooMuch, "got nowhere"),
        (blunder, WorkFault, "fault of floorbook’s own .KeyError"),
        pytest.param(
            devour,
            FilmTooMuch,
            "memory",
            marks=pytest.mark.skipif(sys.platform != "linux", reason="only Linux limits a process's memory"),
        ),
    ],
)
def test_what_goes_wrong_in_the_child_ends_in_one_line(work, kind, says, tmp_path: Path) -> None:
    path = tmp_path / "hostile.mp4"
    begun = time.monotonic()
    with pytest.raises(kind, match=says) as caught:
        in_child(work, path, film=path, limits=Limits(memory_mb=300, silence_s=1.5))
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("hostile.mp4: ")
    assert time.monotonic() - begun < 40


def test_stopping_is_asked_for_first_and_then_enforced(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(LONG)
    target = tmp_path / "copy.mp4"
    with pytest.raises(FilmStopped):
        in_child(make_playable, path, target, index=index, film=path, leaves=[target], stop=lambda: True)
    begun = time.monotonic()
    with pytest.raises(FilmStopped):
        in_child(dawdle, path, target, film=path, leaves=[target], progress=lambda d, t: None, stop=lambda: True)
    assert time.monotonic() - begun < 40
    assert list(tmp_path.iterdir()) == []
