"""Copying an original into the season, since a card will be wiped: in the background, resumable, checked."""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

from tagger.film.errors import FilmStopped, FilmTorn, from_os
from tagger.film.index import Progress, Stop
from tagger.film.room import check_room
from tagger.film.writer import PartFile

BLOCK_BYTES = 4 << 20
CHECK_BYTES = 1 << 20


def keep_film(
    source: Path | str, target: Path | str, *, progress: Progress | None = None, stop: Stop | None = None
) -> int:
    """Copy a film's file byte for byte, or go on copying where it was stopped.

    Parameters
    ----------
    source : Path or str
        The original.
    target : Path or str
        Where it is kept. Until it is whole it stands there as `TARGET.part`, which a stop leaves for later.
    progress, stop : callable, optional
        As in `tagger.film.cut.write_reel`.

    Returns
    -------
    int
        Size in bytes.

    Raises
    ------
    FilmMissing, FilmForbidden, FilmTorn, FilmStopped, DiskFull

    Notes
    -----
    A part that was begun is gone on with only if its last megabyte is the source's. A file that stands at
    `target` already is kept if it is the same size and the same in its samples, and replaced otherwise.
    """
    source, target = Path(source), Path(target)
    file = PartFile(target)
    try:
        size = source.stat().st_size
        if target.is_file() and _alike(source, target, size):
            return size
        done = _usable(source, file.part, size)
        check_room(target, size - done)
        with source.open("rb") as taken, file.part.open("r+b" if done else "wb") as made:
            taken.seek(done)
            made.seek(done)
            made.truncate()
            while block := taken.read(BLOCK_BYTES):
                made.write(block)
                done += len(block)
                if stop is not None and stop():
                    raise FilmStopped("copying was stopped", target, "it goes on where it was when started again")
                if progress is not None:
                    progress(done / max(1, size), f"{done // 1_000_000} of {size // 1_000_000} MB")
            made.flush()
            os.fsync(made.fileno())
    except OSError as error:
        if isinstance(error, FilmTorn):
            raise
        raise from_os(error, target if error.errno == 28 else source) from error
    if done != size or source.stat().st_size != size:
        with contextlib.suppress(OSError):
            file.part.unlink()
        raise FilmTorn(
            "changed while it was being copied", source, "wait until the camera has finished, and start again"
        )
    return file.keep()


def _usable(source: Path, part: Path, size: int) -> int:
    """How many bytes of a part are the source's beginning, judged by their last megabyte."""
    if not part.is_file():
        return 0
    done = part.stat().st_size
    if not 0 < done <= size:
        return 0
    start = max(0, done - CHECK_BYTES)
    return done if _digest(source, start, done - start) == _digest(part, start, done - start) else 0


def _alike(one: Path, other: Path, size: int) -> bool:
    if other.stat().st_size != size:
        return False
    places = [max(0, size - CHECK_BYTES) * n // 8 for n in range(9)]
    return all(_digest(one, place, CHECK_BYTES) == _digest(other, place, CHECK_BYTES) for place in places)


def _digest(path: Path, start: int, n: int) -> bytes:
    with path.open("rb") as file:
        file.seek(start)
        return hashlib.sha256(file.read(n)).digest()
