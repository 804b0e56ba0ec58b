"""Copies: what one flipped byte does to a backup, what a kept copy costs the one who tags, restoring broken off."""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import random
import shutil
import sqlite3
import tempfile
import threading
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import percentile

NAME = "hardening.copies"
ABOUT = "backups of a season with one flipped byte; keys while copies are kept; restoring broken off at each step"
N_FLIPS = 200
N_GAMES, N_MARKS = 20, 3000
N_COPIES = 4
KEY_EVERY_S = 0.05


def run() -> list[Figure]:
    """Flip, keep, break off."""
    with tempfile.TemporaryDirectory() as name:
        return [*flipped(Path(name)), *kept(Path(name)), *restored(Path(name))]


def flipped(room: Path, n_flips: int = N_FLIPS, n_marks: int = 600) -> Iterator[Figure]:
    """A backup over a good one after each of some flipped bytes, and to a place where nothing older is known.

    Parameters
    ----------
    room : Path
        An empty folder.
    n_flips : int
        Places of the database, spread over it and drawn within each stretch.
    n_marks : int
        Marks of its one game, beside the ten that every test has.

    Yields
    ------
    Figure
        What became of the good one.
    """
    from tests.dashboard.herons import unfilmed
    from tests.dashboard.test_archive import more_marks

    folder, good, other = unfilmed(room / "flipped"), room / "good.zip", room / "other.zip"
    more_marks(folder, n_marks)
    assert _backup(folder, good)[0] == 0
    sound, right = (folder / "season.db").read_bytes(), _entries(good)
    kept_zip = good.read_bytes()
    chance = random.Random(12)
    replaced = refused = untold = unseen = 0
    for each in range(n_flips):
        place = (each * len(sound) + chance.randrange(len(sound))) // n_flips
        spoilt = bytearray(sound)
        spoilt[place] ^= 1 << chance.randrange(8)
        for end in ("-wal", "-shm"):
            (folder / f"season.db{end}").unlink(missing_ok=True)
        (folder / "season.db").write_bytes(spoilt)
        code, err = _backup(folder, good)
        if code != 0:
            refused += 1
            untold += not (code == 1 and err.startswith("floorbook: ") and err.count("\n") == 1)
            replaced += good.read_bytes() != kept_zip
        else:
            replaced += _entries(good) != right
            good.write_bytes(kept_zip)
        if _backup(folder, other)[0] == 0:
            unseen += _entries(other) != right
            other.unlink()
    yield Figure("flipped bytes", n_flips, "places")
    yield at_most("good copies replaced by bad ones", replaced, "copies", 0)
    yield Figure("backups refused", refused, "times")
    yield at_most("refused without one line that says why", untold, "times", 0)
    yield Figure("bad copies where no older one is known", unseen, "copies")
    shutil.rmtree(folder)


def _backup(folder: Path, target: Path) -> tuple[int, str]:
    from dashboard import cli

    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = cli.main(["backup", str(folder), "--to", str(target)])
    return code, err.getvalue()


def _entries(archive: Path) -> list[tuple[Any, ...]] | str:
    """A copy's entries as SQLite gives them, or why it can't: read with nothing of floorbook's."""
    with zipfile.ZipFile(archive) as held, tempfile.TemporaryDirectory() as name:
        path = Path(held.extract("season.db", name))
        db = sqlite3.connect(path)
        try:
            return db.execute("SELECT game, book, id, n, body FROM journal ORDER BY id").fetchall()
        except sqlite3.Error as fault:
            return str(fault)
        finally:
            db.close()


