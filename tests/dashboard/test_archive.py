"""A copy is proven before it takes an older one's place; damage, full disks and Ctrl-C leave the old one."""

from __future__ import annotations

import errno
import os
import sqlite3
import subprocess
import sys
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from dashboard import cli
from dashboard.copies import archive, proof
from tagger.season import Season
from tests.bench.hardening import copies
from tests.dashboard.herons import CLONE, UNFILMED, entry, unfilmed


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return unfilmed(tmp_path / "herons")


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):
    def call(*words: object) -> tuple[int, str, str]:
        code = cli.main([str(word) for word in words])
        told = capsys.readouterr()
        return code, told.out, told.err

    return call


@pytest.fixture
def good(run, folder: Path, tmp_path: Path) -> Path:
    """A sound backup of the season as it is."""
    file = tmp_path / "herons.zip"
    assert run("backup", folder, "--to", file)[0] == 0
    return file


def changed(database: Path, old: bytes, new: bytes) -> None:
    """Change bytes of the file as a bad disk would, without SQLite."""
    held = database.read_bytes()
    assert held.count(old) >= 1 and len(old) == len(new)
    place = held.rfind(old)
    database.write_bytes(held[:place] + new + held[place + len(old) :])


def more_marks(folder: Path, n: int) -> None:
    season = Season.open(folder)
    held = len(season.journal.bodies("g2", "coach")[0])
    raw = [entry("g2", held + place, UNFILMED, 100 * place, "settled", {}) for place in range(1, n + 1)]
    assert {one.state for one in season.journal.add("g2", "coach", raw)} == {"stored"}
    season.close()


def refused(run, folder: Path, good: Path) -> str:
    before = good.read_bytes()
    code, _, err = run("backup", folder, "--to", good)
    assert code == 1 and err.count("\n") == 1 and good.read_bytes() == before
    assert sorted(path.name for path in good.parent.iterdir()) == ["herons", good.name]
    return err


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"shooter":"14"', b'"shooter":"1\xff"'),
        (b'"does":"mark"', b'"does":"maxk"'),
        (b'"answers":{', b'"answers":['),
        (b'"id":"g2-4"', b'"id":"g2-5"'),
        (b'"film":"m-g2"', b'"fjlm":"m-g2"'),
    ],
)
def test_an_entry_that_cannot_be_read_stops_the_backup_and_leaves_the_good_one(run, folder, good, old, new):
    changed(folder / "season.db", old, new)
    err = refused(run, folder, good)
    assert "entry " in err and "damaged" in err and "floorbook rescue" in err and "left as it was" in err


def test_a_digit_that_changed_is_seen_by_what_the_older_copy_knows(run, folder, good, tmp_path):
    changed(folder / "season.db", b'"shooter":"14"', b'"shooter":"74"')
    err = refused(run, folder, good)
    assert "g2-5" in err and "changed since herons.zip was made" in err
    assert run("backup", folder, "--to", tmp_path / "other.zip")[0] == 0, "nothing older is known there"


def test_a_torn_page_stops_the_backup_and_leaves_the_good_one(run, folder, good):
    more_marks(folder, 400)
    database = folder / "season.db"
    held = bytearray(database.read_bytes())
    held[-9000:-8800] = bytes(200)
    database.write_bytes(held)
    assert "left as it was" in refused(run, folder, good)


def test_what_only_the_older_copy_knows_is_not_written_over(run, folder, good, tmp_path):
    more_marks(folder, 3)
    assert run("backup", folder, "--to", good)[0] == 0
    other = unfilmed(tmp_path / "again")
    (other / "season.toml").write_bytes((folder / "season.toml").read_bytes())
    before = good.read_bytes()
    code, _, err = run("backup", other, "--to", good)
    assert code == 1 and "holds 3 entries that this season does not" in err and good.read_bytes() == before


def test_a_damaged_copy_is_written_over_by_a_sound_one(run, folder, good):
    held = bytearray(good.read_bytes())
    held[200:260] = bytes(60)
    good.write_bytes(held)
    assert run("backup", folder, "--to", good)[0] == 0
    with zipfile.ZipFile(good) as made:
        assert made.testzip() is None


def test_after_something_was_erased_a_copy_takes_the_place_of_what_still_holds_it(run, folder, good):
    season = Season.open(folder)
    with season.store.writing() as db:
        db.execute("DROP TRIGGER journal_holds")
        db.execute("DELETE FROM journal WHERE id = 'g2-5'")
    season.close()
    assert "an entry that this season does not" in refused(run, folder, good)
    (folder / "erased.txt").write_text("2026-11-27: a player was erased\n")
    assert run("backup", folder, "--to", good)[0] == 0
    with zipfile.ZipFile(good) as made:
        assert b"g2-5" not in made.read("season.db")
    changed(folder / "season.db", b'"shooter":"31"', b'"shooter":"71"')
    assert "changed since herons.zip was made" in refused(run, folder, good), "from then on it is held against it again"


