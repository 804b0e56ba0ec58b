"""The season's database: one SQLite file in WAL with `synchronous=FULL`, so that what was acknowledged survives a kill.

It holds what the text files do not: games, films, and the journal. The journal can only grow: the database itself
refuses to change or delete an entry.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

VERSION = 2

_SCHEMA = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE games (
    id TEXT PRIMARY KEY, date TEXT NOT NULL, opponent TEXT NOT NULL, home INTEGER NOT NULL,
    about TEXT NOT NULL DEFAULT '', chosen_book TEXT NOT NULL DEFAULT ''
) WITHOUT ROWID;
CREATE TABLE films (
    id TEXT PRIMARY KEY, game TEXT NOT NULL REFERENCES games (id), place INTEGER NOT NULL, name TEXT NOT NULL,
    path TEXT NOT NULL DEFAULT '', size_bytes INTEGER NOT NULL DEFAULT 0, mtime_ns INTEGER NOT NULL DEFAULT 0,
    fingerprint TEXT NOT NULL DEFAULT '', gap_ms INTEGER NOT NULL DEFAULT 0,
    gap_from TEXT NOT NULL DEFAULT '', duration_ms INTEGER NOT NULL,
    n_frames INTEGER NOT NULL DEFAULT 0, plays INTEGER NOT NULL DEFAULT 1,
    slow TEXT NOT NULL DEFAULT '', facts TEXT NOT NULL DEFAULT '',
    damage TEXT NOT NULL DEFAULT '[]', frame_index BLOB, UNIQUE (game, place)
) WITHOUT ROWID;
CREATE TABLE copies (
    film TEXT NOT NULL REFERENCES films (id) ON DELETE CASCADE, kind TEXT NOT NULL, size_bytes INTEGER NOT NULL,
    per_frame INTEGER NOT NULL, frame_index BLOB NOT NULL, PRIMARY KEY (film, kind)
) WITHOUT ROWID;
CREATE TABLE strips (
    film TEXT PRIMARY KEY REFERENCES films (id) ON DELETE CASCADE, version INTEGER NOT NULL, body BLOB NOT NULL
);
CREATE TABLE jobs (
    id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, urgency INTEGER NOT NULL,
    game TEXT REFERENCES games (id) ON DELETE CASCADE, film TEXT REFERENCES films (id) ON DELETE CASCADE,
    body TEXT NOT NULL DEFAULT '{}', state TEXT NOT NULL DEFAULT 'waiting', share REAL NOT NULL DEFAULT 0,
    left_s REAL, told TEXT NOT NULL DEFAULT '', why TEXT NOT NULL DEFAULT '', need_bytes INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE journal (
    seq INTEGER PRIMARY KEY AUTOINCREMENT, game TEXT NOT NULL REFERENCES games (id), book TEXT NOT NULL,
    id TEXT NOT NULL UNIQUE, n INTEGER NOT NULL, body TEXT NOT NULL, UNIQUE (game, book, n, id)
);
CREATE TRIGGER journal_keeps BEFORE UPDATE ON journal BEGIN
    SELECT RAISE(ABORT, 'the journal only grows: an entry is never changed'); END;
CREATE TRIGGER journal_holds BEFORE DELETE ON journal BEGIN
    SELECT RAISE(ABORT, 'the journal only grows: an entry is never deleted'); END;
"""

_LIFTS = {
    1: """
ALTER TABLE films ADD COLUMN camera TEXT NOT NULL DEFAULT '';
CREATE TABLE ties (
    game TEXT NOT NULL REFERENCES games (id) ON DELETE CASCADE, camera TEXT NOT NULL,
    film TEXT NOT NULL REFERENCES films (id) ON DELETE CASCADE, at_ms INTEGER NOT NULL,
    of_film TEXT NOT NULL REFERENCES films (id) ON DELETE CASCADE, of_ms INTEGER NOT NULL,
    PRIMARY KEY (game, camera)
) WITHOUT ROWID;
""",
}
"""What each version lacks of the next: `_SCHEMA` is version 1, and every database becomes the newest when opened."""


class StoreError(Exception):
    """The season's database cannot be used; says which file, why and what to do."""


