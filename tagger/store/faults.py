"""What can be wrong with a season's database, and every fault of SQLite's told as one of these, in words.

SQLite says little: a disk that is full is "disk I/O error" when a limit on the file's size stopped it, "unable to open"
when there was no room for the file beside; a folder that can't be written is told the same way. So the code it gives is
read, and where that leaves it open the folder is tried.
"""

from __future__ import annotations

import errno
import sqlite3
from contextlib import suppress
from pathlib import Path

from tagger.written import FullDisk, is_full, whole_file

_BLOCK = 64 * 1024
WAL = "-wal"


class StoreError(Exception):
    """The season's database cannot be used; says which file, why and what to do."""


class NotADatabase(StoreError, ValueError):
    """The file is no season database, or is damaged, or is not there."""


class ReadOnly(StoreError, PermissionError):
    """The database may be read and not written."""


class Busy(StoreError, TimeoutError):
    """Another program holds the database."""


class StoreFull(StoreError, OSError):
    """There is no room to write to the database; what is in it stays.

    Parameters
    ----------
    path : Path
        The database.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path.name}: the disk is full; make room: nothing that was on disk is lost, and marks wait in the page"
        )
        self.path = path
        self.errno = errno.ENOSPC

    def __reduce__(self) -> tuple[type, tuple[Path]]:
        return type(self), (self.path,)


class Replaced(StoreError, FileNotFoundError):
    """The file was removed or another put in its place while it was open.

    Parameters
    ----------
    path : Path
        The database.
    which : str
        The file that is not the one it was.
    """

    def __init__(self, path: Path, which: str) -> None:
        super().__init__(
            f"{path.name}: {which} was removed or replaced while floorbook had it open, so nothing more is written; "
            "close floorbook, see that the right file lies there, and open it again: marks wait in the page"
        )
        self.path, self.which = path, which

    def __reduce__(self) -> tuple[type, tuple[Path, str]]:
        return type(self), (self.path, self.which)


def ways_out(folder: Path) -> str:
    """What to do about a damaged database.

    Parameters
    ----------
    folder : Path
        The season's.

    Returns
    -------
    str
        The end of a sentence.
    """
    return f"`floorbook rescue {folder} --to NEW` saves all that can be read, `floorbook restore` takes a kept copy"


def told(path: Path, fault: sqlite3.Error) -> StoreError:
    """A fault of SQLite's in words.

    Parameters
    ----------
    path : Path
        The database.
    fault : sqlite3.Error
        As raised.

    Returns
    -------
    StoreError
        To be raised from it.
    """
    code = getattr(fault, "sqlite_errorcode", 0)
    primary = code & 0xFF
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return Busy(f"{path.name}: another program holds it; close that one and try again")
    if primary == sqlite3.SQLITE_FULL:
        return StoreFull(path)
    if code == sqlite3.SQLITE_READONLY_DBMOVED:
        return Replaced(path, path.name)
    if primary in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM):
        return _of_the_disk(path, fault, primary)
    return NotADatabase(f"{path.name}: damaged ({fault}); {ways_out(path.parent)}")


def _of_the_disk(path: Path, fault: sqlite3.Error, primary: int) -> StoreError:
    tried = try_to_write(path)
    if is_full(tried) if tried is not None else False:
        return StoreFull(path)
    if not path.exists():
        return NotADatabase(f"{path.name}: not there any more; put it back, or {ways_out(path.parent)}")
    if tried is not None or primary in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN):
        return ReadOnly(f"{path.name}: {path.parent} can't be written ({fault}); it can be looked at, not added to")
    return StoreError(
        f"{path.name}: the disk gave an error ({fault}); nothing that was on disk is lost by that: copy the folder to "
        f"another disk, then run `floorbook check` on the copy"
    )


def try_to_write(path: Path) -> OSError | None:
    """Find out by trying whether there is room, and leave, to write beside a database.

    Parameters
    ----------
    path : Path
        The database.

    Returns
    -------
    OSError or None
        What stands against it; a `FullDisk` also where the file itself may grow no more.
    """
    beside = path.with_name(f".{path.name}.try")
    try:
        with whole_file(beside) as file:
            file.write_bytes(bytes(_BLOCK))
    except OSError as fault:
        return fault
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
    sizes = [_size(path), _size(path.with_name(path.name + WAL))]
    return FullDisk(path) if max(sizes) + _BLOCK > _most_bytes() else None


def _most_bytes() -> float:
    """How large a file of this process may become."""
    try:
        import resource
    except ImportError:
        return float("inf")
    most = resource.getrlimit(resource.RLIMIT_FSIZE)[0]
    return float("inf") if most == resource.RLIM_INFINITY else most


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0
