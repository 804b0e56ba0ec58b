"""A season as one file to carry: a ZIP archive in which the database is one consistent moment of it.

A copy is proven before it takes an older one's place. The database in it is sound, every entry can be read, it holds
what the season held and everything that the older copy knew; what was written is read back from the disk. A season that
is damaged makes no copy, and what was there stays.
"""

from __future__ import annotations

import errno
import hashlib
import os
import secrets
import sqlite3
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.copies.daily import kept_copies
from dashboard.copies.label import MARK, season_of
from dashboard.copies.packing import Packed, packed
from dashboard.copies.proof import compared, contents, faults_in, opened_to_read
from dashboard.erasing.log import erased_in
from dashboard.errors import DamagedSeason, WrongCopy
from tagger.progress import Progress
from tagger.written import OWNER_ONLY, PART_SUFFIX, whole_file

if TYPE_CHECKING:
    from tagger.season import Season

_STORED = (".mp4", ".mov", ".webm", ".mkv", ".jpg", ".png")
_CHUNK = 1024 * 1024
_TOLD = 3


@dataclass(frozen=True)
class Written:
    """A copy that was made: files in it, its size, entries of the journal, and what was left out and why."""

    n_files: int
    size_bytes: int
    n_entries: int
    left_out: tuple[str, ...] = ()


def write_backup(
    season: Season, target: Path, *, film: bool = True, replace: bool = False, progress: Progress | None = None
) -> Written:
    """Write a copy of a season; the file appears only when it is whole and proven.

    Parameters
    ----------
    season : Season
        An open season; it may be open elsewhere too, and be written to meanwhile.
    target : Path
        The archive. `dashboard.outputs` has allowed it.
    film : bool
        With the folder's film and reels.
    replace : bool
        Also over a copy that holds what the season does not.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Written
        What came of it.

    Raises
    ------
    DamagedSeason
        The season is not sound; what lay at the target is as it was.
    WrongCopy
        The copy at the target holds entries that the season does not; it is as it was.
    tagger.written.FullDisk
        There was no room; the same.
    """
    older = () if replace else (target,)
    files = packed(season.folder, film=film, leave_out=(target,))
    newest = kept_copies(season)[-1:]
    lies = season.store.connection().execute("PRAGMA database_list").fetchone()[2]  # where a copy to look at does
    with closing(opened_to_read(Path(lies))) as source:
        return write_copy(
            source,
            season.folder,
            season.texts.settings.id,
            files=files,
            target=target,
            older=older,
            known=newest,
            progress=progress,
        )


def write_copy(
    source: sqlite3.Connection,
    folder: Path,
    season: str,
    files: Packed,
    target: Path,
    *,
    older: Iterable[Path] = (),
    known: Iterable[Path] = (),
    progress: Progress | None = None,
) -> Written:
    """Write a proven copy from a connection to the season's database.

    Parameters
    ----------
    source : sqlite3.Connection
        Open on the season's database.
    folder : Path
        The season's folder.
    season : str
        The season's id.
    files : Packed
        What goes in beside the database.
    target : Path
        The archive.
    older : iterable of Path
        Copies that are to be replaced: all that they know must be in the new one. What is no copy is passed over.
    known : iterable of Path
        Other copies: an entry that they hold too must be the same.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Written
        What came of it.

    Raises
    ------
    DamagedSeason, WrongCopy, tagger.written.FullDisk
        As for `write_backup`.
    """
    from tagger.store.before_opening import DATABASE

    total = 2 * (sum(size for _, size in files.files) or 1)
    try:
        with whole_file(target) as beside, scratch(target) as copy:
            n_entries = _proven_database(source, copy)
            for other in older:
                _held_against(copy, other, target, folder, replaced=True)
            for other in known:
                _held_against(copy, other, target, folder, replaced=False)
            done = 0
            with zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED, strict_timestamps=False) as archive:
                archive.comment = (MARK + season).encode()
                digest = _digest_of(copy)
                archive.write(copy, DATABASE)
                for path, size in files.files:
                    name = path.relative_to(folder).as_posix()
                    kept_as_is = path.suffix.lower() in _STORED
                    archive.write(path, name, zipfile.ZIP_STORED if kept_as_is else zipfile.ZIP_DEFLATED)
                    done += size
                    if progress is not None:
                        progress(done / total, name)
            names = [path.relative_to(folder).as_posix() for path, _ in files.files]
            _read_back(beside, target, digest, [DATABASE, *names], progress)
            size_bytes = beside.stat().st_size
    except DamagedSeason as fault:
        raise not_written(target, folder, str(fault)) from fault
    return Written(len(files.files) + 1, size_bytes, n_entries, files.left_out)


def not_written(target: Path, folder: Path, what: str) -> DamagedSeason:
    """What is said when a season is too damaged to be copied.

    Parameters
    ----------
    target : Path
        The copy that was wanted.
    folder : Path
        The season's folder.
    what : str
        What is damaged.

    Returns
    -------
    DamagedSeason
        To be raised.
    """
    stays = "; the copy that lies there was left as it was" if target.exists() else ""
    return DamagedSeason(
        f"{target.name}: not written{stays}, since season.db is damaged ({what}). "
        f"`floorbook rescue {folder} --to NEW` saves all that can be read"
    )


