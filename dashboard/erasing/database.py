"""The season's database written anew without what is erased: the one exception to a journal that only grows.

A copy is changed, proven against what it came from row by row, and packed into a fresh file without a free page; that
one takes the database's place in one step. So at any moment the old one or the new one stands there, whole. Then what
held the old one is overwritten: the file, its write-ahead log, the copy.
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import Any, TypeAlias

from dashboard.erasing.shredding import held, shred
from dashboard.errors import NotErased
from tagger.progress import Tell
from tagger.store.database import Busy
from tagger.written import OWNER_ONLY, PART_SUFFIX, FullDisk, put_in_place

Row: TypeAlias = Mapping[str, Any]
Change: TypeAlias = Callable[[str, Row], Row | None]
"""Table and row → the row as it shall be, the same where nothing changes; None: it goes."""

_AWAY = "it was left as it is; `floorbook check` says more"


def write_anew(database: Path, change: Change, tell: Tell = lambda step: None) -> int:
    """Put a database in the place of the old one.

    Parameters
    ----------
    database : Path
        The season's. Nobody else has it open: a server or a command that does is found out.
    change : callable
        What becomes of each row.
    tell : callable
        Told what was just done.

    Returns
    -------
    int
        How many rows are others now, or gone. When none is, it is written anew all the same.

    Raises
    ------
    tagger.store.database.Busy
        Somebody has it open.
    NotErased
        It is damaged, or the new one is not what it should be; nothing was changed.
    tagger.written.FullDisk
        There is no room for two more of it; nothing was changed.
    """
    with ExitStack() as stack:
        copy, fresh = (stack.enter_context(_beside(database, name)) for name in ("copy", "fresh"))
        try:
            old = stack.enter_context(_alone(database))
            tell("alone")
            with closing(sqlite3.connect(copy, isolation_level=None)) as db:
                old.backup(db)
                tell("copied")
                n_changed = _changed(db, change)
                tell("changed")
                _prove(old, db, change)
                fresh.unlink()
                db.execute("VACUUM INTO ?", (str(fresh),))
                tell("packed")
            _prove_sound(fresh)
            with closing(_reading(fresh)) as new:
                _prove(old, new, change)
        except sqlite3.DatabaseError as fault:
            raise _told(database, fault) from fault
        fresh.chmod(OWNER_ONLY)
        _on_disk(fresh)
        tell("proven")
        with held(database):
            if os.name == "nt":  # where an open file can't be replaced
                old.close()
            put_in_place(fresh, database)
            tell("replaced")
            old.close()
    for end in ("-wal", "-shm", "-journal"):
        shred(database.with_name(database.name + end))
    tell("overwritten")
    return n_changed


def fold_log(database: Path) -> None:
    """Put what lies in the write-ahead log into the database, and overwrite the log, which opening would only cut off.

    Parameters
    ----------
    database : Path
        The season's; nobody else has it open.

    Raises
    ------
    tagger.store.faults.Busy, NotErased
        Somebody has it open; it is damaged.
    """
    try:
        with _alone(database):
            return
    except sqlite3.DatabaseError as fault:
        raise _told(database, fault) from fault


@contextmanager
def _alone(database: Path) -> Iterator[sqlite3.Connection]:
    """The database with nobody else in it, everything of it in the one file, the log overwritten."""
    log = database.with_name(database.name + "-wal")
    with closing(sqlite3.connect(database, timeout=1, isolation_level=None)) as db:
        with held(log):
            db.execute("PRAGMA locking_mode = EXCLUSIVE")
            db.execute("PRAGMA synchronous = FULL")
            db.execute("BEGIN IMMEDIATE")  # the log, where there is one, is read and kept by this connection alone
            db.execute("COMMIT")
            if db.execute("PRAGMA journal_mode = DELETE").fetchone()[0] != "delete":
                raise Busy(f"{database.name}: another program holds it; close that one and try again")
            db.execute("BEGIN EXCLUSIVE")
            db.execute("COMMIT")
        found = [row[0] for row in db.execute("PRAGMA integrity_check")]
        if found != ["ok"]:
            raise NotErased(f"{database.name}: damaged ({found[0]}), so nothing was erased; rescue what it holds first")
        yield db


@contextmanager
def _beside(database: Path, name: str) -> Iterator[Path]:
    """An empty file beside the database that its owner alone can read, overwritten at the end."""
    path = database.with_name(f".{database.name}.{name}.{secrets.token_hex(3)}{PART_SUFFIX}")
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))
    try:
        yield path
    finally:
        for end in ("", "-journal", "-wal", "-shm"):
            shred(path.with_name(path.name + end))


def _changed(db: sqlite3.Connection, change: Change) -> int:
    """Change a copy; its triggers, which refuse that, are taken off for it."""
    triggers = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    db.execute("PRAGMA foreign_keys = OFF")
    db.execute("PRAGMA journal_mode = MEMORY")
    n = 0
    db.execute("BEGIN IMMEDIATE")
    for name, _ in triggers:
        db.execute(f'DROP TRIGGER "{name}"')
    for table in _tables(db):
        keys = _keys(db, table)
        where = " AND ".join(f'"{key}" IS ?' for key in keys)
        for row in list(_rows(db, table)):
            new = change(table, row)
            if new == row:
                continue
            n += 1
            named = [row[key] for key in keys]
            if new is None:
                db.execute(f'DELETE FROM "{table}" WHERE {where}', named)
                continue
            put = [name for name in new if new[name] != row[name]]
            sets = ", ".join(f'"{name}" = ?' for name in put)
            db.execute(f'UPDATE "{table}" SET {sets} WHERE {where}', [*(new[name] for name in put), *named])
    for _, sql in triggers:
        db.execute(sql)
    db.execute("COMMIT")
    return n


def _prove(old: sqlite3.Connection, new: sqlite3.Connection, change: Change) -> None:
    """Hold a new database against the old one, row by row and in the same order."""
    tables = _tables(old)
    schema = "SELECT type, name, tbl_name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' ORDER BY type, name"
    if old.execute(schema).fetchall() != new.execute(schema).fetchall():
        raise NotErased(f"the database written anew has other tables than the old one; {_AWAY}")
    for pragma in ("user_version", "application_id"):
        if old.execute(f"PRAGMA {pragma}").fetchone() != new.execute(f"PRAGMA {pragma}").fetchone():
            raise NotErased(f"the database written anew is of another version; {_AWAY}")
    for table in tables:
        there = _rows(new, table)
        for row in _rows(old, table):
            wanted = change(table, row)
            if wanted is not None and wanted != next(there, None):
                raise NotErased(f"a row of {table} is not what it should be in the database written anew; {_AWAY}")
        if next(there, None) is not None:
            raise NotErased(f"{table} has rows too many in the database written anew; {_AWAY}")
    if (
        old.execute("SELECT * FROM sqlite_sequence").fetchall()
        != new.execute("SELECT * FROM sqlite_sequence").fetchall()
    ):
        raise NotErased(f"the database written anew would count on elsewhere; {_AWAY}")


def _prove_sound(database: Path) -> None:
    with closing(_reading(database)) as db:
        found = [row[0] for row in db.execute("PRAGMA integrity_check")]
        strays = db.execute("PRAGMA foreign_key_check").fetchall()
        n_free = db.execute("PRAGMA freelist_count").fetchone()[0]
    if found != ["ok"] or strays or n_free:
        raise NotErased(f"the database written anew is not sound ({found[0]}); {_AWAY}")


def _tables(db: sqlite3.Connection) -> list[str]:
    sql = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    return [row[0] for row in db.execute(sql)]


def _keys(db: sqlite3.Connection, table: str) -> list[str]:
    found = sorted((row[5], row[1]) for row in db.execute(f'PRAGMA table_info("{table}")') if row[5])
    return [name for _, name in found]


def _rows(db: sqlite3.Connection, table: str) -> Iterator[dict[str, Any]]:
    order = ", ".join(f'"{key}"' for key in _keys(db, table))
    rows = db.execute(f'SELECT * FROM "{table}" ORDER BY {order}')
    names = [each[0] for each in rows.description]
    for row in rows:
        yield dict(zip(names, row, strict=True))


def _reading(database: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)


def _on_disk(path: Path) -> None:
    with path.open("r+b") as file:
        os.fsync(file.fileno())


def _told(database: Path, fault: sqlite3.DatabaseError) -> Exception:
    name = getattr(fault, "sqlite_errorname", "") or ""
    if name == "SQLITE_FULL":
        return FullDisk(database)
    if "locked" in str(fault).lower() or "busy" in str(fault).lower():
        return Busy(f"{database.name}: another program holds it; close that one and try again. Nothing was erased")
    return NotErased(f"{database.name}: it can’t be written anew ({fault}); nothing was erased")
