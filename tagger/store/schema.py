"""The tables of a season's database, version by version."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

VERSION = 2

SCHEMA = """
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

LIFTS = {
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
"""What each version lacks of the next: `SCHEMA` is version 1, and every database becomes the newest when opened."""


def version_of(db: sqlite3.Connection) -> int:
    """Which version a database is.

    Parameters
    ----------
    db : sqlite3.Connection
        Open.

    Returns
    -------
    int
        0 for one without a season's tables.
    """
    return int(db.execute("PRAGMA user_version").fetchone()[0])


def lift(db: sqlite3.Connection, version: int) -> None:
    """Make a database the newest version, inside a transaction of the caller's.

    Parameters
    ----------
    db : sqlite3.Connection
        In a write transaction.
    version : int
        Its own; 0 gets every table.
    """
    if version == 0:
        for statement in _statements(SCHEMA):
            db.execute(statement)
    for older in range(max(version, 1), VERSION):
        for statement in _statements(LIFTS[older]):
            db.execute(statement)
    db.execute(f"PRAGMA user_version = {VERSION}")


def _statements(script: str) -> Iterator[str]:
    held = ""
    for line in script.splitlines(keepends=True):
        held += line
        if sqlite3.complete_statement(held):
            yield held
            held = ""
