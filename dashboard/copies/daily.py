"""The copies that a season keeps by itself: one a day on which something was tagged, proven, without film, so many.

They lie in `kept/` of the season's folder, or where its settings say: on another disk, where what happens to this one
does not reach. A copy that fails takes none away; what is taken away when there are too many is known, by its name and
by what is in it, to be a copy of this very season.
"""

from __future__ import annotations

import datetime
import re
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.copies.archive import Written, season_of, write_copy
from dashboard.copies.packing import texts_only
from dashboard.copies.proof import opened_to_read
from dashboard.errors import NotKept, WrongCopy

if TYPE_CHECKING:
    from tagger.season import Season
    from tagger.texts.settings import Settings

KEPT = "kept"
_OLD_PART_S = 24 * 3600
_DAY = r"\d{4}-\d{2}-\d{2}(?: \d{6})?"


def kept_folder(folder: Path, settings: Settings) -> Path:
    """Where a season keeps its copies.

    Parameters
    ----------
    folder : Path
        The season's folder.
    settings : Settings
        The season's.

    Returns
    -------
    Path
        It need not be there yet.
    """
    said = settings.copies.folder.strip()
    return folder / Path(said).expanduser() if said else folder / KEPT


def kept_copies(season: Season) -> list[Path]:
    """The copies that this season has kept, where its settings say and in its own folder.

    Parameters
    ----------
    season : Season
        The season.

    Returns
    -------
    list of Path
        By the day in their names, the oldest first. Each is readable and of this season.
    """
    own, said = season.folder / KEPT, kept_folder(season.folder, season.texts.settings)
    found = [path for where in dict.fromkeys((own, said)) for path in copies_in(where, season.texts.settings.id)]
    return sorted(found, key=lambda path: path.stem)


def copies_in(where: Path, season: str) -> list[Path]:
    """The kept copies of a season in a folder.

    Parameters
    ----------
    where : Path
        The folder; it need not be there.
    season : str
        The season's id.

    Returns
    -------
    list of Path
        Plain files with a kept copy's name whose content says the same, the oldest first.
    """
    return [path for path in named_as_copies(where, season) if season_of(path) == season]


def named_as_copies(where: Path, season: str) -> list[Path]:
    """What is named as kept copies of a season, whatever is in it.

    Parameters
    ----------
    where : Path
        The folder; it need not be there.
    season : str
        The season's id.

    Returns
    -------
    list of Path
        Plain files, in order of name; among them copies that are torn, which `copies_in` leaves out.
    """
    form = re.compile(rf"{re.escape(season)} {_DAY}\.zip\Z")
    try:
        names = sorted(
            (path.name for path in where.iterdir() if form.match(path.name)), key=lambda name: Path(name).stem
        )
    except OSError:
        return []
    return [where / name for name in names if (where / name).is_file() and not (where / name).is_symlink()]


def keep_copy(folder: Path, settings: Settings, now: datetime.datetime) -> Written | None:
    """Keep a copy of a season as it is now, in the place of the day's earlier one, and take away the oldest too many.

    Parameters
    ----------
    folder : Path
        The season's folder; it may be served and written to meanwhile.
    settings : Settings
        The season's.
    now : datetime
        The wall time: the day names the copy.

    Returns
    -------
    Written or None
        None when the season is told to keep none.

    Raises
    ------
    NotKept
        The folder for copies is not there or can't be written.
    DamagedSeason, tagger.written.FullDisk
        As for `dashboard.copies.archive.write_backup`. No copy was taken away.
    """
    from tagger.store.before_opening import DATABASE

    if settings.copies.keep < 1:
        return None
    where = _ready(folder, settings)
    target = where / f"{settings.id} {now:%Y-%m-%d}.zip"
    known = copies_in(where, settings.id)
    files = texts_only(folder)
    with closing(opened_to_read(folder / DATABASE)) as source:
        try:
            if target.exists() and target not in known:
                raise WrongCopy("something else lies there")
            written = write_copy(source, folder, settings.id, files, target, older=[target], known=known[-1:])
        except WrongCopy:  # the day's copy knows what the season does not any more: both are kept
            target = where / f"{settings.id} {now:%Y-%m-%d %H%M%S}.zip"
            written = write_copy(source, folder, settings.id, files, target, known=known[-1:])
    _take_away(where, settings, now, target)
    return written


def _ready(folder: Path, settings: Settings) -> Path:
    """The folder for copies; a season's own is made, another one must be there: its disk may not be plugged in."""
    where = kept_folder(folder, settings)
    try:
        if not settings.copies.folder.strip():
            where.mkdir(mode=0o700, exist_ok=True)
        if not where.is_dir():
            raise NotKept(
                f"{where}: no such folder for the season’s copies; plug its disk in, make it, or change season.toml"
            )
    except OSError as fault:
        if isinstance(fault, NotKept):
            raise
        raise NotKept(f"{where}: the season’s copies can’t be kept there ({fault.strerror})") from fault
    return where


def _take_away(where: Path, settings: Settings, now: datetime.datetime, newest: Path) -> None:
    held = [path for path in copies_in(where, settings.id) if path != newest]
    for path in held[: max(0, len(held) + 1 - settings.copies.keep)]:
        with suppress(OSError):
            path.unlink()
    left = re.compile(rf"\.{re.escape(settings.id)} {_DAY}\.zip\.[0-9a-f]{{6}}(\.db)?\.part\Z")
    for path in where.iterdir():  # of a copy that a power cut broke off
        with suppress(OSError):
            if left.match(path.name) and now.timestamp() - path.lstat().st_mtime > _OLD_PART_S:
                path.unlink()
