"""The server's own view of this machine's folders, for choosing film in a page.

A page never names a file. It is shown what lies in a folder, each thing with a token that means something only here and
only as long as the program runs; what it sends back are tokens.
"""

from __future__ import annotations

import os
import secrets
import string
import sys
import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from dashboard.errors import WrongRequest
from tagger.film.file_names import spoken_name

MOST_TOKENS = 20_000
MOST_SHOWN = 2_000
_KINDS = "mp4 mov m4v mkv webm mts m2ts ts avi mpg mpeg vob mod tod 3gp 3g2 wmv asf flv mxf ogv dv"
FILM_SUFFIXES = frozenset(f".{kind}" for kind in _KINDS.split())
_USUAL = ("Videos", "Movies", "Desktop", "Downloads", "Documents", "Pictures")


class UnknownToken(WrongRequest, LookupError):
    """A token that was not given out by this run of the program."""


class ClosedFolder(WrongRequest, OSError):
    """A folder that can't be listed."""

    def __str__(self) -> str:  # OSError would print its errno fields
        return str(self.args[0])


@dataclass(frozen=True)
class Entry:
    """A folder or a file as it is shown: its token, its name, and for a file its size and when it was last changed."""

    token: str
    name: str
    size_bytes: int = 0
    changed: str = ""


@dataclass(frozen=True)
class View:
    """What lies in one folder.

    Attributes
    ----------
    here : Entry
        The folder.
    above : tuple of Entry
        The folders it lies in, outermost first.
    folders, films : tuple of Entry
        What can be opened, and what can be chosen; by name.
    n_other : int
        Files that are no film by their names.
    n_more : int
        Things left out because there are too many.
    """

    here: Entry
    above: tuple[Entry, ...]
    folders: tuple[Entry, ...]
    films: tuple[Entry, ...]
    n_other: int
    n_more: int


class Listing:
    """Folders of this machine, by tokens.

    Parameters
    ----------
    home : Path, optional
        The user's folder; the system's answer when left out.
    """

    def __init__(self, home: Path | None = None) -> None:
        self.home = home if home is not None else Path.home()
        self._guard = threading.Lock()
        self._paths: OrderedDict[str, Path] = OrderedDict()
        self._tokens: dict[Path, str] = {}

    def token(self, path: Path) -> str:
        """The token of a path.

        Parameters
        ----------
        path : Path
            A file or folder.

        Returns
        -------
        str
            The same one as long as it is remembered.
        """
        with self._guard:
            held = self._tokens.get(path)
            if held is None:
                held = secrets.token_urlsafe(12)
                self._paths[held] = path
                self._tokens[path] = held
                while len(self._paths) > MOST_TOKENS:
                    _, gone = self._paths.popitem(last=False)
                    del self._tokens[gone]
            else:
                self._paths.move_to_end(held)
            return held

    def path(self, token: object) -> Path:
        """What a token stands for.

        Parameters
        ----------
        token : object
            As it was sent.

        Returns
        -------
        Path
            A path that was shown before.

        Raises
        ------
        UnknownToken
            It was never given out here.
        """
        with self._guard:
            held = self._paths.get(token) if isinstance(token, str) else None
        if held is None:
            raise UnknownToken("this list is from before floorbook was started anew; open the folder again")
        return held

    def places(self, first: tuple[Path, ...] = ()) -> tuple[Entry, ...]:
        """Where to begin looking: folders that film is usually in, cards and disks.

        Parameters
        ----------
        first : tuple of Path
            Folders to name before all others.

        Returns
        -------
        tuple of Entry
            Those that are there.
        """
        usual = [self.home, *(self.home / name for name in _USUAL)]
        found: OrderedDict[Path, None] = OrderedDict()
        for path in (*first, *_disks(sys.platform), *usual):
            if path not in found and _is_folder(path):
                found[path] = None
        return tuple(Entry(self.token(path), _name(path, self.home)) for path in found)

    def _above(self, folder: Path) -> list[Path]:
        """The folders that a folder lies in, outermost first; none above the user's own."""
        above = list(reversed(folder.parents))
        return above[above.index(self.home) :] if self.home in above else above

    def view(self, token: object) -> View:
        """What lies in a folder.

        Parameters
        ----------
        token : object
            The folder's.

        Returns
        -------
        View
            Hidden things are left out.

        Raises
        ------
        UnknownToken
            See `path`.
        ClosedFolder
            It is gone, or may not be read.
        """
        folder = self.path(token)
        folders: list[Path] = []
        films: list[tuple[Path, os.stat_result]] = []
        n_other = n_more = 0
        try:
            with os.scandir(folder) as found:
                for one in found:
                    if one.name.startswith((".", "$")):
                        continue
                    if len(folders) + len(films) >= MOST_SHOWN:
                        n_more += 1
                    elif _dir(one):
                        folders.append(folder / one.name)
                    elif (folder / one.name).suffix.lower() in FILM_SUFFIXES and (stat := _file(one)) is not None:
                        films.append((folder / one.name, stat))
                    else:
                        n_other += 1
        except OSError as fault:
            raise ClosedFolder(
                f"{_name(folder, self.home)}: cannot be opened ({fault.strerror}); is the disk in?"
            ) from fault
        return View(
            here=Entry(self.token(folder), _name(folder, self.home)),
            above=tuple(Entry(self.token(path), _name(path, self.home)) for path in self._above(folder)),
            folders=tuple(Entry(self.token(path), spoken_name(path.name)) for path in sorted(folders, key=_order)),
            films=tuple(
                Entry(self.token(path), spoken_name(path.name), stat.st_size, _when(stat.st_mtime))
                for path, stat in sorted(films, key=lambda pair: _order(pair[0]))
            ),
            n_other=n_other,
            n_more=n_more,
        )


def _disks(platform: str) -> list[Path]:
    """Cards, sticks and disks."""
    if platform == "win32":
        return [Path(f"{letter}:\\") for letter in string.ascii_uppercase if _is_folder(Path(f"{letter}:\\"))]
    if platform == "darwin":
        return _within(Path("/Volumes"))
    user = os.environ.get("USER", "")
    found = [*_within(Path("/run/media") / user), *_within(Path("/media") / user), *_within(Path("/mnt"))]
    return [path for path in found if path.name != user]


def _within(folder: Path) -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if _is_folder(path) and not path.name.startswith("."))
    except OSError:
        return []


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False


def _dir(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _file(entry: os.DirEntry[str]) -> os.stat_result | None:
    try:
        return entry.stat() if entry.is_file() else None
    except OSError:
        return None


def _name(path: Path, home: Path) -> str:
    if path == home:
        return "Home"
    return spoken_name(path.name or str(path))


def _order(path: Path) -> tuple[str, str]:
    return path.name.casefold(), path.name


def _when(seconds: float) -> str:
    return datetime.fromtimestamp(seconds).strftime("%Y-%m-%d %H:%M")
