"""Where output may go: what a mistyped `--to` must never destroy, by whatever name it is called."""

from __future__ import annotations

import errno
import os
import shutil
import stat
from collections.abc import Callable
from pathlib import Path

import pytest

from dashboard import cli
from dashboard.errors import WrongFolder, WrongTarget
from dashboard.outputs import BACKUP, JOURNAL, REEL, REPORT, TABLE, new_folder, output_file, output_folder
from tagger.season import Season
from tagger.written import FullDisk, whole_file, whole_folder, write_whole

COMMANDS = {
    "report": lambda folder, to: ["report", folder, "--to", to],
    "backup": lambda folder, to: ["backup", folder, "--to", to],
    "journal": lambda folder, to: ["journal", folder, "g1", "--to", to],
    "reels": lambda folder, to: ["reels", folder, "g1", "--player", "14", "--to", to],
    "tables": lambda folder, to: ["tables", folder, "--to", to],
}


def held(folder: Path) -> dict[str, bytes]:
    """Every file of a folder that is not SQLite's own beside the database."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.endswith(("-wal", "-shm", ".lock"))
    }


def ways_to_name(folder: Path, elsewhere: Path) -> dict[str, Path]:
    """A season's files by every name they can go by."""
    film = folder / "film" / "game.mp4"
    film.parent.mkdir(exist_ok=True)
    film.write_bytes(b"a film")
    link, hard, link_to_folder = elsewhere / "link.html", elsewhere / "hard.zip", elsewhere / "way"
    link.symlink_to(folder / "season.db")
    os.link(folder / "season.db", hard)
    link_to_folder.symlink_to(folder, target_is_directory=True)
    return {
        "the database": folder / "season.db",
        "what SQLite keeps beside it": folder / "season.db-wal",
        "the roster": folder / "roster.csv",
        "the settings": folder / "season.toml",
        "a text that is not there yet": folder / "question.toml",
        "a film": film,
        "a new name among the films": folder / "film" / "mine.mp4",
        "another case": folder / "Season.DB",
        "a relative path": folder / "reels" / ".." / "season.db",
        "a link": link,
        "a hard link": hard,
        "a linked folder": link_to_folder / "season.db",
    }


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("replace", [False, True])
def test_no_command_writes_over_what_belongs_to_the_season(
    command: str, replace: bool, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (folder / "reels").mkdir(exist_ok=True)
    ways = ways_to_name(folder, elsewhere)
    before = held(folder)
    for what, target in ways.items():
        words = [str(word) for word in COMMANDS[command](folder, target)]
        code = cli.main([*words, "--replace"] if replace else words)
        err = capsys.readouterr().err
        assert code == 1 and err.startswith("floorbook: ") and err.count("\n") == 1, (what, code, err)
        assert held(folder) == before, what
    assert (elsewhere / "link.html").is_symlink() and (elsewhere / "hard.zip").samefile(folder / "season.db")


def test_a_film_that_lies_outside_the_folder_is_the_season_s_too(season: Season, tmp_path: Path) -> None:
    film = season.shelf.all_films()[0]
    path = Path(film.path) if Path(film.path).is_absolute() else season.folder / film.path
    for name in (path, path.parent / "." / path.name):
        with pytest.raises(WrongTarget, match="film"):
            output_file(name, REEL, season=season, replace=True)
    link = tmp_path / "reel.mp4"
    link.symlink_to(path)
    with pytest.raises(WrongTarget):
        output_file(link, REEL, season=season, replace=True)


@pytest.mark.parametrize("command", ["report", "backup", "journal", "reels"])
def test_a_file_of_another_kind_is_written_over_only_when_said(
    command: str, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "lineups.docx"
    target.write_bytes(b"PK\x03\x04 not ours")
    words = [str(word) for word in COMMANDS[command](folder, target)]
    assert cli.main(words) == 1
    err = capsys.readouterr().err
    assert "lineups.docx" in err and "--replace" in err and target.read_bytes() == b"PK\x03\x04 not ours"
    assert cli.main([*words, "--replace"]) == 0 and target.stat().st_size > 20
    assert cli.main(words) == 0, "an earlier output of the same kind may be written over"
    if command in ("report", "journal"):
        assert stat.S_IMODE(target.stat().st_mode) == 0o600 or os.name == "nt"


def test_another_season_s_backup_and_book_are_not_of_the_same_kind(
    season: Season, folder: Path, tmp_path: Path
) -> None:
    other = Path(shutil.copytree(folder, tmp_path / "other"))
    text = (other / "season.toml").read_text(encoding="utf-8")
    (other / "season.toml").write_text(text.replace(season.texts.settings.id, "quarry-hill"), encoding="utf-8")
    for kind, name in ((BACKUP, "theirs.zip"), (JOURNAL, "theirs.jsonl")):
        target = tmp_path / name
        command = "backup" if kind is BACKUP else "journal"
        assert cli.main([str(word) for word in COMMANDS[command](other, target)]) == 0
        with pytest.raises(WrongTarget, match="something else"):
            output_file(target, kind, season=season)


def test_a_table_is_written_over_only_where_tables_of_this_season_lie(
    folder: Path, season: Season, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "shots.csv").write_text("mine", encoding="utf-8")
    assert cli.main(["tables", str(folder), "--to", str(out)]) == 1
    assert "shots.csv" in capsys.readouterr().err and [path.name for path in out.iterdir()] == ["shots.csv"]
    assert cli.main(["tables", str(folder), "--to", str(out), "--replace"]) == 0
    assert cli.main(["tables", str(folder), "--to", str(out)]) == 0
    with pytest.raises(WrongTarget, match="a file, not a folder"):
        output_folder(out / "shots.csv" / "deep", ["shots.csv"], TABLE, season=season)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
def test_a_pipe_a_device_and_a_link_to_nothing_are_no_place(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "nothing").symlink_to(tmp_path / "gone")
    (tmp_path / "round").symlink_to(tmp_path / "round")
    for target in (tmp_path / "pipe", Path(os.devnull), tmp_path / "nothing", tmp_path / "round", tmp_path):
        with pytest.raises(WrongTarget):
            output_file(target, REPORT, replace=True)


def test_a_new_season_is_made_in_an_empty_place_outside_others(folder: Path, tmp_path: Path) -> None:
    assert new_folder(tmp_path / "new") == tmp_path / "new"
    for refused in (folder, folder / "season.toml"):
        with pytest.raises(WrongFolder):
            new_folder(refused)
    with pytest.raises(WrongTarget, match="inside the season"):
        new_folder(folder / "reels" / "new")


def fails(error: BaseException) -> Callable[..., None]:
    def raising(*_: object, **__: object) -> None:
        raise error

    return raising


def test_a_file_that_could_not_be_written_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "a.txt"
    write_whole(target, "before")
    for error in (OSError(28, "No space left on device"), KeyboardInterrupt()):
        with pytest.raises((FullDisk, KeyboardInterrupt)), whole_file(target) as beside:
            beside.write_text("half", encoding="utf-8")
            raise error
        assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]
        assert target.read_text(encoding="utf-8") == "before"
    monkeypatch.setattr("tagger.written.os.fsync", fails(OSError(28, "No space left on device")))
    with pytest.raises(FullDisk, match=r"a\.txt: the disk is full"):
        write_whole(target, "after")
    assert target.read_text(encoding="utf-8") == "before"


def test_a_folder_is_written_whole_or_not_at_all_and_what_a_killed_try_left_is_gone(tmp_path):
    target = tmp_path / "new"
    (tmp_path / ".new.part").mkdir()
    (tmp_path / ".new.part" / "left").touch()
    target.mkdir()
    with whole_folder(target) as beside:
        assert list(beside.iterdir()) == [] and list(target.iterdir()) == []
        (beside / "a").touch()
    assert [path.name for path in tmp_path.iterdir()] == ["new"] and [path.name for path in target.iterdir()] == ["a"]


@pytest.mark.parametrize("fault", [KeyboardInterrupt(), ValueError("x"), OSError(errno.ENOSPC, "full")])
def test_a_folder_that_could_not_be_written_whole_leaves_nothing(tmp_path, fault):
    with (
        pytest.raises(FullDisk if isinstance(fault, OSError) else type(fault)),
        whole_folder(tmp_path / "new") as beside,
    ):
        (beside / "a").touch()
        raise fault
    assert list(tmp_path.iterdir()) == []
