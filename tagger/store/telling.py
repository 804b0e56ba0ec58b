"""A connection to a database whose faults come in words: whatever SQLite raises, the callers get a `StoreError`.

Only what is a mistake of ours, or the database refusing an entry to be changed, stays SQLite's own.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tagger.store.faults import told

_OURS = (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.NotSupportedError)


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Turn what SQLite raises into words.

    Parameters
    ----------
    path : Path
        The database, for the message.

    Raises
    ------
    tagger.store.faults.StoreError
        For any fault of the file or the disk.
    """
    try:
        yield
    except _OURS:
        raise
    except (sqlite3.DatabaseError, sqlite3.InterfaceError) as fault:
        raise told(path, fault) from fault


class TellingCursor(sqlite3.Cursor):
    """A cursor whose faults come in words."""

    connection: TellingConnection

    def execute(self, *words: Any) -> TellingCursor:
        with in_words(self.connection.told_as):
            super().execute(*words)
        return self

    def executemany(self, *words: Any) -> TellingCursor:
        with in_words(self.connection.told_as):
            super().executemany(*words)
        return self

    def fetchone(self) -> Any:
        with in_words(self.connection.told_as):
            return super().fetchone()

    def fetchall(self) -> list[Any]:
        with in_words(self.connection.told_as):
            return super().fetchall()

    def __next__(self) -> Any:
        try:
            return super().__next__()
        except _OURS:
            raise
        except (sqlite3.DatabaseError, sqlite3.InterfaceError) as fault:
            raise told(self.connection.told_as, fault) from fault


class TellingConnection(sqlite3.Connection):
    """A connection whose faults come in words.

    Attributes
    ----------
    told_as : Path
        The database's file as messages name it.
    """

    told_as: Path = Path("season.db")

    def cursor(self, factory: Any = TellingCursor) -> Any:
        return super().cursor(factory)

    def execute(self, *words: Any) -> Any:
        return self.cursor().execute(*words)

    def executemany(self, *words: Any) -> Any:
        return self.cursor().executemany(*words)


def readable(text: bytes) -> str:
    """A text as the database holds it; what is no text any more has a mark where it can't be read.

    Parameters
    ----------
    text : bytes
        As stored.

    Returns
    -------
    str
        Never fails, so that one damaged name hides no table.
    """
    return text.decode("utf-8", "replace")
