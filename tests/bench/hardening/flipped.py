"""Flipped bytes: one in each of 200 places of a season and its log; what every command then says and saves."""

from __future__ import annotations

import contextlib
import io
import random
import shutil
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.bench.figure import Figure, at_most

NAME = "hardening.flipped"
ABOUT = "one flipped byte in each of 200 places: every command ends in words, rescue returns all outside the page hit"
N_PLACES, N_MARKS = 200, 400
COMMANDS = ("check", "tables", "report", "backup", "rescue")


def run() -> list[Figure]:
    """Flip 200 bytes."""
    with tempfile.TemporaryDirectory() as name:
        return list(flipped(Path(name), N_PLACES, N_MARKS))


def flipped(
    room: Path, n_places: int, n_marks: int, seed: int = 5, commands: Sequence[str] = COMMANDS
) -> Iterator[Figure]:
    """Flip one byte at a time and try everything.

    Parameters
    ----------
    room : Path
        An empty folder.
    n_places : int
        Places, spread over the database and over its log, drawn within each stretch.
    n_marks : int
        Marks of the season beside the few that every test has.
    seed : int
        Of the places.
    commands : sequence of str
        What is tried at each; rescue last.

    Yields
    ------
    Figure
        What came of it.
    """
    chance = random.Random(seed)
    folder = _season(room / "sound", n_marks)
    content, log = ((folder / name).read_bytes() for name in ("season.db", "log"))
    (folder / "log").unlink()
    n_whole = len(_entries(folder, content, log))
    told: Counter[str] = Counter()
    total = len(content) + len(log)
    for place in range(n_places):
        at = chance.randrange(place * total // n_places, (place + 1) * total // n_places)
        bit = 1 << chance.randrange(8)
        both = bytearray(content + log)
        both[at] ^= bit
        _one(folder, room, (bytes(both[: len(content)]), bytes(both[len(content) :])), at, told, commands)
    yield Figure("places", n_places, "places")
    yield Figure("entries of the season", n_whole, "entries")
    yield at_most("commands that ended otherwise than in words", told["faults"], "commands", 0)
    yield at_most("pages of the served season that were our own fault", told["pages"], "pages", 0)
    yield at_most("places where a command changed a file of the season", told["changed"], "places", 0)
    yield at_most("entries outside the page hit that rescue did not return", told["lost"], "entries", 0)
    yield at_most("entries that rescue returned with other content, outside the page hit", told["other"], "entries", 0)
    yield Figure("places that check tells of", told["noticed"], "places")


def _one(
    folder: Path, room: Path, lying: tuple[bytes, bytes], at: int, told: Counter[str], commands: Sequence[str]
) -> None:
    from tagger.season import Season

    content, log = lying
    hit, whole = _on_page(folder, at)
    (folder / "season.db").write_bytes(content)
    (folder / "season.db-wal").write_bytes(log)
    for name in commands:
        code, said = _command(name, folder, room / "out")
        if code not in (0, 1) or "Traceback" in said or (code and not said.strip()):
            told["faults"] += 1
            print(f"byte {at}, {name}: {code} {said[-400:]}")
        told["noticed"] += name == "check" and code == 1
    left = {path.name for path in folder.iterdir()}
    if (folder / "season.db").read_bytes() != content or not {"season.db-shm"}.isdisjoint(left):
        told["changed"] += 1
    told["pages"] += _served(folder, at)
    saved: dict[str, str] = {}
    if (room / "out").is_dir():
        season = Season.open(room / "out")
        saved = dict(season.store.connection().execute("SELECT id, body FROM journal").fetchall())
        season.close()
    told["lost"] += len([id_ for id_ in whole if id_ not in saved and id_ not in hit])
    told["other"] += len([id_ for id_ in whole if id_ in saved and id_ not in hit and saved[id_] != whole[id_]])
    for path in (room / "out", folder / "season.db-wal", folder / "season.db-shm"):
        shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)


def _command(name: str, folder: Path, out: Path) -> tuple[int, str]:
    from dashboard import cli

    if out.is_dir():
        shutil.rmtree(out)
    out.unlink(missing_ok=True)
    words = [name, str(folder), *(() if name == "check" else ("--to", str(out)))]
    err = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(err):
        return cli.main(words), err.getvalue()


def _served(folder: Path, at: int) -> int:
    """Pages of a season opened as the program opens it, that answer with a fault of ours."""
    from dashboard.errors import is_users
    from dashboard.server import _opened, create_app

    try:
        season = _opened(folder)
    except Exception as fault:
        return int(not is_users(fault))
    wrong = 0
    try:
        client = create_app(season).test_client()
        for path in (
            "/tag/g1",
            "/tag/g1/start.json",
            "/tag/g1/entries?since=0",
            "/tag/g1/films.json",
            "/games/g1/book.jsonl",
        ):
            answer = client.get(path, headers={"Host": "127.0.0.1"})
            if answer.status_code >= 500 and answer.status_code != 503:
                wrong += 1
                print(f"byte {at}, {path}: {answer.status_code} {answer.get_data(as_text=True)[:300]}")
    finally:
        season.close()
    return wrong


_WHOLE: dict[Path, tuple[bytes, bytes, dict[str, str]]] = {}


def _on_page(folder: Path, at: int) -> tuple[set[str], dict[str, str]]:
    """The entries that stand on the page of a byte, and all entries."""
    from tagger.store.sqlite_pages import Pages, frames

    content, log, whole = _WHOLE[folder]
    pages = Pages(content, log)
    if at < len(content):
        number = at // pages.size + 1
        page = content[(number - 1) * pages.size : number * pages.size]
    else:
        place = (at - len(content) - 32) // (24 + pages.size)
        frame = frames(log, pages.size)[max(place, 0)]
        number, page = frame.number, frame.content
    return {row.values[3] for row in pages.rows(number, page) if row.rowid and len(row.values) == 6}, whole


def _entries(folder: Path, content: bytes, log: bytes) -> dict[str, str]:
    from tagger.season import Season

    (folder / "season.db").write_bytes(content)
    (folder / "season.db-wal").write_bytes(log)
    season = Season.open(folder, read_only=True)
    whole = dict(season.store.connection().execute("SELECT id, body FROM journal").fetchall())
    season.close()
    _WHOLE[folder] = content, log, whole
    return whole


def _season(folder: Path, n_marks: int) -> Path:
    """A season of which the last quarter of the marks is in the log; that is kept in `log`."""
    from tagger.season import Season
    from tests.dashboard.herons import unfilmed
    from tests.dashboard.test_archive import more_marks

    unfilmed(folder)
    more_marks(folder, n_marks)
    season = Season.open(folder)
    for n in range(n_marks // 4):
        raw = {"v": 1, "id": f"late{n}", "n": 1000 + n, "by": "a", "does": "mark", "kind": "note", "film": "m-g2"}
        season.journal.add("g2", "coach", [{**raw, "at_ms": n, "answers": {"text": "x" * (1 + n * 7 % 90)}}])
    content = (folder / "season.db").read_bytes()
    shutil.copyfile(folder / "season.db-wal", folder / "log")
    season.close()
    (folder / "season.db").write_bytes(content)
    return folder
