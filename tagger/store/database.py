"""The season's database: one SQLite file in WAL with `synchronous=FULL`, so that what was acknowledged survives a kill.

It holds what the text files do not: games, films, and the journal. The journal can only grow: the database itself
refuses to change or delete an entry.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tagger.store.before_opening import check_before_opening
from tagger.store.faults import WAL, Busy, NotADatabase, ReadOnly, Replaced, StoreError, StoreFull, ways_out
from tagger.store.salvage import behind_a_break
from tagger.store.schema import VERSION, lift, version_of
from tagger.store.snapshot import Snapshot, hold, identity, is_held, raw
from tagger.store.telling import TellingConnection, in_words, readable

__all__ = ["VERSION", "Busy", "NotADatabase", "ReadOnly", "Replaced", "Store", "StoreError", "StoreFull"]

ONLY_READ = "this season was opened to look at: nothing can be added"


class Store:
    """A connection for each thread to one database file.

    Parameters
    ----------
    path : Path
        The file.
    make : bool
        Whether to make it where nothing lies. Only who makes a season says so.
    read_only : bool
        Only look: nothing where it lies is written, made or changed. What is seen is the moment of opening.
    seen : Snapshot, optional
        To look: this copy instead of one that is made now.

    Raises
    ------
    StoreError
        It is missing, damaged, or no season database.
    """

    def __init__(
        self, path: Path, *, make: bool = False, read_only: bool = False, seen: Snapshot | None = None
    ) -> None:
        self.path = path
        self.read_only = read_only
        self.read_only_because = ONLY_READ if read_only else ""
        self.newer = False
        self._local = threading.local()
        self._all: list[sqlite3.Connection] = []
        self._guard = threading.Lock()
        self._files: tuple[tuple[int, int] | None, ...] = ()
        self._settled = False
        there = seen is not None or is_held(path) or check_before_opening(path, make=make and not read_only)
        self._snapshot = seen or (Snapshot(path) if read_only else None)
        self._file = path if self._snapshot is None else self._snapshot.path
        self._late = () if seen is not None or is_held(self._file) else behind_a_break(*raw(self._file, whole=False))
        self.mended = ""
        try:
            self._open(there)
        except BaseException:
            self.close()
            raise
        self._settled = True

    def _open(self, there: bool) -> None:
        db = self.connection()
        version = version_of(db)
        if version == 0 and there:
            held = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            what = "a database, but not a season's" if held else "a database with nothing in it"
            raise NotADatabase(f"{self.path.name}: {what}; {ways_out(self.path.parent)}; nothing was touched")
        if version < VERSION:
            with self._transaction(db):
                lift(db, version_of(db))
        elif version > VERSION:
            self.read_only = self.newer = True
            self.read_only_because = (
                f"{self.path.name} was written by a newer floorbook (version {version}, this one knows {VERSION}): "
                "it can be looked at, not added to; update floorbook"
            )
        if self._late and not self.newer:
            self._put_back(db)
        if self._snapshot is not None:
            db.execute("PRAGMA query_only = ON")
        else:
            self._files = self._lying()
            hold(self._files[0], 1)

    def _put_back(self, db: sqlite3.Connection) -> None:
        """Enter what the log holds behind a damaged place, before SQLite writes over it: it was acknowledged."""
        late, self._late = self._late, ()
        with self._transaction(db):
            before = db.execute("SELECT count(*) FROM journal").fetchone()[0]
            db.executemany(
                "INSERT OR IGNORE INTO journal (game, book, id, n, body) SELECT ?1, ?2, ?3, ?4, ?5 "
                "WHERE EXISTS (SELECT 1 FROM games WHERE id = ?1)",
                [(one.game, one.book, one.id, one.n, one.body) for one in late],
            )
            n = db.execute("SELECT count(*) FROM journal").fetchone()[0] - before
        if n:
            self.mended = (
                f"{self.path.name}{WAL} was damaged in the middle: {n} entries behind that place were read and put back"
            )

    def connection(self) -> sqlite3.Connection:
        """This thread's connection.

        Returns
        -------
        sqlite3.Connection
            In autocommit; rows come as `sqlite3.Row`, faults as `StoreError`.

        Raises
        ------
        Replaced
            It would be one to another file than the one that was opened.
        """
        held: sqlite3.Connection | None = getattr(self._local, "db", None)
        if held is None:
            if self._files:
                self._still_there()
            with in_words(self.path):
                held = sqlite3.connect(
                    self._file, timeout=10, isolation_level=None, check_same_thread=False, factory=TellingConnection
                )
            held.told_as = self.path
            try:
                held.row_factory = sqlite3.Row
                held.text_factory = readable
                held.execute("PRAGMA busy_timeout = 10000")
                held.execute("PRAGMA journal_mode = WAL")
                held.execute("PRAGMA synchronous = FULL")
                held.execute("PRAGMA foreign_keys = ON")
                if self._snapshot is not None and self._settled:
                    held.execute("PRAGMA query_only = ON")
            except BaseException:
                held.close()
                raise
            self._local.db = held
            with self._guard:
                self._all.append(held)
        return held

    @property
    def opened_read_only(self) -> bool:
        """Whether it was opened only to look at."""
        return self._snapshot is not None

    def writable(self) -> None:
        """Make sure that a write would go through, by beginning one.

        Raises
        ------
        StoreError
            Why it would not.
        """
        if not self.read_only:
            with self.writing() as db:
                db.execute("UPDATE about SET value = value WHERE name = ''")

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
            It was opened to look at, is a newer floorbook's, or can't be written.
        Busy
            Another program held it for ten seconds.
        StoreFull
            There is no room; nothing was written.
        Replaced
            Another file lies there now, or none: nothing may be taken for written.
        """
        if self.read_only:
            raise ReadOnly(self.read_only_because)
        self._still_there()
        with self._transaction(self.connection()) as db:
            yield db
            self._still_there()
        self._still_there()

    @contextmanager
    def _transaction(self, db: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
        db.execute("BEGIN IMMEDIATE")
        try:
            yield db
            db.execute("COMMIT")
        except BaseException:
            self._take_back(db)
            raise

    def _take_back(self, db: sqlite3.Connection) -> None:
        """End a transaction that failed; a connection that can't is given up, so that the next write gets a new one."""
        try:
            if db.in_transaction:
                db.execute("ROLLBACK")
        except (StoreError, sqlite3.Error):
            with self._guard:
                self._all = [one for one in self._all if one is not db]
            self._local.db = None
            with suppress(sqlite3.Error, StoreError):
                db.close()

    def _lying(self) -> tuple[tuple[int, int] | None, ...]:
        return identity(self.path), identity(self.path.with_name(self.path.name + WAL))

    def _still_there(self) -> None:
        for name, opened, now in zip(
            (self.path.name, self.path.name + WAL), self._files, self._lying() if self._files else (), strict=True
        ):
            if opened != now:
                raise Replaced(self.path, name)

    def close(self) -> None:
        """Close every connection, the write-ahead log folded into the file; a copy to look at is thrown away."""
        with self._guard:
            held, self._all = self._all, []
        files, self._files = self._files, ()
        fold = not self.read_only and (not files or self._lying() == files)
        for place, db in enumerate(held):
            try:
                if place == len(held) - 1 and fold:
                    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            except (sqlite3.Error, StoreError):
                pass
            finally:
                db.close()
        if files:
            hold(files[0], -1)
        self._local = threading.local()
        if self._snapshot is not None:
            self._snapshot.close()