class NotADatabase(StoreError, ValueError):
    """The file is no season database, or is damaged."""


class ReadOnly(StoreError, PermissionError):
    """The database may be read and not written."""


class Busy(StoreError, TimeoutError):
    """Another program holds the database."""


class Store:
    """A connection for each thread to one database file.

    Parameters
    ----------
    path : Path
        The file; made when it is missing and `make` says so.
    make : bool
        Whether to make it.

    Raises
    ------
    StoreError
        It is missing, damaged, or no season database.
    """

    def __init__(self, path: Path, *, make: bool = False) -> None:
        self.path = path
        self.read_only = False
        self._local = threading.local()
        self._all: list[sqlite3.Connection] = []
        self._guard = threading.Lock()
        if not path.exists() and not make:
            raise NotADatabase(f"{path.name}: not there; is {path.parent} a season folder? `floorbook new` makes one")
        try:
            with self.writing() as db:
                version = db.execute("PRAGMA user_version").fetchone()[0]
                if version == 0:
                    if db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                        raise NotADatabase(
                            f"{path.name}: a database, but not a season's; put season.db back from a backup"
                        )
                    for statement in _statements(_SCHEMA):
                        db.execute(statement)
                    version = 1
                for older in range(version, VERSION):
                    for statement in _statements(_LIFTS[older]):
                        db.execute(statement)
                if version < VERSION:
                    db.execute(f"PRAGMA user_version = {VERSION}")
        except sqlite3.DatabaseError as fault:
            self.close()
            raise _told(path, fault) from fault
        if version > VERSION:
            self.read_only = True
            self.read_only_because = (
                f"{path.name} was written by a newer floorbook (version {version}, this one knows {VERSION}): "
                "it can be looked at, not added to; update floorbook"
            )

    read_only_because = ""

    def connection(self) -> sqlite3.Connection:
        """This thread's connection.

        Returns
        -------
        sqlite3.Connection
            In autocommit; rows come as `sqlite3.Row`.
        """
        held: sqlite3.Connection | None = getattr(self._local, "db", None)
        if held is None:
            held = sqlite3.connect(self.path, timeout=10, isolation_level=None, check_same_thread=False)
            held.row_factory = sqlite3.Row
            held.execute("PRAGMA busy_timeout = 10000")
            held.execute("PRAGMA journal_mode = WAL")
            held.execute("PRAGMA synchronous = FULL")
            held.execute("PRAGMA foreign_keys = ON")
            self._local.db = held
            with self._guard:
                self._all.append(held)
        return held

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction that is on disk when the block ends, or never was.

        Yields
        ------
        sqlite3.Connection
            Inside a write transaction.

        Raises
        ------
        ReadOnly
            The database is a newer floorbook's.
        Busy
            Another program held it for ten seconds.
        """
        if self.read_only:
            raise ReadOnly(self.read_only_because)
        db = self.connection()
        try:
            db.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as fault:
            raise _told(self.path, fault) from fault
        try:
            yield db
        except BaseException:
            db.execute("ROLLBACK")
            raise
        db.execute("COMMIT")

    def close(self) -> None:
        """Close every connection, the write-ahead log folded into the file."""
        with self._guard:
            held, self._all = self._all, []
        for place, db in enumerate(held):
            try:
                if place == len(held) - 1 and not self.read_only:
                    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            except sqlite3.Error:
                pass
            finally:
                db.close()
        self._local = threading.local()


def _statements(script: str) -> Iterator[str]:
    held = ""
    for line in script.splitlines(keepends=True):
        held += line
        if sqlite3.complete_statement(held):
            yield held
            held = ""


def _told(path: Path, fault: sqlite3.Error) -> StoreError:
    text = str(fault).lower()
    if "locked" in text or "busy" in text:
        return Busy(f"{path.name}: another program holds it; close that one and try again")
    if "readonly" in text or "unable to open" in text:
        return ReadOnly(f"{path.name}: cannot be written ({fault}); check the folder's rights and the disk")
    if "full" in text:
        return StoreError(f"{path.name}: the disk is full; free some room, nothing was lost")
    return NotADatabase(f"{path.name}: damaged or no database ({fault}); put it back from a backup")
