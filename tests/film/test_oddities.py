"""Odd files end in one clear line, soon, and for little memory."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from tagger.film.child import in_child
from tagger.film.errors import FilmError
from tagger.work.inspection import inspect_file
from tests.film.oddities import ABSURD, GIANTS, NO_FILES, TIMES, Odd, peak

MOST_MB = 400


def line_of(path: Path) -> str:
    with pytest.raises(FilmError) as caught:
        inspect_file(path, settled=True)
    line = str(caught.value)
    assert line.startswith(f"{path.name}: ") and "; " in line and "\n" not in line
    return line


@pytest.mark.parametrize("odd", TIMES, ids=lambda odd: odd.name)
def test_a_film_whose_times_name_no_frames_is_refused_in_a_line(odd: Odd, tmp_path: Path) -> None:
    odd.make(tmp_path / odd.name)
    assert odd.says in line_of(tmp_path / odd.name)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has neither among its files")
@pytest.mark.parametrize("odd", NO_FILES, ids=lambda odd: odd.name)
def test_a_pipe_and_a_device_are_never_opened(odd: Odd, tmp_path: Path) -> None:
    odd.make(tmp_path / odd.name)
    assert odd.says in line_of(tmp_path / odd.name)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a giant may really take its room")
@pytest.mark.parametrize("odd", GIANTS, ids=lambda odd: odd.name)
def test_a_giant_that_is_nothing_but_holes_is_told_at_once(odd: Odd, tmp_path: Path) -> None:
    odd.make(tmp_path / odd.name)
    begun = time.monotonic()
    assert odd.says in line_of(tmp_path / odd.name)
    assert time.monotonic() - begun < 2


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells a process’s peak")
@pytest.mark.parametrize("odd", ABSURD[:1] + ABSURD[-1:], ids=lambda odd: odd.name)
def test_a_picture_of_absurd_size_costs_little(odd: Odd, tmp_path: Path) -> None:
    path = tmp_path / odd.name
    odd.make(path)
    found = in_child(peak, path, film=path)
    assert found.said.startswith(f"{odd.name}: ") and ("claims" in found.said or "picture" in found.said)
    assert found.mb < MOST_MB
