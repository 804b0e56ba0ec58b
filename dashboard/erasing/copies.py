"""Copies of a season that an erasure replaces: one is made anew of the season as it is then, and the others go."""

from __future__ import annotations

import datetime
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.copies.archive import write_copy
from dashboard.copies.daily import copies_in, kept_folder, named_as_copies
from dashboard.copies.packing import texts_only
from dashboard.erasing.found import Found, find_reached
from tagger.store.before_opening import DATABASE

if TYPE_CHECKING:
    from dashboard.erasing.person import Person
    from tagger.season import Season
    from tagger.texts.settings import Settings


def reached_by(season: Season, person: Person | None = None) -> Found:
    """What an erasure reaches beside texts and database: in the folder, and copies that the season keeps elsewhere.

    Parameters
    ----------
    season : Season
        Open.
    person : Person, optional
        Who is erased; none: a game.

    Returns
    -------
    Found
        Everything.
    """
    found = find_reached(season.folder, season.texts.settings.id, person)
    return replace(found, copies=(*found.copies, *kept_elsewhere(season.folder, season.texts.settings)))


def kept_elsewhere(folder: Path, settings: Settings) -> tuple[Path, ...]:
    """Copies of a season that its settings have kept outside its folder.

    Parameters
    ----------
    folder : Path
        The season's folder.
    settings : Settings
        The season's.

    Returns
    -------
    tuple of Path
        Torn ones too, since they hold what is erased; none where that disk is not plugged in.
    """
    where = kept_folder(folder, settings)
    if where.resolve().is_relative_to(folder.resolve()):
        return ()
    return tuple(dict.fromkeys([*copies_in(where, settings.id), *named_as_copies(where, settings.id)]))


def fresh_copy(folder: Path, settings: Settings, now: datetime.datetime | None = None) -> Path:
    """Make a proven copy of a season as it is now. It is held against no older one, since it shall hold less.

    Parameters
    ----------
    folder : Path
        The season's folder.
    settings : Settings
        The season's.
    now : datetime, optional
        The wall time, which names it.

    Returns
    -------
    Path
        Where copies are kept; in the season's own folder for them where that disk is not plugged in.

    Raises
    ------
    DamagedSeason, tagger.written.FullDisk
        None was made.
    """
    from dashboard.copies.daily import KEPT

    where = kept_folder(folder, settings)
    if not where.is_dir():
        where = folder / KEPT
        where.mkdir(mode=0o700, exist_ok=True)
    target = where / f"{settings.id} {now or datetime.datetime.now():%Y-%m-%d %H%M%S}.zip"
    with closing(sqlite3.connect(f"{(folder / DATABASE).absolute().as_uri()}?mode=ro", uri=True)) as source:
        write_copy(source, folder, settings.id, texts_only(folder), target)
    return target
