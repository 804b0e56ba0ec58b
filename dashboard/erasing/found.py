"""What of a season's folder an erasure reaches beside texts and database: reels, copies, what was written from it."""

from __future__ import annotations

import json
import re
import tomllib
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path

from dashboard.copies.daily import KEPT
from dashboard.erasing.log import LOG, NOTE
from dashboard.erasing.person import Person
from dashboard.erasing.search import Search, walked
from dashboard.outputs import JOURNAL, REPORT, TABLE
from tagger.season import REEL_FOLDER
from tagger.shelf.films import FILM_FOLDER
from tagger.store.before_opening import DATABASE
from tagger.tables import TABLES
from tagger.texts.folder import TEXTS
from tagger.texts.settings import SETTINGS

_OURS = re.compile(r"\.?[^/]*\.[0-9a-f]{6}(?:\.db)?\.part(?:-journal|-wal|-shm)?\Z|\.question\.toml\.\d+\.part\Z")
_BESIDE_TEXT = re.compile(
    r"\.?(?:{names})(?:~|\.bak|\.orig|\.old|\.save|\.tmp|\.swp|\.swo|\.swx|\.\d+)\Z|#(?:{names})#\Z|\.#(?:{names})\Z".format(
        names="|".join(re.escape(name) for name in TEXTS)
    )
)
_LABEL = "about.json"
_ZIP = b"PK\x03\x04"


@dataclass(frozen=True)
class Found:
    """What lies in a season's folder and is not the season itself. Paths are whole.

    Attributes
    ----------
    reels : tuple of Path
        Whatever lies in `reels/`.
    copies : tuple of Path
        Copies of this season: archives, and folders that hold one, as a restore leaves them.
    written : tuple of Path
        What floorbook wrote from it: tables, journal files, reports.
    beside : tuple of Path
        What an editor keeps beside the season's texts, and what was left over where writing was cut short.
    labels : tuple of Path
        What is said of films that are being sent.
    others : tuple of Path
        Files of other programs that name him.
    renamed : tuple of (Path, Path)
        Films kept in the folder whose names hold his, and what they are called then.
    """

    reels: tuple[Path, ...] = ()
    copies: tuple[Path, ...] = ()
    written: tuple[Path, ...] = ()
    beside: tuple[Path, ...] = ()
    labels: tuple[Path, ...] = ()
    others: tuple[Path, ...] = ()
    renamed: tuple[tuple[Path, Path], ...] = ()


def find_reached(folder: Path, season: str, person: Person | None) -> Found:
    """Look through a season's folder.

    Parameters
    ----------
    folder : Path
        The season's.
    season : str
        Its id.
    person : Person or None
        Who is erased; None: a game.

    Returns
    -------
    Found
        Nothing that a link leads to.
    """
    search = Search(person)
    kinds: dict[str, list[Path]] = {name: [] for name in ("reels", "copies", "written", "beside", "labels", "others")}
    renamed: list[tuple[Path, Path]] = []
    gone: list[Path] = []
    for path in walked(folder):
        if any(each in path.parents for each in gone):
            continue
        kind = _kind_of(folder, path, season)
        if kind == "film":
            if person is not None and person.named_in(path.name) and path.is_file():
                renamed.append((path, path.with_name(person.without_name(path.name))))
        elif kind == "other":
            if person is not None and _holds(search, folder, path):
                kinds["others"].append(path)
        elif kind:
            kinds[kind].append(path)
            gone += [path] if path.is_dir() else []
    kinds["copies"] += before_restoring(folder, season)
    made = {name: tuple(paths) for name, paths in kinds.items()}
    return Found(**made, renamed=tuple(renamed))


def _holds(search: Search, folder: Path, path: Path) -> bool:
    if search.in_text(path.relative_to(folder).as_posix()):
        return True
    return path.is_file() and not path.is_symlink() and bool(search.file(path))


