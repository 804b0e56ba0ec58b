"""How a file stands in its folder: whether it is a plain one, whether it can be named, whether anything is in it.

Asked of the system before the file is opened: opening a pipe waits for somebody who writes into it, a device is no
film, and a giant that is nothing but holes would be read for minutes.
"""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from tagger.film.errors import BadName, FilmTorn, NotFilm, from_os
from tagger.film.file_names import is_text
from tagger.film.room import spoken_bytes

GIANT_BYTES = 1 << 30  # anything smaller is read through in a moment
N_SAMPLES, SAMPLE_BYTES = 64, 4096
MOST_BLANK = 0.9  # of the places looked at; a camera that sets aside room in advance leaves less
_KINDS = (
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


@dataclass(frozen=True)
class FileStat:
    """A file's size (bytes) and when it was last changed (ns since 1970)."""

    size_bytes: int
    mtime_ns: int


def stat_of(path: Path) -> FileStat:
    """How a file stands; never opens it.

    Parameters
    ----------
    path : Path
        A local file.

    Returns
    -------
    FileStat

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm
        It is not there, or is a folder, a pipe, a device.
    """
    try:
        found = path.stat()
    except (OSError, ValueError) as error:  # a name with a zero byte in it
        raise from_os(error if isinstance(error, OSError) else FileNotFoundError(2, str(error)), path) from error
    if stat.S_ISDIR(found.st_mode):
        raise from_os(IsADirectoryError(), path)
    if not stat.S_ISREG(found.st_mode):
        what = next((name for is_kind, name in _KINDS if is_kind(found.st_mode)), "something else")
        raise NotFilm(f"this is {what}, not a file", path, "choose the film file")
    return FileStat(found.st_size, found.st_mtime_ns)


def check_path(path: Path) -> None:
    """Refuse a path that can't be written down as text.

    Parameters
    ----------
    path : Path
        A file's.

    Raises
    ------
    BadName
        Its name, or a folder's above it, holds bytes that are no UTF-8.
    """
    if not is_text(path):
        where = "the name of a folder it lies in" if is_text(Path(path.name)) else "its name"
        raise BadName(f"{where} is not plain text (UTF-8)", path, "rename that, then bring the film in")


def refuse_blank(path: Path) -> None:
    """Refuse a giant of a file in which next to nothing stands, by looking at a few places all over it.

    Parameters
    ----------
    path : Path
        A plain file.

    Raises
    ------
    FilmMissing, FilmForbidden, FilmTorn
    """
    size = stat_of(path).size_bytes
    if size < GIANT_BYTES:
        return
    n_blank = 0
    try:
        with path.open("rb", buffering=0) as file:
            for n in range(N_SAMPLES):
                file.seek((size - SAMPLE_BYTES) * n // (N_SAMPLES - 1))
                n_blank += is_blank(file.read(SAMPLE_BYTES))
    except OSError as error:
        raise from_os(error, path) from error
    if n_blank > MOST_BLANK * N_SAMPLES:
        what = f"most of its {spoken_bytes(size)} is empty: nothing but zero bytes stands there"
        raise FilmTorn(what, path, "copy it from the camera again")


def is_blank(data: bytes) -> bool:
    """Whether bytes are nothing but zeros.

    Parameters
    ----------
    data : bytes
        Some of a file.

    Returns
    -------
    bool
        True also for none.
    """
    return not data.strip(b"\x00")


def is_blank_at_its_end(path: Path, size_bytes: int) -> bool:
    """Whether the last stretch of a file holds nothing, as where room was set aside for what is still to come.

    Parameters
    ----------
    path : Path
        A plain file.
    size_bytes : int
        How large it is.

    Returns
    -------
    bool
        False for a small file, and for one that can't be read.
    """
    if size_bytes < 16 * SAMPLE_BYTES:
        return False
    try:
        with path.open("rb", buffering=0) as file:
            file.seek(-SAMPLE_BYTES, os.SEEK_END)
            return is_blank(file.read(SAMPLE_BYTES))
    except OSError:
        return False
