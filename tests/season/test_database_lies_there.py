"""What lies where the database belongs is looked at before it is opened; looking writes nothing; writing notices."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dashboard import cli
from dashboard.start import start_season
from tagger.errors import NoSeason
from tagger.season import Season
from tagger.store.database import NotADatabase, ReadOnly, Replaced, Store, StoreFull
from tests.season.test_season import mark

CLONE = Path(__file__).resolve().parents[2]


def state(folder: Path) -> dict[str, tuple[int, str]]:
    """Every file of a folder: when it was changed, and what is in it."""
    found = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.name: (path.stat().st_mtime_ns, hashlib.sha256(path.read_bytes()).hexdigest()) for path in found}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A season with a game, closed."""
    home = tmp_path / "herons"
    start_season(home, team="Saltmarsh Herons")
    season = Season.open(home)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    season.journal.add("g1", "coach", [mark(1, "note", 5, text="kept")])
    season.close()
    return home


KILLED = """
import os, sys
from tagger.season import Season
season = Season.open(sys.argv[1])
season.journal.add("g1", "coach", [{"v": 1, "id": "late", "n": 2, "by": "a", "does": "mark", "kind": "note",
    "film": "f", "at_ms": 1, "answers": {"text": "in the log only"}}])
os._exit(9)
"""


@pytest.fixture
def killed(folder: Path) -> Path:
    """The season as a killed program leaves it: its last entry is in the write-ahead log only."""
    subprocess.run([sys.executable, "-c", KILLED, str(folder)], cwd=CLONE, check=False)
    assert (folder / "season.db-wal").stat().st_size > 4000
    return folder


def zeroed(path: Path) -> None:
    path.write_bytes(bytes(path.stat().st_size))


@pytest.mark.parametrize(
    ("spoil", "words", "with_log"),
    [
        (lambda path: path.unlink(), "not in", True),
        (lambda path: path.unlink(), "not in", False),
        (lambda path: path.write_bytes(b""), "empty (0 bytes)", True),
        (zeroed, "nothing but zeros", False),
        (lambda path: path.write_bytes(b"a letter to the parents" * 400), "no database", False),
    ],
    ids=["missing, with its log", "missing", "empty, with its log", "zeros", "a letter"],
)
def test_what_is_no_database_is_named_and_touched_by_no_command(
    killed: Path, spoil: Callable[[Path], object], words: str, with_log: bool, capsys: Any
) -> None:
    spoil(killed / "season.db")
    (killed / "season.db-shm").unlink()
    if not with_log:
        (killed / "season.db-wal").unlink()
    before, out = state(killed), killed.parent / "out"
    film = killed.parent / "f.mp4"
    for command in (
        ["check", killed],
        ["report", killed, "--to", out],
        ["tables", killed, "--to", out],
        ["backup", killed, "--to", out],
        ["open", killed, "--no-browser", "--port", "0"],
        ["film", killed, "g1", film],
        ["journal", killed, "g1", "--to", out],
    ):
        assert cli.main([str(word) for word in command]) == 1
        said = capsys.readouterr().err
        assert said.count("\n") == 1 and "season.db: " in said and words in said, said
        assert ("season.db-wal" in said) is with_log and "floorbook rescue" in said, said
    assert state(killed) == before and not out.exists()


def test_a_database_without_its_settings_is_told_and_touched_by_nothing(killed: Path) -> None:
    (killed / "season.toml").unlink()
    before = state(killed)
    with pytest.raises(NoSeason, match=r"season\.db lies there, season\.toml does not.*rescue"):
        Season.open(killed)
    assert state(killed) == before


def test_a_log_without_its_database_keeps_a_new_one_from_being_made(killed: Path) -> None:
    (killed / "season.db").unlink()
    before = state(killed)
    with pytest.raises(NotADatabase, match=r"season\.db-wal"):
        Season.open(killed, make=True)
    assert state(killed) == before


def test_an_empty_sqlite_file_is_no_season(folder: Path) -> None:
    (folder / "season.db").unlink()
    with sqlite3.connect(folder / "season.db") as db:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("VACUUM")
    db.close()
    with pytest.raises(NotADatabase, match="nothing in it"):
        Season.open(folder)


@pytest.mark.parametrize("left", ["closed", "killed", "without shm"])
def test_looking_changes_no_file_and_leaves_none(request: Any, left: str, capsys: Any) -> None:
    home: Path = request.getfixturevalue("folder" if left == "closed" else "killed")
    if left == "without shm":
        (home / "season.db-shm").unlink()
    before = state(home)
    assert cli.main(["check", str(home)]) == 0, capsys.readouterr()
    assert cli.main(["report", str(home), "--to", str(home.parent / "report.html")]) == 0
    assert cli.main(["tables", str(home), "--to", str(home.parent / "tables")]) == 0
    season = Season.open(home, read_only=True)
    held = [entry.id for entry in season.journal.entries("g1", "coach")[0]]
    with pytest.raises(ReadOnly, match="look"):
        season.journal.add("g1", "coach", [mark(9, "note", 1)])
    season.close()
    assert held == (["e1"] if left == "closed" else ["e1", "late"])
    assert state(home) == before