def _kind_of(folder: Path, path: Path, season: str) -> str:
    """What a path is to an erasure; empty for what is the season's own, and for folders."""
    inside = path.relative_to(folder)
    if inside.parts[0] == REEL_FOLDER:
        return "reels" if not path.is_dir() or path.is_symlink() else ""
    if path.is_dir() and not path.is_symlink():
        if is_season(path, season):
            return "copies"
        return "beside" if _OURS.match(path.name) else ""
    if path.name == NOTE and len(inside.parts) == 1:
        return ""
    if _OURS.match(path.name) or (len(inside.parts) == 1 and _BESIDE_TEXT.match(path.name)):
        return "beside"
    if inside.parts[0] == FILM_FOLDER:
        return "labels" if path.name == _LABEL else "film"
    if len(inside.parts) == 1 and (
        path.name in (*TEXTS, LOG) or path.name.startswith(DATABASE) or path.suffix == ".lock"
    ):
        return ""
    if is_copy(path, season) or (inside.parts[0] == KEPT and _begins(path) == _ZIP):  # a torn one too
        return "copies"
    return "written" if _is_written(path, season) else "other"


def _is_written(path: Path, season: str) -> bool:
    """Whether floorbook wrote a file from the season: a journal, a report, a table beside what says of which season."""
    if path.is_symlink() or not path.is_file():
        return False
    kind = TABLE if path.stem in (*TABLES, "tables") else REPORT if path.suffix == ".html" else JOURNAL
    try:
        return kind.is_one(path, season)
    except OSError:
        return False


def before_restoring(folder: Path, season: str) -> list[Path]:
    """Folders beside the season's in which a restoring kept what was there before.

    Parameters
    ----------
    folder : Path
        The season's.
    season : str
        Its id.

    Returns
    -------
    list of Path
        By name; none that holds another season.
    """
    folder = folder.absolute()
    try:
        beside = sorted(folder.parent.iterdir())
    except OSError:
        return []
    named = (path for path in beside if path.name.startswith(f"{folder.name} before "))
    return [path for path in named if not path.is_symlink() and is_season(path, season)]


def is_season(folder: Path, season: str) -> bool:
    """Whether a folder holds this very season as it once was.

    Parameters
    ----------
    folder : Path
        Any.
    season : str
        The season's id.

    Returns
    -------
    bool
        By the id in its settings.
    """
    if not (folder / DATABASE).is_file():
        return False
    try:
        return bool(tomllib.loads((folder / SETTINGS).read_text(encoding="utf-8-sig")).get("id") == season)
    except (OSError, ValueError):
        return False


def is_copy(path: Path, season: str) -> bool:
    """Whether a file is an archive of this season.

    Parameters
    ----------
    path : Path
        Any.
    season : str
        The season's id.

    Returns
    -------
    bool
        False for a link.
    """
    if path.is_symlink() or not path.is_file() or _begins(path) != _ZIP:
        return False
    try:
        with zipfile.ZipFile(path) as archive:
            if DATABASE not in archive.namelist():
                return False
            told = tomllib.loads(archive.read(SETTINGS).decode("utf-8-sig"))
            return told.get("id") in (season, None)
    except (OSError, EOFError, LookupError, RuntimeError, ValueError, zipfile.BadZipFile, zlib.error):
        return False


def label_without(text: str, person: Person) -> str:
    """What is said of a film that is being sent, without him.

    Parameters
    ----------
    text : str
        JSON.
    person : Person
        He.

    Returns
    -------
    str
        JSON of the same shape; the same text where it does not name him.
    """
    try:
        held = json.loads(text)
    except ValueError:
        return person.without_name(text)
    made = within(held, person)
    return text if made == held else json.dumps(made, ensure_ascii=False)


def within(value: object, person: Person) -> object:
    """Whatever JSON holds, each text in it without his name.

    Parameters
    ----------
    value : object
        Parsed JSON.
    person : Person
        He.

    Returns
    -------
    object
        Of the same shape.
    """
    if isinstance(value, str):
        return person.without_name(value)
    if isinstance(value, list):
        return [within(each, person) for each in value]
    if isinstance(value, dict):
        return {name: within(each, person) for name, each in value.items()}
    return value


def _begins(path: Path, n: int = 4) -> bytes:
    try:
        if path.is_symlink() or not path.is_file():
            return b""
        with path.open("rb") as file:
            return file.read(n)
    except OSError:
        return b""
