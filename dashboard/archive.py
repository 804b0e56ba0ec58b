"""A season as one file to carry: a ZIP archive in which the database is one consistent moment of it."""

from __future__ import annotations

import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tagger.season import Season

_LEFT_OUT = (".part", ".db", ".db-wal", ".db-shm", ".lock")
_STORED = (".mp4", ".mov", ".webm", ".mkv", ".jpg", ".png")


def write_backup(
    season: Season, target: Path, *, film: bool = True, progress: Callable[[float, str], None] | None = None
) -> tuple[int, int]:
    """Write the copy; the file appears only when it is whole.

    Parameters
    ----------
    season : Season
        An open season; it may be open elsewhere too, and be written to meanwhile.
    target : Path
        The archive.
    film : bool
        With the folder's film and reels.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    tuple of int
        How many files it holds, and its size in bytes.
    """
    from tagger.season import DATABASE

    beside = target.with_name(target.name + ".part")
    copy = target.with_name(target.name + ".db.part")
    files = list(_files(season.folder, film, {beside.resolve(), target.resolve()}))
    total = sum(path.stat().st_size for path in files) or 1
    try:
        _copy_database(season, copy)
        done = 0
        with zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.write(copy, DATABASE)
            for path in files:
                name = path.relative_to(season.folder).as_posix()
                packed = path.suffix.lower() in _STORED
                archive.write(path, name, zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED)
                done += path.stat().st_size
                if progress is not None:
                    progress(done / total, name)
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)
        copy.unlink(missing_ok=True)
    return len(files) + 1, target.stat().st_size


def _copy_database(season: Season, copy: Path) -> None:
    copy.unlink(missing_ok=True)
    into = sqlite3.connect(copy)
    try:
        season.store.connection().backup(into)
        into.execute("PRAGMA journal_mode = DELETE")
    finally:
        into.close()


def _files(folder: Path, film: bool, leave_out: set[Path]) -> Iterator[Path]:
    from tagger.season import FILM_FOLDER, REEL_FOLDER

    for path in sorted(folder.rglob("*")):
        top = path.relative_to(folder).parts[0]
        if not path.is_file() or path.name.endswith(_LEFT_OUT) or path.resolve() in leave_out:
            continue
        if path.parent.suffix == ".work":  # pieces of a copy that is being made
            continue
        if film or top not in (FILM_FOLDER, REEL_FOLDER):
            yield path
