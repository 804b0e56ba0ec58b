"""Where output may go: the one place that every command and page asks before it writes what was asked for.

Three rules. Nothing that belongs to a season is ever written over: its database and what SQLite keeps beside it, its
texts, its films (those that lie outside the folder too), its kept copies; whether it is named by another path, another
case, a link or a hard link. What stands at the place already is written over only when it is an earlier output of the
same kind, or when the user says so. And a place that is no plain file (a device, a pipe) is not written to at all.
"""

from __future__ import annotations

import json
import tomllib
import zipfile
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.errors import WrongFolder, WrongTarget

if TYPE_CHECKING:
    from tagger.season import Season

_HEAD_BYTES = 4 * 1024 * 1024  # a reel's table of frames stands in front of its mark
REPORT_MARK = "floorbook report"
_BESIDE_THE_DATABASE = ("", "-wal", "-shm", "-journal")
_OWN_ROOMS = ("film", "kept")  # folders of a season in which only floorbook itself writes


@dataclass(frozen=True)
class Kind:
    """A kind of output.

    Attributes
    ----------
    name : str
        What it is, as in a sentence.
    is_one : callable
        Whether a file that lies there is an earlier one, of the season of this id where it tells; may raise OSError.
    """

    name: str
    is_one: Callable[[Path, str], bool]


def output_file(target: Path, kind: Kind, *, season: Season | None = None, replace: bool = False) -> Path:
    """Decide whether a file may be written.

    Parameters
    ----------
    target : Path
        As the user named it.
    kind : Kind
        What is to be written.
    season : Season, optional
        The season it is made from: its films may lie anywhere.
    replace : bool
        Whether the user said that a file of another kind may be written over.

    Returns
    -------
    Path
        The target.

    Raises
    ------
    WrongTarget
        It may not be written there; nothing was changed.
    """
    if target.is_dir():
        raise WrongTarget(f"{target}: a folder; name the file to write in it")
    if not target.parent.is_dir():
        raise WrongTarget(f"{target.parent}: there is no such folder; make it first, or name another place")
    if season is not None:
        _no_film_of(season, target)
    _no_file_of_any_season(target, season)
    try:
        there = target.stat()
    except FileNotFoundError:
        if target.is_symlink():
            raise WrongTarget(f"{target}: a link to nothing; name a file") from None
        return target
    except OSError as fault:
        raise WrongTarget(f"{target}: cannot be looked at ({fault.strerror}); name another file") from None
    if not _is_plain(there.st_mode):
        raise WrongTarget(f"{target}: no plain file but a device or a pipe; name another file")
    if not replace and there.st_size and not _is_one(kind, target, season):
        raise WrongTarget(
            f"{target}: something else than {kind.name} lies there; name another file, or say --replace to write over "
            "it. Nothing was changed"
        )
    return target


def output_folder(
    target: Path,
    names: Iterable[str],
    kind: Kind,
    *,
    season: Season | None = None,
    replace: bool = False,
) -> Path:
    """Decide whether several files may be written into a folder, made when it is missing.

    Parameters
    ----------
    target : Path
        As the user named it.
    names : iterable of str
        The files that will be written into it.
    kind : Kind
        What each of them is.
    season : Season, optional
        The season they are made from.
    replace : bool
        Whether the user said that files of another kind may be written over.

    Returns
    -------
    Path
        The folder; it is there.

    Raises
    ------
    WrongTarget
        They may not be written there; nothing was changed.
    """
    if target.exists() and not target.is_dir():
        raise WrongTarget(f"{target}: a file, not a folder; name another place. Nothing was changed")
    if not target.exists():
        first = next(parent for parent in target.absolute().parents if parent.exists())
        if not first.is_dir():
            raise WrongTarget(f"{first}: a file, not a folder; name another place. Nothing was changed")
        _no_file_of_any_season(target, season)
        _no_file_of_any_season(target / "any", season)
        target.mkdir(parents=True, mode=0o700)
        return target
    for name in names:
        output_file(target / name, kind, season=season, replace=replace)
    return target


def new_folder(target: Path) -> Path:
    """Decide whether something whole (a season) may be made in a folder: one that is not there yet, or is empty.

    Parameters
    ----------
    target : Path
        As the user named it.

    Returns
    -------
    Path
        The folder; it may not be there yet.

    Raises
    ------
    WrongFolder
        It is a file, or something is in it.
    WrongTarget
        It lies inside a season's folder.
    """
    if target.exists() and not target.is_dir():
        raise WrongFolder(f"{target}: a file, not a folder; name another place")
    if target.is_symlink() and not target.exists():
        raise WrongFolder(f"{target}: a link to nothing; name another place")
    if target.is_dir() and any(target.iterdir()):
        raise WrongFolder(f"{target}: not empty; name a folder that is not there yet, nothing was changed")
    for parent in target.absolute().parents:
        if _is_season(parent):
            raise WrongTarget(f"{target}: inside the season {parent}; name a place outside it, nothing was changed")
    return target