def test_looking_sees_what_a_running_server_has_only_in_its_log(folder: Path) -> None:
    script = KILLED.replace("os._exit(9)", 'print("in", flush=True); sys.stdin.read()')
    with subprocess.Popen(
        [sys.executable, "-c", script, str(folder)], cwd=CLONE, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as server:
        assert server.stdout is not None and server.stdout.readline().strip() == b"in"
        before = state(folder)
        season = Season.open(folder, read_only=True)
        assert [entry.id for entry in season.journal.entries("g1", "coach")[0]] == ["e1", "late"]
        season.close()
        assert state(folder) == before
        server.kill()


def test_an_older_database_is_lifted_only_in_the_copy_that_is_looked_at(tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    with sqlite3.connect(tmp_path / "season.db") as db:
        db.executescript((Path(__file__).parent / "season_v1.sql").read_text(encoding="utf-8"))
    db.close()
    before = state(tmp_path)
    season = Season.open(tmp_path, read_only=True)
    assert season.store.connection().execute("SELECT count(*) FROM ties").fetchone()[0] == 0
    assert season.games.all()
    season.close()
    assert state(tmp_path) == before


@pytest.mark.parametrize("what", ["season.db", "season.db-wal"])
@pytest.mark.skipif(os.name == "nt", reason="an open file can't be removed there")
def test_a_database_removed_or_replaced_while_open_is_noticed_at_the_next_write(folder: Path, what: str) -> None:
    season = Season.open(folder)
    season.journal.add("g1", "coach", [mark(2, "note", 6, text="before")])
    (folder / what).rename(folder / "aside")
    with pytest.raises(Replaced, match=f"{what} was removed or replaced"):
        season.journal.add("g1", "coach", [mark(3, "note", 7)])
    shutil.copyfile(folder / "aside", folder / what)
    with pytest.raises(Replaced):
        season.journal.add("g1", "coach", [mark(3, "note", 7)])
    (folder / "aside").replace(folder / what)
    assert season.journal.add("g1", "coach", [mark(4, "note", 8)])[0].state == "stored"
    season.close()
    again = Season.open(folder)
    assert [entry.id for entry in again.journal.entries("g1", "coach")[0]] == ["e1", "e2", "e4"]
    again.close()


@pytest.mark.skipif(os.name == "nt", reason="an open file can't be removed there")
def test_nothing_is_acknowledged_when_the_file_goes_while_it_is_written(folder: Path) -> None:
    season = Season.open(folder)
    with pytest.raises(Replaced), season.store.writing() as db:
        db.execute("UPDATE games SET about = 'x'")
        (folder / "season.db").rename(folder / "aside")
    assert season.games.game("g1").about == ""
    season.close()
    assert not (folder / "season.db").exists()


FULL = """
import resource, sys
from pathlib import Path
from tagger.season import Season
from tagger.store.database import StoreFull
season = Season.open(sys.argv[1])
def entry(n):
    return {"v": 1, "id": f"e{n}", "n": n, "by": "a", "does": "mark", "kind": "note", "film": "f", "at_ms": n,
            "answers": {"text": "x" * 3000}}
log = Path(sys.argv[1], "season.db-wal").stat().st_size
resource.setrlimit(resource.RLIMIT_FSIZE, (log + 100_000, resource.RLIM_INFINITY))
stored, told = [], ""
for n in range(10, 200):
    try:
        stored += [one.id for one in season.journal.add("g1", "coach", [entry(n)])]
    except StoreFull as fault:
        told = told or str(fault)
        if len(stored) > 0 and n > 150:
            break
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
stored += [one.id for one in season.journal.add("g1", "coach", [entry(900)])]
print(told)
print(*stored)
season.close()
"""


@pytest.mark.skipif(os.name == "nt", reason="no limit on a file's size there")
def test_a_full_disk_is_called_full_and_writing_goes_on_once_there_is_room(folder: Path) -> None:
    done = subprocess.run([sys.executable, "-c", FULL, str(folder)], cwd=CLONE, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    told, stored = done.stdout.splitlines()
    assert told.startswith("season.db: the disk is full; make room") and "damage" not in told and "backup" not in told
    assert stored.split()[-1] == "e900" and len(stored.split()) > 2
    season = Season.open(folder, read_only=True)
    assert {entry.id for entry in season.journal.entries("g1", "coach")[0]} == {"e1", *stored.split()}
    season.close()


def test_a_full_disk_is_507_in_the_one_error_shape(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from flask import Flask

    from tagger.screen.blueprint import create_screen

    season = Season.open(folder)
    app = Flask("full")
    app.register_blueprint(create_screen(season))

    def full(*_: object, **__: object) -> None:
        raise StoreFull(season.store.path)

    monkeypatch.setattr(season.journal, "add", full)
    sent = {"season": season.texts.settings.id, "book": "coach", "entries": [mark(2, "note", 1)]}
    answer = app.test_client().post("/tag/g1/entries", json=sent)
    assert answer.status_code == 507 and answer.get_json()["error"]["code"] == "full"
    assert "the disk is full" in answer.get_json()["error"]["text"]
    season.close()


def test_two_stores_of_one_process_keep_each_other_s_locks(folder: Path) -> None:
    """A file read beside SQLite and closed would let go of the process's locks: another could then fold the log."""
    season = Season.open(folder)
    season.journal.add("g1", "coach", [mark(2, "note", 6)])
    Season.open(folder, read_only=True).close()
    script = "import sys; from tagger.season import Season; Season.open(sys.argv[1]).close()"
    subprocess.run([sys.executable, "-c", script, str(folder)], cwd=CLONE, check=True)
    assert season.journal.add("g1", "coach", [mark(3, "note", 7)])[0].state == "stored"
    season.close()
    again = Store(folder / "season.db")
    assert again.connection().execute("SELECT count(*) FROM journal").fetchone()[0] == 3
    again.close()
