"""The copies that a season keeps by itself: one a day on which something was tagged, proven, without film, so many.

They lie in `kept/` of the season's folder, or where its settings say: on another disk, where what happens to this one
does not reach. A copy that fails takes none away; what is taken away when there are too many is known, by its name and
by what is in it, to be a copy of this very season.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.copies.label import season_of

if TYPE_CHECKING:
    from tagger.season import Season
    from tagger.texts.settings import Settings

KEPT = "kept"
DAY = r"\d{4}-\d{2}-\d{2}(?: \d{6})?"


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
    form = re.compile(rf"{re.escape(season)} {DAY}\.zip\Z")
    try:
        names = sorted(
            (path.name for path in where.iterdir() if form.match(path.name)), key=lambda name: Path(name).stem
        )
    except OSError:
        return []
    return [where / name for name in names if (where / name).is_file() and not (where / name).is_symlink()]
