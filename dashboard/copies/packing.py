"""What of a season's folder goes into a copy, and what is left out and named: links, pipes, devices, other copies."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from dashboard.copies.label import season_of
from dashboard.erasing.log import LOG

NEVER = (".part", ".db-wal", ".db-shm", ".db-journal", ".lock")
_TEXT_ENDS = (".toml", ".csv")
_WORK_SUFFIX = ".work"  # a folder of pieces of a copy of film that is being made


@dataclass(frozen=True)
class Packed:
    """Files with their sizes, in order of name; and a line on each that was left out and would be missed."""

    files: tuple[tuple[Path, int], ...]
    left_out: tuple[str, ...] = ()


def packed(folder: Path, *, film: bool = True, leave_out: Iterable[Path] = ()) -> Packed:
    """What goes into a copy beside the database.

    Parameters
    ----------
    folder : Path
        The season's folder.
    film : bool
        With film and reels.
    leave_out : iterable of Path
        Files that are not wanted, as the copy itself.

    Returns
    -------
    Packed
        Nothing that a link leads to; no copy of a season, kept or made by hand.
    """
    from tagger.season import REEL_FOLDER
    from tagger.shelf.films import FILM_FOLDER
    from tagger.store.before_opening import DATABASE

    left_out: list[str] = []
    files: list[tuple[Path, int]] = []
    not_wanted = {path.resolve() for path in leave_out}
    top = () if film else (FILM_FOLDER, REEL_FOLDER)
    for path, found in _walked(folder, folder, top, left_out):
        name = path.relative_to(folder).as_posix()
        if name == DATABASE or path.name.endswith(NEVER):
            continue
        if not path.is_symlink() and path.resolve() in not_wanted:
            continue
        why = _left_out(path, found)
        if why:
            left_out.append(f"{_shown(name)}: {why}")
        else:
            files.append((path, found.st_size))
    return Packed(tuple(sorted(files)), tuple(left_out))


def texts_only(folder: Path) -> Packed:
    """What goes into a copy that is kept without being asked for: the texts beside the database.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Returns
    -------
    Packed
        Small, however much lies in the folder.
    """
    files, left_out = [], []
    for path in sorted(folder.iterdir()):
        if path.suffix.lower() not in _TEXT_ENDS and path.name != LOG:
            continue
        found = path.lstat()
        why = _left_out(path, found)
        if why:
            left_out.append(f"{_shown(path.name)}: {why}")
        else:
            files.append((path, found.st_size))
    return Packed(tuple(files), tuple(left_out))


def _walked(
    folder: Path, inside: Path, top: tuple[str, ...], left_out: list[str]
) -> Iterator[tuple[Path, os.stat_result]]:
    for each in sorted(os.scandir(inside), key=lambda one: one.name):
        path = Path(each.path)
        found = path.lstat()
        if stat.S_ISDIR(found.st_mode):
            if path.suffix == _WORK_SUFFIX or (inside == folder and each.name in top):
                continue
            if _is_link(path):
                left_out.append(f"{_shown(path.relative_to(folder).as_posix())}: a link to another folder")
                continue
            yield from _walked(folder, path, top, left_out)
        else:
            yield path, found


def _left_out(path: Path, found: os.stat_result) -> str:
    if stat.S_ISLNK(found.st_mode):
        return "a link; what it leads to is not in the copy"
    if not stat.S_ISREG(found.st_mode):
        return "a pipe or a device, no file"
    try:
        path.name.encode()
    except UnicodeEncodeError:
        return "its name can’t be written down; rename it"
    if season_of(path) is not None:
        return "a copy of a season"
    return ""


def _is_link(path: Path) -> bool:
    """A folder that is one elsewhere, as Windows has them beside symbolic links."""
    isjunction = getattr(os.path, "isjunction", None)
    return bool(isjunction is not None and isjunction(path))


def _shown(name: str) -> str:
    return name.encode("utf-8", "backslashreplace").decode()
