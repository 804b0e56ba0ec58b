"""Full disks: every write of the program where nothing more goes into a file, and on a disk that is really full."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.bench.figure import Figure, at_most

NAME = "hardening.full_disk"
ABOUT = "journal, tables, report, book, backup and rescue where a file may not grow, and on a small disk that is full"
N_LIMITS = (1, 3_000, 20_000, 70_000)
WRONG_WORDS = ("damaged", "backup", "restore", "rescue", "our own fault", "Traceback")
DISK_BYTES = 12_000_000
N_POSTS, FEW = 120, 20

COMMAND = """
import resource, sys
from dashboard import cli
import dashboard.copies.archive, dashboard.report, dashboard.copies.rescue, dashboard.bookfile, dashboard.table_files
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), int(sys.argv[1])))
sys.exit(cli.main(sys.argv[2:]))
"""

TAGGED = """
import json, os, sys
from pathlib import Path
from dashboard.server import create_app
from tagger.season import Season
limit, posts, ballast = int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4]) if len(sys.argv) > 4 else None
season = Season.open(sys.argv[1])
client = create_app(season).test_client()
def limited(most):
    if ballast is None:
        import resource
        resource.setrlimit(resource.RLIMIT_FSIZE, (most or resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    elif most:
        with ballast.open("wb", buffering=0) as file:
            try:
                while True:
                    file.write(bytes(4096))
            except OSError:
                pass
    else:
        ballast.unlink()
def post(n):
    raw = {"v": 1, "id": f"full{n}", "n": 500 + n, "by": "a", "does": "mark", "kind": "note", "film": "m-g2",
           "at_ms": n, "answers": {"text": "x" * 2000}}
    sent = {"season": season.texts.settings.id, "book": "coach", "entries": [raw]}
    answer = client.post("/tag/g2/entries", json=sent, headers={"Host": "127.0.0.1"})
    return answer.status_code, answer.get_json()
stored, refused = [], []
limited((Path(sys.argv[1]) / "season.db-wal").stat().st_size + limit)
for n in range(posts):
    status, told = post(n)
    if status == 200:
        stored += [one["id"] for one in told["added"] if one["state"] == "stored"]
    else:
        refused.append([status, told["error"]["code"], told["error"]["text"]])
limited(0)
after = [post(n)[0] for n in range(posts)]
print(json.dumps({"stored": stored, "refused": refused, "after": after}))
sys.stdout.flush()
os._exit(9)
"""


def run() -> list[Figure]:
    """Fill disks."""
    with tempfile.TemporaryDirectory() as name:
        return list(full(Path(name)))


def full(room: Path, limits: tuple[int, ...] = N_LIMITS, n_posts: int = N_POSTS) -> Iterator[Figure]:
    """Write where there is no room.

    Parameters
    ----------
    room : Path
        An empty folder.
    limits : tuple of int
        How far a file may grow, bytes.
    n_posts : int
        How many entries are sent to the full disk, and again when there is room; under 20, to one kind of it only.

    Yields
    ------
    Figure
        What came of it.
    """
    from tests.dashboard.herons import unfilmed
    from tests.dashboard.test_archive import more_marks

    folder = unfilmed(room / "herons")
    more_marks(folder, 300)
    n_writes = n_full = half = wrong = lost = 0
    for limit in limits:
        for name in ("tables", "report", "backup", "rescue", "journal"):
            out = room / "out" / name
            out.parent.mkdir(exist_ok=True)
            words = [name, str(folder), *(("g2",) if name == "journal" else ()), "--to", str(out)]
            done = subprocess.run(
                [sys.executable, "-c", COMMAND, str(limit), *words], capture_output=True, text=True, check=False
            )
            n_writes += 1
            if done.returncode:
                n_full += "is full" in done.stderr
                wrong += int("is full" not in done.stderr or any(word in done.stderr for word in WRONG_WORDS))
                left = [path for path in out.parent.rglob("*") if path.is_file()]
                half += len([path for path in left if path.name.endswith(".part") or name != "tables"])
                if wrong:
                    print(limit, name, done.returncode, done.stderr)
            shutil.rmtree(out.parent)
    for limit, disk in ((60_000, None), (1, None), (1, room / "disk"))[: 1 if n_posts < FEW else None]:
        result = _tagged(folder, room, limit, disk, n_posts)
        if result is None:
            yield Figure("no small disk can be mounted here", 1, "")
            continue
        stored, refused, after, held = result
        n_writes += len(stored) + len(refused)
        n_full += len(refused)
        wrong += len(
            [one for one in refused if one[:2] != [507, "full"] or any(word in one[2] for word in WRONG_WORDS)]
        )
        wrong += int(not refused) + len([status for status in after if status != 200])
        lost += len(set(stored) - held)
    yield Figure("writes, of which there was no room for", n_writes, "writes")
    yield Figure("told as a full disk", n_full, "writes")
    yield at_most("acknowledged and lost", lost, "entries", 0)
    yield at_most("half files left", half, "files", 0)
    yield at_most("told otherwise, or as damage", wrong, "writes", 0)


def _tagged(
    folder: Path, room: Path, limit: int, disk: Path | None, n_posts: int
) -> tuple[list[str], list[list[Any]], list[int], set[str]] | None:
    """Tag until the disk is full, make room, go on, be killed; gives what was acknowledged, refused, and is there."""
    from tagger.season import Season

    home = room / "tagged"
    if disk is not None:
        disk.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", f"size={DISK_BYTES}", "tmpfs", str(disk)]
        try:
            if subprocess.run(command, capture_output=True, check=False).returncode:
                return None
        except OSError:
            return None
        home = disk / "tagged"
    try:
        shutil.copytree(folder, home)
        more = [str(disk / "ballast")] if disk is not None else []
        command = [sys.executable, "-c", TAGGED, str(home), str(limit), str(n_posts), *more]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        told = json.loads(done.stdout)
        season = Season.open(home)
        held = {entry.id for entry in season.journal.entries("g2", "coach")[0]}
        season.close()
        return told["stored"], told["refused"], told["after"], held
    finally:
        shutil.rmtree(home, ignore_errors=True)
        if disk is not None:
            subprocess.run(["umount", "-l", str(disk)], check=False)
