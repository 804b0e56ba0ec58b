"""What a copy says of itself: which season it is one of."""

from __future__ import annotations

import tomllib
import zipfile
import zlib
from pathlib import Path

from tagger.store.before_opening import DATABASE
from tagger.texts.settings import SETTINGS

MARK = "floorbook copy of season "
_MOST_TEXT = 1024 * 1024


def season_of(path: Path) -> str | None:
    """The id of the season that an archive is a copy of.

    Parameters
    ----------
    path : Path
        Any file.

    Returns
    -------
    str or None
        None when it is no copy of a season, or one that can't be read.
    """
    try:
        with path.open("rb") as file:
            if file.read(4) != b"PK\x03\x04":
                return None
        with zipfile.ZipFile(path) as archive:
            if DATABASE not in archive.namelist() or archive.getinfo(SETTINGS).file_size > _MOST_TEXT:
                return None
            comment = archive.comment.decode("utf-8", "replace")
            if comment.startswith(MARK):
                return comment.removeprefix(MARK)
            told = tomllib.loads(archive.read(SETTINGS).decode("utf-8-sig")).get("id")
            return told if isinstance(told, str) else None
    except (OSError, ValueError, LookupError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error):
        return None
