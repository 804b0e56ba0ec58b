"""What a season's folder says of what was erased in it: the log that stays, the note while an erasure is under way."""

from __future__ import annotations

import zipfile
import zlib
from pathlib import Path

LOG = "erased.txt"
NOTE = "erasing.part"
_MOST_TEXT = 1024 * 1024


def erased_in(place: Path) -> bytes:
    """What a season's folder, or a copy of it, says of what was erased.

    Parameters
    ----------
    place : Path
        The folder or the archive.

    Returns
    -------
    bytes
        Empty when nothing was; also of what can't be read.
    """
    try:
        if place.is_dir():
            return (place / LOG).read_bytes()
        with zipfile.ZipFile(place) as archive:
            return archive.read(LOG) if archive.getinfo(LOG).file_size <= _MOST_TEXT else b""
    except (OSError, LookupError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error):
        return b""
