"""How a season keeps a copy by itself: the day's is made, the oldest too many is taken away."""

from __future__ import annotations

import datetime
import re
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.copies.archive import Written, write_copy
from dashboard.copies.daily import DAY, copies_in, kept_folder
from dashboard.copies.packing import texts_only
from dashboard.copies.proof import opened_to_read
from dashboard.errors import NotKept, WrongCopy

if TYPE_CHECKING:
    from tagger.texts.settings import Settings

_OLD_PART_S = 24 * 3600


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
    left = re.compile(rf"\.{re.escape(settings.id)} {DAY}\.zip\.[0-9a-f]{{6}}(\.db)?\.part\Z")
    for path in where.iterdir():  # of a copy that a power cut broke off
        with suppress(OSError):
            if left.match(path.name) and now.timestamp() - path.lstat().st_mtime > _OLD_PART_S:
                path.unlink()
