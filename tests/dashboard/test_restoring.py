"""A season from a copy: checked first, what was there kept, and whole at every moment, the old one or the new one."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import zipfile
from pathlib import Path

import pytest

from dashboard import cli
from dashboard.copies import restoring, unpacking
from dashboard.copies.restoring import restore
from dashboard.errors import WrongCopy, WrongFolder
from tagger.season import Season
from tagger.store import exchange
from tagger.store.lock import SeasonLock, SeasonLocked
from tests.dashboard.broken_off import NEW, NOW, OLD, broken_off, everything, has_later, marks, went_on, whole
from tests.dashboard.herons import unfilmed
from tests.dashboard.test_archive import changed


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):
    def call(*words: object) -> tuple[int, str, str]:
        code = cli.main([str(word) for word in words])
        told = capsys.readouterr()
        return code, told.out, told.err

    return call


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return went_on(tmp_path / "herons")


@pytest.fixture
def small(folder: Path) -> Path:
    return folder.parent / "small.zip"


def test_a_new_or_an_empty_folder_becomes_the_season(run, folder, small, tmp_path):
    for name in ("again", "empty"):
        if name == "empty":
            (tmp_path / name).mkdir()
        code, out, _ = run("restore", small, "--to", tmp_path / name)
        assert code == 0 and "10 entries" in out and marks(tmp_path / name) == NEW
        assert run("check", tmp_path / name)[0] == 0
        assert os.name == "nt" or stat.S_IMODE((tmp_path / name / "season.db").stat().st_mode) == 0o600
    assert [path.name for path in tmp_path.iterdir() if path.name.endswith(".part")] == []


def test_in_a_season_what_was_there_is_kept_beside_and_film_stays(run, folder, small):
    code, out, _ = run("restore", small, "--to", folder)
    assert code == 0 and marks(folder) == NEW and not has_later(folder)
    assert not (folder / "question.toml").exists() and (folder / "film" / "game.mp4").read_bytes() == b"film" * 1000
    [before] = folder.parent.glob("herons before *")
    assert before.name in out and marks(before) == OLD and has_later(before)
    assert (before / "question.toml").exists()
    assert run("restore", small, "--to", folder)[0] == 0 and len([*folder.parent.glob("herons before *")]) == 2


def test_a_copy_that_brings_back_what_was_erased_says_so(run, folder, small):
    (folder / "erased.txt").write_text("2026-11-27: a player was erased\n")
    code, out, _ = run("restore", small, "--to", folder)
    assert code == 0 and "erase it again" in out and (folder / "erased.txt").exists()
    assert run("backup", folder, "--to", small, "--without-film")[0] == 0
    assert "erase it again" not in run("restore", small, "--to", folder)[1]


def test_a_season_whose_database_and_settings_are_lost_comes_back_to_its_film(folder, small):
    (folder / "kept").mkdir()
    for path in folder.iterdir():
        if path.is_file():
            path.unlink()
    restore(small, folder, NOW)
    assert marks(folder) == NEW and (folder / "film" / "game.mp4").exists()


def test_a_damaged_season_with_its_log_gives_way_and_is_kept_as_it_was(folder, small):
    season = Season.open(folder)
    more = season.store.connection()
    more.execute("PRAGMA wal_autocheckpoint = 0")
    more.execute("UPDATE games SET about = 'in the log only'")
    for name in ("season.db", "season.db-wal"):
        shutil.copy(folder / name, folder.parent / name)
    season.close()
    for name in ("season.db", "season.db-wal"):
        shutil.move(folder.parent / name, folder / name)
    held = bytearray((folder / "season.db").read_bytes())
    held[20:3000] = b"\xff" * 2980
    (folder / "season.db").write_bytes(held)
    log = (folder / "season.db-wal").read_bytes()
    restore(small, folder, NOW)
    assert marks(folder) == NEW
    [before] = folder.parent.glob("herons before *")
    assert (before / "season.db").read_bytes() == held and (before / "season.db-wal").read_bytes() == log


def test_film_of_the_copy_takes_the_place_of_other_film_which_is_kept(folder):
    (folder / "film" / "game.mp4").write_bytes(b"another film")
    (folder / "film" / "more.mp4").write_bytes(b"more")
    restore(folder.parent / "whole.zip", folder, NOW)
    assert (folder / "film" / "game.mp4").read_bytes() == b"film" * 1000
    assert (folder / "film" / "more.mp4").read_bytes() == b"more"
    assert (folder.parent / "herons before 2026-11-27 1412" / "film" / "game.mp4").read_bytes() == b"another film"


def test_a_season_that_is_open_is_left_alone(folder, small):
    before = everything(folder)
    lock = SeasonLock(folder)
    with pytest.raises(SeasonLocked):
        restore(small, folder, NOW)
    lock.release()
    season = Season.open(folder)
    with pytest.raises(WrongFolder, match="has this season’s database open"):
        restore(small, folder, NOW)
    season.close()
    assert everything(folder) == before and [*folder.parent.glob("herons before *")] == []


def test_a_copy_of_another_season_is_refused_unless_said(run, folder, tmp_path):
    other = unfilmed(tmp_path / "other")
    assert run("backup", other, "--to", tmp_path / "other.zip")[0] == 0
    code, _, err = run("restore", tmp_path / "other.zip", "--to", folder)
    assert code == 1 and "a copy of the season “other-" in err and marks(folder) == OLD
    assert run("restore", tmp_path / "other.zip", "--to", folder, "--another-season")[0] == 0
    assert marks(folder) == NEW and len([*tmp_path.glob("herons before *")]) == 1


def test_a_folder_with_something_else_is_refused(run, small, tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "a.txt").write_text("dear")
    code, _, err = run("restore", small, "--to", tmp_path / "letters")
    assert code == 1 and "not empty" in err
    code, _, err = run("restore", tmp_path / "no.zip", "--to", tmp_path / "new")
    assert code == 1 and "no such file" in err and not (tmp_path / "new").exists()


def damaged(small: Path, how: str) -> Path:
    content = bytearray(small.read_bytes())
    made = small.with_name("damaged.zip")
    if how == "cut":
        content = content[: len(content) * 2 // 3]
    elif how == "flipped":
        content[5000] ^= 0x20
    elif how == "letter":
        content = bytearray(b"dear coach")
    made.write_bytes(content)
    return made


@pytest.mark.parametrize("how", ["cut", "flipped", "letter"])
@pytest.mark.parametrize("where", ["herons", "new"])
def test_a_damaged_copy_ends_in_one_line_and_changes_nothing(run, folder, small, how, where):
    before = everything(folder.parent)
    file = damaged(small, how)
    code, _, err = run("restore", file, "--to", folder.parent / where)
    assert code == 1 and err.count("\n") == 1 and "damaged.zip" in err and "othing was changed" in err
    file.unlink()
    assert everything(folder.parent) == before and not (folder.parent / "new").exists()


def test_a_copy_with_a_damaged_database_changes_nothing(folder, small, tmp_path):
    with zipfile.ZipFile(small) as sound:
        sound.extractall(tmp_path / "out")
    changed(tmp_path / "out" / "season.db", b'"does":"mark"', b'"does":"maxk"')
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as made:
        for path in (tmp_path / "out").iterdir():
            made.write(path, path.name)
    with pytest.raises(WrongCopy, match=r"the database in it is damaged \(entry 1 "):
        restore(tmp_path / "bad.zip", folder, NOW, another_season=True)
    assert marks(folder) == OLD


def link(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    return info


@pytest.mark.parametrize(
    ("info", "why"),
    [
        ("../away.txt", "leads elsewhere"),
        ("/away.txt", "leads elsewhere"),
        ("film/../../away.txt", "leads elsewhere"),
        ("film//away.txt", "leads elsewhere"),
        ("./away.txt", "leads elsewhere"),
        (link("film/away"), "a link or a device"),
        ("season.db-wal", "nothing that a copy holds"),
        ("film/x.part", "nothing that a copy holds"),
        ("restoring.ready/plan.json", "nothing that a copy holds"),
        ("season.toml", "twice"),
    ],
)
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_leads_anywhere_else_is_refused(folder, small, info, why, tmp_path):
    with zipfile.ZipFile(small, "a") as archive:
        archive.writestr(info, "not ours")
    for where in (folder, tmp_path / "new"):
        with pytest.raises(WrongCopy, match=why):
            restore(small, where, NOW)
    assert marks(folder) == OLD and not (tmp_path / "new").exists() and not (tmp_path / "away.txt").exists()


def test_a_copy_that_is_bigger_than_it_says_or_than_the_disk_is_refused(folder, small, monkeypatch):
    real = shutil.disk_usage(folder)
    monkeypatch.setattr(unpacking.shutil, "disk_usage", lambda where: real._replace(free=40_000))
    with pytest.raises(WrongCopy, match="make room"):
        restore(small, folder, NOW)
    monkeypatch.undo()
    with zipfile.ZipFile(small) as archive:
        info = archive.getinfo("roster.csv")
        info.file_size -= 7
        with pytest.raises(zipfile.BadZipFile):
            unpacking.unpack(archive, info, folder.parent / "roster.csv")
    assert marks(folder) == OLD


def test_whatever_a_backup_holds_can_be_restored(run, folder, tmp_path):
    names = ["a b.txt", "ünï.txt", "-x.txt"]
    names += [] if os.name == "nt" else ["a:b?.txt", "back\\slash.txt", "line\n.txt", "con"]
    (folder / "notes").mkdir()
    for name in names:
        (folder / "notes" / name).write_text(name, encoding="utf-8", newline="")
    assert run("backup", folder, "--to", tmp_path / "odd.zip")[0] == 0
    assert run("restore", tmp_path / "odd.zip", "--to", tmp_path / "again")[0] == 0
    assert {name: (tmp_path / "again" / "notes" / name).read_text(encoding="utf-8") for name in names} == {
        name: name for name in names
    }


def test_broken_off_at_any_step_one_season_is_whole(folder, small):
    found = broken_off(folder, small, every=2)  # each of them in the bench
    assert found.index("new") > 5 and found == sorted(found, reverse=True) and set(found) == {"old", "new"}
    assert found.count("new") > 3, "the exchange itself was broken off too"


def test_stopped_while_it_unpacks_or_checks_nothing_is_left(folder, small):
    old = everything(folder)
    reached = set()
    for step in range(1, 60):
        calls = 0

        def stop(share: float, words: str, last: int = step) -> None:
            nonlocal calls
            calls += 1
            reached.add(words)
            if calls == last:
                raise KeyboardInterrupt

        try:
            restore(small, folder, NOW, progress=stop)
        except KeyboardInterrupt:
            season = whole(folder, old)
            assert season == ("new" if words_of_last(reached) else "old")
            if season == "new":
                break
    assert {"keeping what is there", "exchanging", "putting it in its place"} <= reached


def words_of_last(reached: set[str]) -> bool:
    return "putting it in its place" in reached


def test_two_who_finish_one_exchange_do_no_harm(folder, small, monkeypatch):
    sound = exchange.finish
    monkeypatch.setattr(restoring, "finish", lambda where: None)
    restore(small, folder, NOW)
    assert (folder / exchange.READY).is_dir()
    replace, others = Path.replace, list[bool]()

    def both(path: Path, target: Path) -> Path:
        if path.name == "roster.csv" and not others:
            others.append(True)
            assert sound(folder)
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", both)
    assert sound(folder)
    monkeypatch.undo()
    assert marks(folder) == NEW and not (folder / exchange.READY).exists()
    with sqlite3.connect(folder / "season.db") as db:
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    db.close()