def test_a_copy_leaves_out_copies_links_and_pipes_and_names_them(run, folder, good, tmp_path):
    (folder / "mine.zip").write_bytes(good.read_bytes())
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "secret.txt").write_text("not of this season")
    (folder / "notes.txt").write_text("ours")
    old = folder / "old.txt"
    old.write_text("from a camera without a clock")
    os.utime(old, (0, 0))
    links = hasattr(os, "mkfifo")
    if links:
        (folder / "away").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
        (folder / "away.txt").symlink_to(tmp_path / "elsewhere" / "secret.txt")
        os.mkfifo(folder / "pipe")
    file = tmp_path / "second.zip"
    code, out, _ = run("backup", folder, "--to", file)
    assert code == 0 and "left out: mine.zip: a copy of a season" in out
    if links:
        assert "left out: away: a link" in out and "left out: away.txt: a link" in out and "left out: pipe: " in out
    with zipfile.ZipFile(file) as made:
        names = made.namelist()
    assert "notes.txt" in names and "old.txt" in names
    assert not {"mine.zip", "away.txt", "pipe", "away/secret.txt"} & set(names)
    assert file.stat().st_mode & 0o077 == 0 or os.name == "nt"


def test_a_copy_inside_the_season_does_not_hold_the_one_before(run, folder):
    for _ in range(2):
        assert run("backup", folder, "--to", folder / "mine.zip")[0] == 0
        with zipfile.ZipFile(folder / "mine.zip") as made:
            assert "mine.zip" not in made.namelist()


def test_a_copy_that_is_broken_off_leaves_the_old_one_and_nothing_half(folder, good):
    def stop(share: float, words: str) -> None:
        if share > 0.4:
            raise KeyboardInterrupt

    before = good.read_bytes()
    season = Season.open(folder)
    with pytest.raises(KeyboardInterrupt):
        archive.write_backup(season, good, progress=stop)
    season.close()
    assert good.read_bytes() == before
    assert sorted(path.name for path in good.parent.iterdir()) == ["herons", "herons.zip"]


def test_what_reads_otherwise_than_it_was_written_is_not_kept(run, folder, good, monkeypatch):
    sound = zipfile.ZipFile.write

    def failing(self, path, *args, **kwargs):
        sound(self, path, *args, **kwargs)
        if self.fp is not None and str(path).endswith("roster.csv"):
            here = self.fp.tell()
            self.fp.seek(here - 20)
            self.fp.write(bytes(8))
            self.fp.seek(here)

    monkeypatch.setattr(zipfile.ZipFile, "write", failing)
    assert "reads otherwise than it was written" in refused(run, folder, good)


@pytest.mark.skipif(os.name == "nt", reason="the limit is POSIX's")
def test_a_full_disk_is_called_so_and_leaves_the_old_copy(folder, good):
    more_marks(folder, 2000)
    before = good.read_bytes()
    for limit in (40_000, 400_000):  # while the database is copied, while the archive is written
        code = (
            f"import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}));"
            "from dashboard.cli import main; sys.exit(main(sys.argv[1:]))"
        )
        words = [sys.executable, "-c", code, "backup", str(folder), "--to", str(good)]
        done = subprocess.run(words, cwd=CLONE, capture_output=True, text=True)
        if limit > 40_000 and done.returncode == 0:
            continue
        assert done.returncode == 1 and "the disk is full" in done.stderr, done.stderr
        assert good.read_bytes() == before
        assert sorted(path.name for path in good.parent.iterdir()) == ["herons", "herons.zip"]


def test_no_room_for_the_archive_is_called_full_too(run, folder, good, monkeypatch):
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "write", full)
    assert "the disk is full" in refused(run, folder, good)


def test_faults_are_found_wherever_they_are(folder):
    database = folder / "season.db"
    assert proof.faults_in(database) == []
    with sqlite3.connect(database) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("INSERT INTO journal (game, book, id, n, body) VALUES ('nowhere', 'coach', 'x', 99, '{}')")
    db.close()
    told = proof.faults_in(database)
    assert any("belongs to a game that is not there" in line for line in told)
    assert any("no version" in line for line in told)


def test_the_bench_flips_bytes_and_counts_what_was_replaced(tmp_path):
    told = {figure.name: figure for figure in copies.flipped(tmp_path, n_flips=12, n_marks=200)}
    assert told["flipped bytes"].value == 12 and told["backups refused"].value > 3
    assert told["good copies replaced by bad ones"].ok and told["refused without one line that says why"].ok


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux's disk that is always full")
def test_what_sqlite_calls_a_disk_error_is_called_full_when_nothing_can_be_written(folder):
    with closing(sqlite3.connect(folder / "season.db")) as source, pytest.raises(OSError) as told:
        archive._raise_if_no_room(sqlite3.OperationalError("disk I/O error"), source, Path("/dev/full"))
    assert told.value.errno == errno.ENOSPC