def kept(
    room: Path, n_games: int = N_GAMES, n_marks: int = N_MARKS, n_copies: int = N_COPIES, every_s: float = KEY_EVERY_S
) -> Iterator[Figure]:
    """Keys sent to a served season before and while copies of it are kept.

    Parameters
    ----------
    room : Path
        An empty folder.
    n_games, n_marks, n_copies : int
        How large the season is, and how often a copy is kept.
    every_s : float
        From key to key.

    Yields
    ------
    Figure
        Milliseconds of a key to its acknowledgement, and seconds of a copy.
    """
    from dashboard.copies.keeper import make_apart
    from tests.bench.hardening.load import first_page
    from tests.served import Served

    folder = large(room / "large", n_games, n_marks)
    served = Served(folder)
    try:
        first_page(served.address)  # which waits until all games are folded
        with tagging(served.address, folder, n_marks, every_s) as alone:
            time.sleep(60 * every_s)
        took, faults = [], []
        with tagging(served.address, folder, n_marks, every_s) as meanwhile:
            for day in range(n_copies):
                begin = time.perf_counter()
                faults.append(make_apart(folder, datetime.datetime(2026, 11, 1 + day)))
                took.append(time.perf_counter() - begin)
    finally:
        served.stop()
    assert faults == [""] * n_copies, faults
    yield Figure("key to disk, no copy being kept, p95", percentile(alone, 0.95), "ms")
    yield Figure("keys while copies are kept", len(meanwhile), "keys")
    yield at_most("key to disk while a copy is kept, p95", percentile(meanwhile, 0.95), "ms", 40)
    yield Figure("key to disk while a copy is kept, slowest", max(meanwhile), "ms")
    yield Figure("a kept copy", sorted(took)[len(took) // 2], "s")
    shutil.rmtree(folder)


def large(folder: Path, n_games: int, n_marks: int) -> Path:
    """A season of many marks."""
    from tagger.season import Season
    from tagger.shelf.films import NewFilm
    from tests.dashboard.herons import OTHER_MARKS, entry, unfilmed

    season = Season.open(unfilmed(folder))
    for game in (f"h{number}" for number in range(n_games)):
        season.games.add(game, "2026-02-01", "Quarry Hill", True)
        season.shelf.enter(game, [NewFilm(id=f"m-{game}", name="not filmed", duration_ms=7_200_000)])
        marks = [OTHER_MARKS[1 + place % (len(OTHER_MARKS) - 2)] for place in range(n_marks)]
        raw = [entry(game, place, f"m-{game}", 2000 * place, *mark[1:]) for place, mark in enumerate(marks, 1)]
        season.journal.add(game, "coach", raw)
    season.close()
    return folder


@contextlib.contextmanager
def tagging(address: str, folder: Path, n: int, every_s: float) -> Iterator[list[float]]:
    """Keys at an even pace for the length of a block; gives the milliseconds of each to its acknowledgement."""
    from tagger.texts.folder import read_texts
    from tests.bench.hardening.load import asked, connection
    from tests.dashboard.herons import entry

    took: list[float] = []
    over = threading.Event()
    season = read_texts(folder).settings.id

    def tag() -> None:
        line = connection(address)
        while not over.is_set():
            begin = time.perf_counter()
            n_next = n + 1 + len(took)
            raw = entry("h0", n_next, "m-h0", 1000, "settled", {}) | {"id": f"key-{begin:.6f}"}
            body = json.dumps({"season": season, "book": "coach", "entries": [raw]}).encode()
            told = json.loads(asked(line, "POST", "/tag/h0/entries", body))
            assert told["added"][0]["state"] == "stored", told
            took.append((time.perf_counter() - begin) * 1000)
            over.wait(max(0.0, every_s - (time.perf_counter() - begin)))
        line.close()

    tagger = threading.Thread(target=tag)
    tagger.start()
    try:
        yield took
    finally:
        over.set()
        tagger.join()


def restored(room: Path) -> Iterator[Figure]:
    """Restoring into a season that is there, broken off at every step in turn.

    Parameters
    ----------
    room : Path
        An empty folder.

    Yields
    ------
    Figure
        How often neither the old nor the new season was whole.
    """
    from tests.dashboard.broken_off import broken_off, went_on

    folder = went_on(room / "herons")
    found = broken_off(folder, room / "small.zip")
    for line in [line for line in found if line not in ("old", "new")][:10]:
        print(f"  {line}", flush=True)
    yield at_least("steps at which restoring was broken off", len(found) - 1, "steps", 20)
    yield at_most("seasons lost", len([line for line in found if line not in ("old", "new")]), "seasons", 0)
