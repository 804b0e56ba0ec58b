"""Whether a season's database is sound, and whether a copy holds what the season and an older copy hold.

SQLite sees a page that is torn, and an index that disagrees with its table. It can't see a digit that changed inside a
text. So every entry is read as the fold would read it, a copy is compared with what it was made from, and what an older
copy holds of the journal, which only grows, must be in every later one word for word.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any

MOST_FAULTS = 20

_ROWS = (
    "SELECT seq, CAST(game AS BLOB), CAST(book AS BLOB), CAST(id AS BLOB), n, CAST(body AS BLOB) FROM journal "
    "WHERE seq <= ? ORDER BY seq"
)


@dataclass(frozen=True)
class Contents:
    """What a database holds of the journal: entries, the place of the last one, a digest of them all."""

    n_entries: int
    last_seq: int
    digest: str


@dataclass(frozen=True)
class Differs:
    """How a journal departs from an older copy of it.

    Attributes
    ----------
    changed : tuple of str
        Ids of entries that are there with other content: one of the two is damaged.
    n_missing : int
        How many entries of the older copy are not there.
    """

    changed: tuple[str, ...] = ()
    n_missing: int = 0


def opened_to_read(database: Path) -> sqlite3.Connection:
    """A connection that changes nothing, to a database that may be damaged.

    Parameters
    ----------
    database : Path
        The file.

    Returns
    -------
    sqlite3.Connection
        Text that is no UTF-8 comes with half characters in it instead of raising.
    """
    db = sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro", uri=True, timeout=10, isolation_level=None)
    db.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    return db


def faults_in(database: Path) -> list[str]:
    """What is wrong with a database file: its pages, its indexes, and every entry of its journal.

    Parameters
    ----------
    database : Path
        The file; nobody writes to it meanwhile.

    Returns
    -------
    list of str
        At most MOST_FAULTS lines; empty when it is sound.
    """
    found: list[str] = []
    with closing(opened_to_read(database)) as db:
        for faults in (_of_pages, _of_tables, _of_entries):
            try:
                found += islice(faults(db), MOST_FAULTS - len(found))
            except (sqlite3.DatabaseError, ValueError, OverflowError) as fault:
                found.append(str(fault))
            if len(found) >= MOST_FAULTS:
                break
    return list(dict.fromkeys(found))


def contents(db: sqlite3.Connection, last_seq: int | None = None) -> Contents:
    """What a database holds of the journal, byte for byte.

    Parameters
    ----------
    db : sqlite3.Connection
        Open on it.
    last_seq : int, optional
        Only up to this place: of a journal that is being written to, what stood there at a moment.

    Returns
    -------
    Contents
        Equal for equal journals.
    """
    digest = hashlib.sha256()
    n_entries = last = 0
    for row in db.execute(_ROWS, (2**62 if last_seq is None else last_seq,)):
        digest.update(repr(tuple(row)).encode())
        n_entries, last = n_entries + 1, row[0]
    return Contents(n_entries, last, digest.hexdigest())


def compared(database: Path, older: Path) -> Differs:
    """Hold a database against an older copy of it.

    Parameters
    ----------
    database, older : Path
        Both sound.

    Returns
    -------
    Differs
        Empty when all that the older one holds of the journal is there.
    """
    with closing(opened_to_read(database)) as db:
        db.execute("ATTACH ? AS older", (f"{older.absolute().as_uri()}?mode=ro",))
        changed = db.execute(
            "SELECT o.id FROM older.journal o JOIN main.journal m ON m.id = o.id "
            "WHERE (m.game, m.book, m.n, m.body) IS NOT (o.game, o.book, o.n, o.body) LIMIT ?",
            (MOST_FAULTS,),
        ).fetchall()
        missing = db.execute(
            "SELECT count(*) FROM older.journal o WHERE NOT EXISTS (SELECT 1 FROM main.journal m WHERE m.id = o.id)"
        ).fetchone()[0]
    return Differs(tuple(row[0] for row in changed), missing)


def _of_pages(db: sqlite3.Connection) -> Iterator[str]:
    for row in db.execute(f"PRAGMA integrity_check({MOST_FAULTS})"):
        if row[0] != "ok":
            yield str(row[0]).replace("\n", "; ")
    for row in db.execute("PRAGMA foreign_key_check"):
        yield f"a row of {row[0]} belongs to a {row[2].rstrip('s')} that is not there"


def _of_tables(db: sqlite3.Connection) -> Iterator[str]:
    """Every value of every table can be read, and texts are texts."""
    names = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    for wanted in ("about", "games", "films", "journal"):
        if wanted not in names:
            yield f"it has no table “{wanted}”"
    for name in names:
        if name == "journal":
            continue
        for number, row in enumerate(db.execute(f'SELECT * FROM "{name}"'), 1):
            if any(isinstance(value, str) and not _is_sound(value) for value in row):
                yield f"row {number} of {name} holds what is no text"


def _of_entries(db: sqlite3.Connection) -> Iterator[str]:
    from tagger.store.database import VERSION

    newer = db.execute("PRAGMA user_version").fetchone()[0] > VERSION
    for seq, game, book, id_, n, body in db.execute(
        "SELECT seq, game, book, id, n, body FROM journal NOT INDEXED ORDER BY seq"
    ):
        fault = _entry_fault(id_, n, body, newer)
        if fault:
            yield f"entry {seq} ({book}’s book of game {game}): {fault}"


def _entry_fault(id_: Any, n: Any, body: Any, newer: bool) -> str:
    from tagger.marks.entries import VERSION, EntryError, read_entry

    if not isinstance(body, str) or not _is_sound(body):
        return "no text"
    try:
        raw = json.loads(body)
        if newer:  # what a newer floorbook enters can't be read here; that it is whole can be seen
            return (
                "" if isinstance(raw, dict) and (raw.get("id"), raw.get("n")) == (id_, n) else "not what its place says"
            )
        entry = read_entry(raw)
    except EntryError as fault:
        return str(fault)
    except (ValueError, RecursionError):
        return "not JSON"
    if (entry.id, entry.n) != (id_, n):
        return f"stored as {id_}, says {entry.id}"
    if raw["v"] == VERSION and not raw.keys() <= _says(entry.does):
        return "it says more than an entry can"
    return ""


@lru_cache
def _says(does: str) -> frozenset[str]:
    """All that an entry can say, by what it does."""
    from tagger.marks.entries import Entry

    fullest = Entry("x", 1, "", does, of="x", kind="x", film="x", answers={"x": "x"}, copied_from="x", speed=1.0)
    return frozenset(json.loads(fullest.as_json()))


def _is_sound(text: str) -> bool:
    return text.isascii() or not any("\ud800" <= one <= "\udfff" for one in text)
