"""A file that is still being copied is no damaged film, and a damaged film is not waited for without end."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tagger.film.errors import FilmTorn, NotFilm, StillCopied
from tagger.film.still_copied import QUIET_S, STILL_S, declared_end, watched
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe
from tests.film.recipes import PLAIN

FRONT = Recipe("table in front", container_options={"movflags": "+faststart"}, size=(160, 90), n_frames=40)
STREAM = Recipe("coming stream", suffix=".ts", size=(160, 90), n_frames=40, sound=None)
KINDS = [
    PLAIN,
    FRONT,
    *(
        Recipe(f"coming {kind}", suffix=kind, size=(160, 90), n_frames=20, sound=None)
        for kind in (".mov", ".mkv", ".webm")
    ),
    Recipe("coming old", suffix=".avi", codec="mpeg4", sound=None, size=(160, 90), n_frames=20),
]
NOW = 1_774_000_000.0


class Clock:
    """A clock that goes on only while somebody rests, and what happens then."""

    def __init__(self, meanwhile: Callable[[], None] = lambda: None) -> None:
        self.now, self.meanwhile = NOW, meanwhile

    def wall(self) -> float:
        return self.now

    def rest(self, seconds: float) -> None:
        self.now += seconds
        self.meanwhile()


def lies(path: Path, data: bytes, age_s: float) -> Path:
    path.write_bytes(data)
    os.utime(path, (NOW - age_s, NOW - age_s))
    return path


def look(path: Path, clock: Clock, fault: Exception | None = None) -> None:
    with watched(path, wall=clock.wall, rest=clock.rest):
        if fault is not None:
            raise fault


@pytest.mark.parametrize("recipe", KINDS, ids=lambda recipe: recipe.name)
def test_a_film_says_where_it_ends(recipe: Recipe, film: MakeFilm, tmp_path: Path) -> None:
    if recipe.suffix == ".webm":
        recipe = Recipe(recipe.name, suffix=".webm", codec="libvpx-vp9", sound=None, size=(160, 90), n_frames=10)
    data = film(recipe)[0].read_bytes()
    whole = lies(tmp_path / "whole", data, 0)
    assert declared_end(whole) == len(data)
    cut = lies(tmp_path / "cut", data[: len(data) * 2 // 3], 0)
    end = declared_end(cut)
    assert end is not None and len(data) * 2 // 3 < end <= len(data)


def test_a_stream_ends_at_a_whole_packet_or_is_cut(film: MakeFilm, tmp_path: Path) -> None:
    data = film(STREAM)[0].read_bytes()
    assert declared_end(lies(tmp_path / "whole", data, 0)) is None, "it may go on"
    assert declared_end(lies(tmp_path / "cut", data[:-100], 0)) == len(data)


def test_what_ends_early_and_was_written_just_now_is_still_being_copied(film: MakeFilm, tmp_path: Path) -> None:
    data = film(FRONT)[0].read_bytes()
    path = lies(tmp_path / "half.mp4", data[: len(data) // 2], 2)
    with pytest.raises(
        StillCopied, match=r"^half\.mp4: still being copied \(\d+ kB of \d+ kB so far\); it is looked at"
    ):
        look(path, Clock())
    with pytest.raises(StillCopied, match=r"still being copied"):
        look(path, Clock(), FilmTorn("never finished", path, "copy it again"))
    with pytest.raises(StillCopied, match=r"nothing so far"):
        look(lies(tmp_path / "empty.mp4", b"", 2), Clock(), NotFilm("empty", "empty.mp4", "copy it again"))


def test_what_ends_early_and_stands_still_is_damaged(film: MakeFilm, tmp_path: Path) -> None:
    data = film(FRONT)[0].read_bytes()
    path = lies(tmp_path / "half.mp4", data[: len(data) // 2], STILL_S + 1)
    look(path, Clock())  # its readable part is kept
    torn = FilmTorn("never finished", path, "copy it again")
    with pytest.raises(FilmTorn):
        look(path, Clock(), torn)
    with pytest.raises(StillCopied):
        look(path, Clock(lambda: lies(path, data, 4000) and None), torn)


def test_a_file_that_changes_under_the_look_is_not_believed_whatever_was_found(tmp_path: Path) -> None:
    path = lies(tmp_path / "a.mp4", b"text", 500)
    with pytest.raises(StillCopied), watched(path):
        path.write_bytes(b"text that grows")
    with pytest.raises(StillCopied), watched(path):
        path.write_bytes(b"text that grows and grows")
        raise NotFilm("this is text", path, "choose a film")
    with pytest.raises(NotFilm, match="this is text"):
        look(path, Clock(), NotFilm("this is text", path, "choose a film"))


def test_a_whole_file_is_taken_at_once_and_a_stream_after_a_moment(film: MakeFilm, tmp_path: Path) -> None:
    clock = Clock()
    look(lies(tmp_path / "whole.mp4", film(FRONT)[0].read_bytes(), 0), clock)
    assert clock.now == NOW
    data = film(STREAM)[0].read_bytes()
    path = lies(tmp_path / "whole.ts", data, 1)
    look(path, clock)
    assert clock.now - NOW == pytest.approx(QUIET_S - 1, abs=0.01)
    with pytest.raises(StillCopied):
        look(lies(path, data, 0), Clock(lambda: lies(path, data * 2, 0) and None))


def test_room_that_was_set_aside_for_what_is_still_to_come_is_no_film(film: MakeFilm, tmp_path: Path) -> None:
    data = film(Recipe("larger", container_options={"movflags": "+faststart"}, n_frames=120))[0].read_bytes()
    assert len(data) > 150_000
    path = lies(tmp_path / "set aside.mp4", data[: len(data) // 2].ljust(len(data), b"\0"), 3)
    assert declared_end(path) == len(data)
    with pytest.raises(StillCopied):
        look(path, Clock())
    os.utime(path, (NOW - 100, NOW - 100))
    look(path, Clock())