@contextmanager
def scratch(near: Path) -> Iterator[Path]:
    """A file for a while, beside another one, that its owner alone can read.

    Parameters
    ----------
    near : Path
        Beside what.

    Yields
    ------
    Path
        An empty file; gone afterwards, with what SQLite put beside it.
    """
    path = near.with_name(f".{near.name[:100]}.{secrets.token_hex(3)}.db{PART_SUFFIX}")
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))
    try:
        yield path
    finally:
        for end in ("", "-journal", "-wal", "-shm"):
            with suppress(OSError):
                path.with_name(path.name + end).unlink(missing_ok=True)


def _proven_database(source: sqlite3.Connection, copy: Path) -> int:
    """Copy the database at one moment and prove the copy; gives the number of entries."""
    try:
        with closing(sqlite3.connect(copy, isolation_level=None)) as into:
            into.execute("PRAGMA synchronous = OFF")  # the archive is what is kept, not this
            source.backup(into)
            into.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.DatabaseError as fault:
        _raise_if_no_room(fault, source, copy)
        raise DamagedSeason(str(fault)) from fault
    faults = faults_in(copy)
    if faults:
        more = f"; and {len(faults) - _TOLD} more" if len(faults) > _TOLD else ""
        raise DamagedSeason("; ".join(faults[:_TOLD]) + more)
    with closing(opened_to_read(copy)) as db:
        held = contents(db)
    try:
        again = contents(source, held.last_seq)
    except sqlite3.DatabaseError as fault:
        raise DamagedSeason(str(fault)) from fault
    if again != held:
        raise DamagedSeason("the journal reads otherwise than it did a moment ago; is the disk failing?")
    return held.n_entries


def _raise_if_no_room(fault: sqlite3.DatabaseError, source: sqlite3.Connection, copy: Path) -> None:
    """SQLite calls a file that may not grow a disk error: writing as much shows what it is."""
    name = getattr(fault, "sqlite_errorname", "") or str(fault)
    if name == "SQLITE_FULL":
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(copy)) from fault
    if "IOERR" in name or "I/O" in name:
        lies = Path(source.execute("PRAGMA database_list").fetchone()[2])  # which reads nothing of it
        with copy.open("wb") as file:
            for _ in range(lies.stat().st_size // _CHUNK + 1):
                file.write(bytes(_CHUNK))
            file.flush()
            os.fsync(file.fileno())


def _held_against(copy: Path, other: Path, target: Path, folder: Path, *, replaced: bool) -> None:
    """An entry that another copy holds must be the same here; when it is to be replaced, all its entries must be.

    Nothing is asked of a copy made before something was erased: it holds what is to be gone.
    """
    from tagger.store.before_opening import DATABASE

    if season_of(other) is None or erased_in(other) != erased_in(folder):
        return
    with scratch(target) as held:
        try:
            with zipfile.ZipFile(other) as archive, archive.open(DATABASE) as packed_db, held.open("wb") as out:
                while chunk := packed_db.read(_CHUNK):
                    out.write(chunk)
            differs = compared(copy, held)
        except (zipfile.BadZipFile, zlib.error, sqlite3.DatabaseError, EOFError):
            return  # torn itself: nothing can be learned from it, and nothing is lost with it
    if differs.changed:
        ids = ", ".join(differs.changed[:_TOLD])
        which = "an entry" if len(differs.changed) == 1 else f"{len(differs.changed)} entries"
        raise DamagedSeason(f"{which} ({ids}) changed since {other.name} was made")
    if replaced and differs.n_missing:
        n = "an entry" if differs.n_missing == 1 else f"{differs.n_missing} entries"
        raise WrongCopy(
            f"{other.name}: holds {n} that this season does not; it was left as it was. Name another file, or say "
            "--replace to write over it"
        )


def _digest_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _read_back(beside: Path, target: Path, digest: str, names: list[str], progress: Progress | None) -> None:
    """Read all of it again: every part by its checksum, the database byte for byte."""
    try:
        with zipfile.ZipFile(beside) as archive:
            infos = archive.infolist()
            if [info.filename for info in infos] != names:
                raise WrongCopy(f"{target.name}: what was written lacks files; is the disk failing? It was not kept")
            total = sum(info.file_size for info in infos) or 1
            done = 0
            for place, info in enumerate(infos):
                seen = hashlib.sha256()
                with archive.open(info) as part:
                    while chunk := part.read(_CHUNK):
                        done += len(chunk)
                        if place == 0:
                            seen.update(chunk)
                if place == 0 and seen.hexdigest() != digest:
                    raise zipfile.BadZipFile("the database differs")
                if progress is not None:
                    progress(0.5 + done / total / 2, "reading it back")
    except (zipfile.BadZipFile, zlib.error, EOFError) as fault:
        raise WrongCopy(f"{target.name}: reads otherwise than it was written ({fault}); it was not kept") from fault
