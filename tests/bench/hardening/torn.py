"""Torn copies: a database with the log that lies beside it, cut off at any byte, opens with a clean beginning."""

from __future__ import annotations

import random
import shutil
import tempfile
from pathlib import Path

from tagger.season import Season
from tests.bench.figure import Figure, at_least, at_most

NAME = "hardening.torn"
ABOUT = "a hundred copies of a season whose write-ahead log is cut off at a random byte"
N_COPIES, N_ENTRIES = 100, 600


def run() -> list[Figure]:
    """Tear a hundred copies."""
    with tempfile.TemporaryDirectory() as name:
        opened, clean, most = torn(Path(name), N_COPIES, N_ENTRIES)
    return [
        at_least("torn copies that open", opened, "copies", N_COPIES),
        at_least("with a clean beginning of the entries", clean, "copies", N_COPIES),
        at_most("entries lost of those whose every byte is in the copy", most, "entries", 0),
    ]


def torn(room: Path, n_copies: int, n_entries: int, seed: int = 3) -> tuple[int, int, int]:
    """Copy a season at the moment of its log's every length.

    Parameters
    ----------
    room : Path
        An empty folder.
    n_copies, n_entries : int
        How many copies, of how many entries, half of them in the log.
    seed : int
        Of the places.

    Returns
    -------
    tuple of int
        Copies that opened, that hold a clean beginning, and entries lost though they are in the copy as a whole.
    """
    folder, sizes = _tagged(room / "whole", n_entries)
    chance = random.Random(seed)
    log = (folder / "log").read_bytes()
    opened = clean = lost = 0
    for place in range(n_copies):
        at = chance.randrange(len(log) + 1)
        copy = Path(shutil.copytree(folder, room / f"c{place}", ignore=shutil.ignore_patterns("log", "*-wal", "*-shm")))
        (copy / "season.db-wal").write_bytes(log[:at])
        season = Season.open(copy)
        opened += 1
        held = [row["id"] for row in season.store.connection().execute("SELECT id FROM journal ORDER BY seq")]
        clean += held == [f"e{n}" for n in range(1, len(held) + 1)] and season.damage == ()
        lost += max(0, max([n for n, size in sizes.items() if size <= at], default=n_entries // 2) - len(held))
        season.close()
        shutil.rmtree(copy)
    return opened, clean, lost


def _tagged(folder: Path, n_entries: int) -> tuple[Path, dict[int, int]]:
    """A season whose second half is in the log, kept in `log`; and how long that was after each entry."""
    folder.mkdir()
    (folder / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    season = Season.open(folder, make=True)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    sizes = {}
    for n in range(1, n_entries + 1):
        raw = {"v": 1, "id": f"e{n}", "n": n, "by": "a", "does": "mark", "kind": "note", "film": "f", "at_ms": n}
        season.journal.add("g1", "coach", [{**raw, "answers": {"text": "x" * (1 + n * 37 % 700)}}])
        if n == n_entries // 2:
            season.store.connection().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            season.store.connection().execute("PRAGMA wal_autocheckpoint = 0")
        elif n > n_entries // 2:
            sizes[n] = (folder / "season.db-wal").stat().st_size
    shutil.copyfile(folder / "season.db-wal", folder / "log")
    content = (folder / "season.db").read_bytes()
    season.close()
    (folder / "season.db").write_bytes(content)
    return folder, sizes
