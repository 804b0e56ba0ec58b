"""A season made again from a copy: checked before anything changes, and what was there is kept beside it.

Everything is unpacked and proven in a folder of its own first. A new folder then takes its name; in a season that is
there already, its files are exchanged by one step that can be finished by whoever opens it next
(`tagger.store.exchange`).
"""

from __future__ import annotations

import datetime
import os
import secrets
import shutil
import sqlite3
import tomllib
import zipfile
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from dashboard.copies.daily import KEPT
from dashboard.copies.label import season_of
from dashboard.copies.proof import contents, faults_in, opened_to_read
from dashboard.copies.unpacking import TORN, is_same, parts_of, room_for, unpack
from dashboard.erasing.log import LOG, erased_in
from dashboard.errors import WrongCopy, WrongFolder
from dashboard.outputs import new_folder
from tagger.progress import Progress
from tagger.store.before_opening import DATABASE
from tagger.store.exchange import Plan, decide, files_of, finish
from tagger.store.lock import SeasonLock
from tagger.texts.folder import TEXTS
from tagger.texts.settings import SETTINGS
from tagger.written import OWNER_ONLY, FullDisk, is_full

_BESIDE = ("", "-wal", "-journal")  # what makes up a database that was not closed
_TOLD = 3


@dataclass(frozen=True)
class Restored:
    """What was made: the folder, where what was there lies now, entries of the journal, files put in; and whether
    something was erased from the season since the copy was made, which it brings back."""

    folder: Path
    before: Path | None
    n_entries: int
    n_files: int
    erased_since: bool = False


def restore(
    source: Path,
    folder: Path,
    now: datetime.datetime,
    *,
    another_season: bool = False,
    progress: Progress | None = None,
) -> Restored:
    """Make a season from a copy of it.

    Parameters
    ----------
    source : Path
        The copy: a backup, or one that a season kept.
    folder : Path
        A season's folder, or one that is not there yet or empty.
    now : datetime
        The wall time; names the folder to which goes what was there.
    another_season : bool
        Whether the folder may hold another season than the copy.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Restored
        Where everything is.

    Raises
    ------
    WrongCopy
        The file is no sound copy, or one of another season. Nothing was changed.
    WrongFolder
        The folder holds something else, or somebody has its season open. Nothing was changed.
    tagger.store.lock.SeasonLocked
        The season is being served. Nothing was changed.
    tagger.written.FullDisk
        There was no room. Nothing was changed.
    """
    report = progress or (lambda share, words: None)
    folder = folder.resolve()
    there = _is_season(folder)
    if there:
        finish(folder)
    else:
        new_folder(folder)
    if not source.is_file():
        raise WrongCopy(f"{source}: no such file")
    try:
        with zipfile.ZipFile(source) as archive:
            parts = parts_of(archive, source.name)
            if there and not another_season:
                _same_season(source, folder)
            if not there:
                return _into_new(archive, parts, source, folder, report)
            with ExitStack() as locks:
                for name in ("season.lock", "film.lock"):
                    locks.callback(SeasonLock(folder, name).release)
                return _into_season(archive, parts, source, folder, now, report)
    except TORN as fault:
        raise WrongCopy(f"{source.name}: damaged, or no copy of a season ({fault}); nothing was changed") from fault
    except OSError as fault:
        if is_full(fault):
            raise FullDisk(folder) from fault
        raise


def _into_new(
    archive: zipfile.ZipFile, parts: list[zipfile.ZipInfo], source: Path, folder: Path, report: Progress
) -> Restored:
    above = folder.parent
    above.mkdir(parents=True, exist_ok=True)
    room_for(parts, above, source.name)
    with _staged(above / f".{folder.name[:80]}.{secrets.token_hex(3)}.part") as staged:
        _unpack_all(archive, parts, staged, report)
        n_entries = _proven(staged / DATABASE, source)
        report(1.0, "giving it its name")
        if folder.is_dir():
            folder.rmdir()  # empty
        staged.rename(folder)
    _on_disk(above)
    return Restored(folder, None, n_entries, len(parts))


