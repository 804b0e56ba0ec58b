"""`floorbook film`: what it says, what it makes, and how it ends."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from dashboard import cli
from tagger.film import room
from tagger.season import Season
from tagger.work.jobs import JobList
from tagger.work.queue import Queue
from tests.film.maker import Recipe, make

Run = Callable[..., tuple[int, str, str]]
CLONE = Path(__file__).resolve().parents[2]


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str]) -> Run:
    """Runs the command; gives the exit code and what it said."""

    def call(*words: object) -> tuple[int, str, str]:
        code = cli.main(["film", *(str(word) for word in words)])
        told = capfd.readouterr()
        return code, told.out, told.err

    return call


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "herons"
    made.mkdir()
    (made / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    Season.open(made, make=True).close()
    return made


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("card")
    make(Recipe("b", n_frames=50, metadata={"creation_time": "2026-03-14T18:00:00Z"}), made)
    make(Recipe("a", n_frames=30, first_number=50, metadata={"creation_time": "2026-03-14T18:01:00Z"}), made)
    make(Recipe("old", suffix=".avi", codec="mpeg4", sound=None, n_frames=40), made)
    return made


def new(folder: Path, *files: Path, more: tuple[str, ...] = ()) -> tuple[object, ...]:
    return (folder, "g1", *files, "--new", "--date", "2026-03-14", "--opponent", "Quarry Hill", *more)


def held(folder: Path) -> tuple[list[tuple[str, str, int]], list[str]]:
    """The season's films and the kinds of work that is left."""
    season = Season.open(folder)
    try:
        films = [(film.name, film.state, film.gap_ms) for film in season.shelf.all_films()]
        return films, [job.kind for job in JobList(season.store).all()]
    finally:
        season.close()


def test_files_come_in_as_one_film_with_their_gap_said(run: Run, folder: Path, card: Path) -> None:
    code, out, err = run(*new(folder, card / "a.mp4", card / "b.mp4", more=("--sort", "--away")))
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        "b.mp4: 0:02, 50 frames, game g1",
        "  it can be tagged now",
        "a.mp4: 0:01, 30 frames, game g1",
        "  0:58 not filmed before it, by the files’ dates",
        "  it can be tagged now",
    ]
    assert held(folder) == ([("b.mp4", "ready", 0), ("a.mp4", "ready", 58_000)], [])


def test_what_does_not_play_is_made_playable_and_the_room_is_said_first(run: Run, folder: Path, card: Path) -> None:
    code, out, _ = run(*new(folder, card / "old.avi", more=("--keep",)))
    assert code == 0
    lines = out.splitlines()
    assert lines[1] == "  it can be tagged as soon as it is playable"
    assert lines[2].startswith("Copies take up to ") and lines[2].endswith(" are free there.")
    (film,), left = held(folder)
    assert film == ("old.avi", "ready", 0) and left == []
    assert (
        len(list((folder / "film").glob("*-viewing.mp4"))) == len(list((folder / "film").glob("*-original.avi"))) == 1
    )


def test_no_room_for_what_makes_it_playable_is_one_line_and_nothing_changes(
    run: Run, folder: Path, card: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Usage:
        free = room.SPARE_BYTES

    monkeypatch.setattr(room.shutil, "disk_usage", lambda path: Usage)
    code, out, err = run(*new(folder, card / "old.avi"))
    assert (code, out) == (1, "") and err.count("\n") == 1 and err.startswith("floorbook: old.avi: needs up to ")
    assert held(folder) == ([], [])


def test_no_film_is_one_line_and_nothing_changes(run: Run, folder: Path, card: Path) -> None:
    for bad in (folder / "season.toml", card / "gone.mp4", card):
        code, out, err = run(*new(folder, card / "b.mp4", bad))
        assert (code, out) == (1, "") and err.count("\n") == 1 and err.startswith(f"floorbook: {bad.name}: ")
    season = Season.open(folder)
    assert season.games.all() == []
    season.close()


def test_film_that_was_moved_is_found_in_a_folder(run: Run, folder: Path, card: Path, tmp_path: Path) -> None:
    lies = tmp_path / "stick"
    shutil.copytree(card, lies)
    assert run(*new(folder, lies / "b.mp4", lies / "a.mp4"))[0] == 0
    assert run(folder, "--find", lies) == (0, "No film is away.\n", "")
    lies.rename(tmp_path / "disk")
    (tmp_path / "disk" / "a.mp4").unlink()
    code, out, err = run(folder, "--find", tmp_path / "disk")
    assert (code, out) == (1, f"b.mp4 (game g1): found at {tmp_path / 'disk' / 'b.mp4'}\n")
    assert err == f"floorbook: a.mp4 (game g1): not in {tmp_path / 'disk'}\n"
    code, _, err = run(folder, "--find", tmp_path / "nowhere")
    assert code == 1 and "no such folder" in err


def test_a_season_that_is_served_does_the_work_itself(run: Run, folder: Path, card: Path) -> None:
    season = Season.open(folder)
    queue = Queue(season)
    try:
        code, out, _ = run(*new(folder, card / "old.avi"))
        assert code == 0 and out.splitlines()[-1].startswith("The floorbook that has this season open goes on with it")
    finally:
        queue.close()
        season.close()
    assert held(folder)[1] == ["viewing", "strip"]
    assert run(folder)[0] == 0, "without a game, what is left is done"
    assert held(folder) == ([("old.avi", "ready", 0)], [])


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal there")
def test_an_interrupted_command_leaves_the_rest_for_later(folder: Path, tmp_path: Path, run: Run) -> None:
    from fractions import Fraction

    slow = make(Recipe("slow", suffix=".avi", codec="mpeg4", sound=None, n_frames=1500, rate=Fraction(10)), tmp_path)
    words = [str(word) for word in new(folder, slow)]
    command = subprocess.Popen(
        [sys.executable, "-m", "dashboard.cli", "film", *words],
        cwd=CLONE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    end = time.monotonic() + 200
    while not list(folder.glob("film/*.work/piece-*.json")) and time.monotonic() < end:
        time.sleep(0.02)
    os.killpg(command.pid, signal.SIGINT)  # as a terminal does: to all of the program's processes
    _, err = command.communicate(timeout=100)
    assert command.returncode == 130, err
    assert "What is done is kept" in err and "Traceback" not in err
    assert held(folder)[1] == ["viewing", "strip"] and list(folder.glob("film/*.work/piece-*.mp4"))
    assert not list(folder.glob("film/*-viewing.mp4"))
    assert run(folder)[0] == 0
    assert held(folder) == ([("slow.avi", "ready", 0)], [])
    assert list(folder.glob("film/*")) == list(folder.glob("film/*-viewing.mp4"))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("g1",), "which FILE"),
        (("g1", "x.mp4", "--find", "y"), "--find looks for the film of all games"),
        (("g1", "x.mp4", "--new"), "--new needs"),
        (("g1", "x.mp4", "--date", "2026-03-14"), "describe a game made with --new"),
    ],
)
def test_wrong_usage_is_two(run: Run, folder: Path, words: tuple[str, ...], says: str) -> None:
    code, _, err = run(folder, *words)
    assert code == 2 and says in err
