"""What can go wrong with film. Every message says what happened, where, and what to do, in one line."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from tagger.film.file_names import spoken_name
from tagger.written import is_full


class FilmError(Exception):
    """Root of everything that `tagger.film` raises on purpose.

    Parameters
    ----------
    what : str
        What happened, without the file's name.
    path : Path or str
        The file it happened to; only its name is shown.
    todo : str
        What the person can do about it.
    """

    def __init__(self, what: str, path: Path | str, todo: str) -> None:
        self.what = what
        self.path = Path(path)
        self.todo = todo
        where = spoken_name(self.path.name or str(self.path))
        super().__init__(" ".join(f"{where}: {what}; {todo}".split()))

    def __reduce__(self) -> tuple[type, tuple[str, str, str]]:
        return type(self), (self.what, str(self.path), self.todo)


class FilmMissing(FilmError, FileNotFoundError):
    """There is no such file."""

    def __str__(self) -> str:  # FileNotFoundError would print its errno fields
        return str(self.args[0])


class FilmForbidden(FilmError, PermissionError):
    """The file, or the place to write to, may not be used by this user."""

    def __str__(self) -> str:
        return str(self.args[0])


class NotFilm(FilmError, ValueError):
    """The file holds no moving picture that can be read."""


class FilmTorn(FilmError, ValueError):
    """The file is a film, but damaged or unfinished where it was needed."""


class FilmUnread(FilmTorn):
    """The film could not be read here; another time, or on another disk, it may be."""


class StillCopied(FilmError):
    """The file is still being written: it is no damaged film, it is not all there yet."""


class BadName(FilmError, ValueError):
    """The file's path holds bytes that are no text, so that it can't be written down."""


class FilmStopped(FilmError):
    """The work was stopped on request; nothing is left behind."""


class FilmTooMuch(FilmError, ValueError):
    """The file asks for more memory, time or picture size than a film may."""


class FilmTooSlow(FilmTooMuch):
    """Reading the file got nowhere for too long; on a machine that is less busy it may."""


class DiskFull(FilmError, OSError):
    """There is not enough room where the result should be written."""

    def __init__(self, what: str, path: Path | str, todo: str) -> None:
        super().__init__(what, path, todo)
        self.errno = errno.ENOSPC  # so that `tagger.written.is_full` knows it

    def __str__(self) -> str:
        return str(self.args[0])


class BadClip(FilmError, ValueError):
    """A clip names frames that its film does not have."""


class BadIndex(FilmError, ValueError):
    """Stored index bytes are not what `FrameIndex.to_bytes` wrote."""


def from_os(error: OSError, path: Path | str) -> FilmError:
    """Turn an operating system's error about `path` into the fitting film error.

    Parameters
    ----------
    error : OSError
        What was raised while reading or writing.
    path : Path or str
        The file in hand.

    Returns
    -------
    FilmError
        To be raised `from` the given error.
    """
    if isinstance(error, FilmError):
        return error
    if isinstance(error, FileNotFoundError):
        return FilmMissing("there is no such file", path, "check the name, or put the card or disk back in")
    if isinstance(error, IsADirectoryError) or Path(path).is_dir():
        return NotFilm("this is a folder, not a film", path, "name the film file inside it")
    if isinstance(error, PermissionError):
        return FilmForbidden("may not be opened by this user", path, "change its permissions or copy it elsewhere")
    if error.errno == errno.EFBIG:
        what = "the disk is full, or takes no file of this size"
        return DiskFull(what, path, "make room, or use a disk that takes files over 4 GB, and start again")
    if is_full(error):
        return DiskFull("the disk is full", path, "make room and start again; nothing is lost")
    if error.errno == errno.EIO:
        return FilmUnread("the disk or card can't be read here", path, "copy the film to another disk and try that")
    reason = os.strerror(error.errno) if error.errno and error.errno > 0 and error.errno < 1000 else str(error)
    return FilmUnread(f"can't be read ({reason})", path, "copy the film to another disk and try that")
