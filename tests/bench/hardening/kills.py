"""Kills: whoever takes entries in is killed at a random moment, and everything that was acknowledged must be there."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from tests.bench.figure import Figure, at_least, at_most

NAME = "hardening.kills"
ABOUT = "a thousand SIGKILLs while entries are taken in, forty of them of the whole served program"
N_KILLS, N_SERVED = 1000, 40

WRITER = """
import os, sys
from pathlib import Path
from tagger.marks.journal import Journal
from tagger.store.database import Store
path = Path(sys.argv[1])
def write(n):
    journal = Journal(Store(path))
    while True:
        n += 1
        made = {"v": 1, "id": f"e{n}", "n": n, "by": "a", "does": "mark", "kind": "note", "film": "f", "at_ms": n}
        for added in journal.add("g1", "coach", [made]):
            print(added.id, added.state, flush=True)
for line in sys.stdin:  # a writer each, by a copy of this process: what is loaded need not be loaded a thousand times
    child = os.fork()
    if not child:
        print("pid", os.getpid(), flush=True)
        write(int(line))
    os.waitpid(child, 0)
    print("gone", flush=True)
"""


def run() -> list[Figure]:
    """Kill a thousand times."""
    with tempfile.TemporaryDirectory() as name:
        acknowledged, lost, broken = writers(Path(name) / "a", N_KILLS - N_SERVED)
        also, lost_too = served(Path(name) / "b", N_SERVED)
    return [
        at_least("kills", N_KILLS, "kills", N_KILLS),
        Figure("entries acknowledged before them", acknowledged + also, "entries"),
        at_most("acknowledged and lost", lost + lost_too, "entries", 0),
        at_most("databases that are not sound afterwards", broken, "databases", 0),
    ]


def writers(folder: Path, n_kills: int, seed: int = 1) -> tuple[int, int, int]:
    """Kill what writes into a journal.

    Parameters
    ----------
    folder : Path
        Where the season is made.
    n_kills : int
        How often.
    seed : int
        Of the moments.

    Returns
    -------
    tuple of int
        Entries that were acknowledged, how many of them are lost, and how often the database was not sound.
    """
    from tagger.store.database import Store

    chance = random.Random(seed)
    path = _season(folder)
    acknowledged: set[str] = set()
    lost: set[str] = set()
    broken = n = 0
    command = [sys.executable, "-c", WRITER, str(path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdin is not None and parent.stdout is not None
        for _ in range(n_kills):
            parent.stdin.write(f"{n}\n")
            parent.stdin.flush()
            pid = int(parent.stdout.readline().split()[1])
            end = threading.Timer(chance.uniform(0.003, 0.06), os.kill, (pid, signal.SIGKILL))
            end.start()
            while (line := parent.stdout.readline()) != "gone\n":
                if line.endswith("stored\n"):
                    acknowledged.add(line.split()[0])
                elif line.endswith("gone\n"):  # a line that was cut off
                    break
            end.join()
            store = Store(path)
            db = store.connection()
            lost |= acknowledged - {row["id"] for row in db.execute("SELECT id FROM journal")}
            n = db.execute("SELECT coalesce(max(n), 0) FROM journal").fetchone()[0]
            broken += db.execute("PRAGMA quick_check").fetchone()[0] != "ok"
            store.close()
        parent.stdin.close()
    return len(acknowledged), len(lost), broken


def served(folder: Path, n_kills: int, seed: int = 2) -> tuple[int, int]:
    """Kill the whole program while entries are posted to it.

    Parameters
    ----------
    folder : Path
        Where the season is made.
    n_kills : int
        How often.
    seed : int
        Of the moments.

    Returns
    -------
    tuple of int
        Entries that were acknowledged, and how many of them are lost.
    """
    from tagger.season import Season
    from tests.bench.hardening.load import asked, connection
    from tests.served import Served

    chance = random.Random(seed)
    _season(folder)
    acknowledged: set[str] = set()
    lost: set[str] = set()
    for n_kill in range(n_kills):
        seen = Season.open(folder, read_only=True)
        season, n = seen.texts.settings.id, max([0, *(book.last_n for book in seen.journal.books("g1"))])
        seen.close()
        program = Served(folder)
        line = connection(program.address)
        end = threading.Timer(chance.uniform(0.05, 0.4), program.process.kill)
        end.start()
        try:
            while True:
                n += 1
                raw = {"v": 1, "id": f"k{n_kill}.{n}", "n": n, "by": "a", "does": "mark", "kind": "note", "film": "f"}
                body = json.dumps({"season": season, "book": "coach", "entries": [{**raw, "at_ms": n}]}).encode()
                told = json.loads(asked(line, "POST", "/tag/g1/entries", body))
                acknowledged |= {one["id"] for one in told["added"] if one["state"] == "stored"}
        except (OSError, ValueError, EOFError, AssertionError, http.client.HTTPException):
            pass
        end.join()
        time.sleep(0.01)
        program.stop()
        seen = Season.open(folder, read_only=True)
        lost |= acknowledged - {entry.id for entry in seen.journal.entries("g1", "coach")[0]}
        seen.close()
    return len(acknowledged), len(lost)


def _season(folder: Path) -> Path:
    from dashboard.start import start_season
    from tagger.season import Season

    start_season(folder, team="Saltmarsh Herons")
    season = Season.open(folder)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    season.close()
    return folder / "season.db"