def _no_film_of(season: Season, target: Path) -> None:
    """Refuse a film of the season, wherever it lies."""
    for film in season.shelf.all_films():
        lies = Path(film.path) if film.path else None
        if lies is None:
            continue
        lies = lies if lies.is_absolute() else season.folder / lies
        if _same(target, lies):
            raise WrongTarget(f"{target}: a film of this season ({film.name}); name another file, nothing was changed")


def _no_file_of_any_season(target: Path, season: Season | None) -> None:
    """Refuse what a season's folder keeps, of this season or another one, there already or not."""
    places = dict.fromkeys((target.absolute(), _resolved(target)))
    for place in places:
        for parent in place.parents:
            if _is_season(parent):
                _outside_what_is_kept(target, place.relative_to(parent).parts)
    folders = [parent for place in places for parent in place.parents if _is_season(parent)]
    for folder in dict.fromkeys([*folders, *([season.folder] if season is not None else [])]):
        for name in _kept_names():  # a hard link, or a link from elsewhere
            if _same(target, folder / name):
                raise WrongTarget(
                    f"{target}: that is the season’s own {name} by another name; name another file, nothing was changed"
                )
    if target.is_file() and target.stat().st_nlink > 1 and _is_database(target):
        raise WrongTarget(f"{target}: a season’s database under another name; name another file, nothing was changed")


def _outside_what_is_kept(target: Path, inside: tuple[str, ...]) -> None:
    if len(inside) == 1 and inside[0].casefold() in _kept_names():
        raise WrongTarget(f"{target}: that is the season’s own {inside[0]}; name another file, nothing was changed")
    if len(inside) > 1 and inside[0].casefold() in _OWN_ROOMS:
        raise WrongTarget(
            f"{target}: in {inside[0]}/ only floorbook itself writes; name another place, nothing was changed"
        )


def _kept_names() -> tuple[str, ...]:
    from tagger.store.before_opening import DATABASE
    from tagger.texts.folder import TEXTS

    return (*TEXTS, *(DATABASE + end for end in _BESIDE_THE_DATABASE), "season.lock", "film.lock")


def _is_season(folder: Path) -> bool:
    from tagger.store.before_opening import DATABASE
    from tagger.texts.settings import SETTINGS

    return (folder / SETTINGS).is_file() or (folder / DATABASE).is_file()


def _is_database(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(16) == b"SQLite format 3\x00"


def _resolved(path: Path) -> Path:
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        raise WrongTarget(f"{path}: a link that leads nowhere; name a file") from None


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _is_plain(mode: int) -> bool:
    import stat

    return stat.S_ISREG(mode)


def _is_one(kind: Kind, target: Path, season: Season | None) -> bool:
    try:
        return kind.is_one(target, season.texts.settings.id if season is not None else "")
    except OSError:
        return False


def _head(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(_HEAD_BYTES)


def _is_report(path: Path, season: str) -> bool:
    head = _head(path)
    mark = f'content="{REPORT_MARK}"'.encode()
    return head[:15].lower() == b"<!doctype html>" and (mark in head or b'<body class="paper report">' in head)


def _is_journal(path: Path, season: str) -> bool:
    from tagger.marks.entries import HEADER

    try:
        first = json.loads(_head(path).split(b"\n", 1)[0])
    except (ValueError, RecursionError):
        return False
    return isinstance(first, dict) and first.get("file") == HEADER and (not season or first.get("season") == season)


def _is_backup(path: Path, season: str) -> bool:
    from tagger.store.before_opening import DATABASE
    from tagger.texts.settings import SETTINGS

    try:
        with zipfile.ZipFile(path) as archive:
            if not {DATABASE, SETTINGS} <= set(archive.namelist()):
                return False
            told = tomllib.loads(archive.read(SETTINGS).decode())
    except (zipfile.BadZipFile, ValueError, NotImplementedError, RuntimeError, EOFError, zlib.error):
        return False
    return not season or told.get("id", season) == season


def _is_reel(path: Path, season: str) -> bool:
    from tagger.film.cut import REEL_MARK

    head = _head(path)
    return head[4:8] == b"ftyp" and REEL_MARK.encode() in head


def _is_table(path: Path, season: str) -> bool:
    """Tables of ours are known by the tables.json beside them; a table's own file says nothing of itself."""
    try:
        told = json.loads((path.parent / "tables.json").read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        return False
    return isinstance(told, dict) and "vocabulary" in told and (not season or told.get("season") == season)


REPORT = Kind("a report", _is_report)
JOURNAL = Kind("a file of a book of this season", _is_journal)
BACKUP = Kind("a backup of this season", _is_backup)
REEL = Kind("a reel", _is_reel)
TABLE = Kind("a table of this season", _is_table)
