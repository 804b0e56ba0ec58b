"""A database copied aside to be looked at, so that looking writes nothing where it lies.

SQLite itself can't do that: to read a write-ahead log it makes files beside the database, and when it was the last to
close it folds the log in. The copy is one moment even while a server writes. The server changes the database only by
copying into it what its log holds, and keeps that log until all of it is there; so while the log's beginning (which
says which log it is) stays the same, database and log copied in this order belong together.

Inside a process that has it open, only SQLite may read the file: closing another handle lets go of SQLite's locks
(`is_held`).
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import threading
import time
import weakref
from collections import Counter
from pathlib import Path

from tagger.store.faults import WAL, Busy, StoreError, StoreFull
from tagger.store.telling import in_words
from tagger.written import is_full

_LOG_HEADER = 32
_TRIES = 40
_PAUSE_S = 0.05

_held: Counter[tuple[int, int]] = Counter()
_guard = threading.Lock()


def identity(path: Path) -> tuple[int, int] | None:
    """Which file lies at a path.

    Parameters
    ----------
    path : Path
        Any.

    Returns
    -------
    tuple of int or None
        The same as long as it is the same file, whatever is in it; None where nothing lies.
    """
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def hold(file: tuple[int, int] | None, change: int) -> None:
    """Note that this process has a database open, or no longer has.

    Where locks belong to a process (POSIX), reading such a file beside SQLite and closing it would let go of SQLite's
    own locks; see `is_held`.

    Parameters
    ----------
    file : tuple of int or None
        Its identity.
    change : int
        1 or -1.
    """
    if file is not None:
        with _guard:
            _held[file] += change


def is_held(path: Path) -> bool:
    """Whether this process has a database open, so that only SQLite may read its file.

    Parameters
    ----------
    path : Path
        The database.

    Returns
    -------
    bool
        Of this process only.
    """
    file = identity(path)
    with _guard:
        return file is not None and _held[file] > 0


class Snapshot:
    """One moment of a database, in a folder of its own that goes with it.

    Parameters
    ----------
    path : Path
        The database.

    Raises
    ------
    tagger.store.faults.StoreError
        It can't be read, or there is no room for the copy.
    """

    def __init__(self, path: Path) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="floorbook-"))
        self.path = self.folder / path.name
        self._gone = weakref.finalize(self, shutil.rmtree, self.folder, ignore_errors=True)
        try:
            if is_held(path):
                _by_sqlite(path, self.path)
            else:
                _by_bytes(path, self.path)
        except BaseException as fault:
            self.close()
            if is_full(fault) and not isinstance(fault, StoreError):
                raise StoreFull(self.path) from fault
            raise

    def close(self) -> None:
        """Throw the copy away; harmless when it is gone."""
        self._gone()


def raw(path: Path, *, whole: bool = True) -> tuple[bytes, bytes]:
    """A database and its log as they lie.

    Parameters
    ----------
    path : Path
        The database; nobody writes to it, and this process has it not open.
    whole : bool
        The database also where there is no log.

    Returns
    -------
    tuple of bytes
        Each empty where there is none.
    """
    log = path.with_name(path.name + WAL)
    if not log.is_file() or log.stat().st_size == 0:
        return path.read_bytes() if path.is_file() and whole else b"", b""
    return path.read_bytes() if path.is_file() else b"", log.read_bytes()


def _by_bytes(path: Path, copy: Path) -> None:
    log, log_copy = path.with_name(path.name + WAL), copy.with_name(copy.name + WAL)
    for _ in range(_TRIES):
        before = _state(path, log)
        shutil.copyfile(path, copy)
        log_copy.unlink(missing_ok=True)
        if before[0]:
            try:
                shutil.copyfile(log, log_copy)
            except FileNotFoundError:
                continue
        if _state(path, log) == before:
            return
        time.sleep(_PAUSE_S)
    raise Busy(f"{path.name}: it is being written to without a pause; try again in a moment")


def _state(path: Path, log: Path) -> tuple[bytes, tuple[int, ...]]:
    """Which log lies there; where there is none, which state of the database."""
    try:
        with log.open("rb") as file:
            head = file.read(_LOG_HEADER)
    except OSError:
        head = b""
    found = path.stat()
    file_ = (found.st_dev, found.st_ino)
    return head, file_ if head else (*file_, found.st_size, found.st_mtime_ns)


def _by_sqlite(path: Path, copy: Path) -> None:
    with in_words(path):
        source = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, timeout=10)
        try:
            into = sqlite3.connect(copy)
            try:
                source.backup(into)
            finally:
                into.close()
        finally:
            source.close()
