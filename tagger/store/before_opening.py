"""What lies where a season's database belongs, looked at before SQLite gets to see it.

SQLite takes a missing or empty file for a new database, and throws away the write-ahead log that lies beside. So
nothing is opened that does not look like a database, and nothing is touched here.
"""

from __future__ import annotations

from pathlib import Path

from tagger.errors import NoSeason
from tagger.store.faults import WAL, NotADatabase, ways_out
from tagger.texts.settings import SETTINGS

DATABASE = "season.db"
MAGIC = b"SQLite format 3\x00"
_HEADER = 100


def must_be_season(folder: Path) -> None:
    """Refuse a folder that holds no season, or a season's database without its settings, touching nothing.

    Parameters
    ----------
    folder : Path
        The folder.

    Raises
    ------
    NoSeason
        Says which it is.
    """
    if (folder / SETTINGS).is_file():
        return
    if not (folder / DATABASE).is_file():
        raise NoSeason(f"{folder}: no season folder (no {SETTINGS} there); `floorbook new {folder}` makes one")
    raise NoSeason(
        f"{folder}: {DATABASE} lies there, {SETTINGS} does not; put that back from a copy, or "
        f"`floorbook rescue {folder} --to NEW` makes a folder with new texts and all marks; nothing was touched"
    )


def check_before_opening(path: Path, *, make: bool = False) -> bool:
    """Refuse what is no database, touching nothing.

    Parameters
    ----------
    path : Path
        Where the database belongs.
    make : bool
        Whether a new one may be made where nothing lies.

    Returns
    -------
    bool
        Whether there is one; False: one is to be made.

    Raises
    ------
    NotADatabase
        It is missing and may not be made, is empty, or is something else.
    OSError
        It can't be read.
    """
    log = path.with_name(path.name + WAL)
    beside = _beside(log)
    if not path.exists():
        if make and not beside:
            return False
        raise NotADatabase(f"{path.name}: not in {path.parent}{beside}; {_back(path, beside)}")
    if not path.is_file():
        raise NotADatabase(f"{path.name}: in {path.parent} this is no file; move it away, {_back(path, beside)}")
    size = path.stat().st_size
    if size == 0:
        raise NotADatabase(f"{path.name}: empty (0 bytes){beside}; {_back(path, beside)}")
    with path.open("rb") as file:
        head = file.read(_HEADER)
        if not head.startswith(MAGIC):
            zeros = not any(head) and all(not any(part) for part in iter(lambda: file.read(1 << 20), b""))
            what = "nothing but zeros" if zeros else "no database, or its beginning is damaged"
            raise NotADatabase(f"{path.name}: {size} bytes, {what}{beside}; {_back(path, beside)}")
    return True


def _beside(log: Path) -> str:
    try:
        size = log.stat().st_size
    except OSError:
        return ""
    return f", though {log.name} ({size} bytes of its latest marks) lies there" if size else ""


def _back(path: Path, beside: str) -> str:
    keep = f"keep {path.name}{WAL}, " if beside else ""
    return f"{keep}put {path.name} back from where it went, or {ways_out(path.parent)}; nothing was touched"