def _into_season(
    archive: zipfile.ZipFile,
    parts: list[zipfile.ZipInfo],
    source: Path,
    folder: Path,
    now: datetime.datetime,
    report: Progress,
) -> Restored:
    own = {DATABASE, *TEXTS}
    erased = erased_in(folder)
    parts = [info for info in parts if info.filename in own or not is_same(info, folder / info.filename)]
    if erased:  # what was erased stays written down
        parts = [info for info in parts if info.filename != LOG]
    names = {info.filename for info in parts}
    aside = tuple(sorted(name for name in names - own if os.path.lexists(folder / name)))
    room_for(parts, folder, source.name)
    kept = _free_name(folder.parent / f"{folder.name} before {now:%Y-%m-%d %H%M}")
    with ExitStack() as undo:
        staged = undo.enter_context(_staged(folder / f".restoring.{secrets.token_hex(3)}.part"))
        _unpack_all(archive, parts, files_of(staged), report)
        n_entries = _proven(files_of(staged) / DATABASE, source)
        report(1.0, "keeping what is there")
        beside = undo.enter_context(_staged(kept.with_name(f".{kept.name[:80]}.{secrets.token_hex(3)}.part")))
        _keep(folder, beside)
        _nobody_has(folder / DATABASE)
        report(1.0, "exchanging")
        beside.rename(kept)
        undo.callback(_take_back, kept, folder, staged)
        _on_disk(kept.parent)
        gone = tuple(name for name in TEXTS if name not in names and (folder / name).exists())
        decide(staged, folder, Plan(gone, aside, str(kept), DATABASE))
        _on_disk(folder)
    report(1.0, "putting it in its place")
    finish(folder)
    _on_disk(folder)
    return Restored(folder, kept, n_entries, len(parts), erased not in (b"", erased_in(source)))


@contextmanager
def _staged(path: Path) -> Iterator[Path]:
    """A folder for its owner only that goes again, unless it was given another name."""
    path.mkdir(mode=0o700)
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)


def _take_back(kept: Path, folder: Path, staged: Path) -> None:
    """What was kept is not wanted when nothing came of it: the exchange was not decided on."""
    if staged.exists():
        shutil.rmtree(kept, ignore_errors=True)


def _unpack_all(archive: zipfile.ZipFile, parts: list[zipfile.ZipInfo], into: Path, report: Progress) -> None:
    total = sum(info.file_size for info in parts) or 1
    done = 0

    def more(n_bytes: int) -> None:
        nonlocal done
        done += n_bytes
        report(min(done / total, 0.99), name)

    for info in parts:
        name = info.filename
        unpack(archive, info, into / name, more)


def _proven(database: Path, source: Path) -> int:
    """The database that was unpacked is sound; gives the number of its entries."""
    try:
        faults = faults_in(database)
        with closing(opened_to_read(database)) as db:
            n_entries = 0 if faults else contents(db).n_entries
    except sqlite3.DatabaseError as fault:
        faults = [str(fault)]
    if faults:
        told = "; ".join(faults[:_TOLD])
        raise WrongCopy(
            f"{source.name}: the database in it is damaged ({told}); take an older copy. Nothing was changed"
        )
    for end in ("-wal", "-shm"):
        database.with_name(database.name + end).unlink(missing_ok=True)
    return n_entries


def _keep(folder: Path, beside: Path) -> None:
    """Copy the database, as its bytes are, and the texts."""
    for name in (*TEXTS, *(DATABASE + end for end in _BESIDE)):
        if (folder / name).is_file():
            with (folder / name).open("rb") as old, (beside / name).open("xb") as new:
                (beside / name).chmod(OWNER_ONLY)
                shutil.copyfileobj(old, new, 1024 * 1024)
                new.flush()
                os.fsync(new.fileno())


def _nobody_has(database: Path) -> None:
    """Close the old database for good; while another program has it open, that can't be done."""
    if not database.is_file():
        return
    try:
        with closing(sqlite3.connect(database, timeout=1, isolation_level=None)) as db:
            mode = db.execute("PRAGMA journal_mode = DELETE").fetchone()[0]
    except sqlite3.OperationalError as fault:
        if "locked" not in str(fault) and "busy" not in str(fault):
            return  # it is damaged, which is why another takes its place
        mode = "wal"
    except sqlite3.DatabaseError:
        return
    if mode == "wal":
        raise WrongFolder(
            f"{database.parent}: another program has this season’s database open; close it and try again. Nothing was "
            "changed"
        )


def _same_season(source: Path, folder: Path) -> None:
    try:
        here = tomllib.loads((folder / SETTINGS).read_text(encoding="utf-8-sig")).get("id")
    except (OSError, ValueError):
        return  # what was there is kept all the same
    of = season_of(source)
    if isinstance(here, str) and of is not None and here != of:
        raise WrongCopy(
            f"{source.name}: a copy of the season “{of}”, in {folder} lies “{here}”; name a new folder, or say "
            "--another-season. Nothing was changed"
        )


def _is_season(folder: Path) -> bool:
    """Whether it is a season's folder, or was one of which somebody lost the database and the settings."""
    return any((folder / name).exists() for name in (SETTINGS, DATABASE, DATABASE + "-wal", "season.lock", KEPT))


def _free_name(path: Path) -> Path:
    return next(
        each for each in (path, *(path.with_name(f"{path.name} ({n})") for n in range(2, 1000))) if not each.exists()
    )


def _on_disk(folder: Path) -> None:
    """Have a folder's names on the disk, where the system lets a folder be opened for that."""
    try:
        held = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(held)
    except OSError:
        pass
    finally:
        os.close(held)
