"""Copying an original into the season, block by block and verified: a card will be wiped.

The copy grows beside its place. After every block its digest is written down, so that the work goes on where it was
after a pause, a restart or a power cut; at the end the copy is read back against the digests before it takes its name.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from pathlib import Path
from typing import IO

from tagger.film.errors import FilmStopped, FilmTorn, from_os
from tagger.film.room import check_room
from tagger.progress import Progress, Stop
from tagger.written import begin_part, is_full, put_in_place, write_whole

BLOCK_BYTES = 32 * 1024 * 1024
_CHUNK = 4 * 1024 * 1024
_COPYING = 0.7  # the rest of the time goes into reading back
_AGAIN = "start it again; if it happens again, check the disk"


def copy_original(
    source: Path,
    target: Path,
    *,
    block_bytes: int = BLOCK_BYTES,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> None:
    """Copy a file and verify the copy; begun copies are gone on with.

    Parameters
    ----------
    source, target : Path
        From where to where. The target appears only when it is whole and verified.
    block_bytes : int
        How much is written between two notes of progress.
    progress, stop : callable, optional
        Told how far it is; asked whether to stop, which keeps what is done.

    Raises
    ------
    tagger.film.errors.FilmError
        Source gone or unreadable, no room, stopped, or the copy is not what was read. What was begun is kept, but not
        when it filled the disk up.
    """
    try:
        before = source.stat()
    except OSError as error:
        raise from_os(error, source) from error
    part, note = part_of(target), note_of(target)
    stamp = [before.st_size, before.st_mtime_ns, block_bytes]
    digests = _begun(part, note, stamp)
    check_room(target, before.st_size - len(digests) * block_bytes)
    try:
        begin_part(part, afresh=not digests)
        with source.open("rb") as film, part.open("r+b") as copy:
            copy.truncate(len(digests) * block_bytes)
            _copy(film, copy, note, stamp=stamp, digests=digests, progress=progress, stop=stop, source=source)
            _read_back(copy, stamp, digests, progress, stop, target)
        after = source.stat()
        if (after.st_size, after.st_mtime_ns) != (before.st_size, before.st_mtime_ns):
            forget(target)
            raise FilmTorn(
                "the file changed while it was copied", source, "wait until it is finished, then start again"
            )
        os.utime(part, ns=(before.st_atime_ns, before.st_mtime_ns))
        put_in_place(part, target)
        note.unlink(missing_ok=True)
    except OSError as error:
        if is_full(error):
            forget(target)  # what is tagged needs the room more
        raise from_os(error, target) from error


def part_of(target: Path) -> Path:
    """Where a copy grows.

    Parameters
    ----------
    target : Path
        Its place when it is whole.

    Returns
    -------
    Path
        Beside it.
    """
    return target.with_name(target.name + ".part")


def note_of(target: Path) -> Path:
    """Where the digests of a growing copy are written down.

    Parameters
    ----------
    target : Path
        The copy's place when it is whole.

    Returns
    -------
    Path
        Beside it.
    """
    return target.with_name(target.name + ".blocks.part")


def forget(target: Path) -> None:
    """Give up a copy that was begun.

    Parameters
    ----------
    target : Path
        Its place when it is whole.
    """
    for path in (part_of(target), note_of(target)):
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)


def _begun(part: Path, note: Path, stamp: list[int]) -> list[str]:
    """Digests of the blocks that a begun copy of this very file has."""
    try:
        held = json.loads(note.read_text(encoding="utf-8"))
        digests = [str(one) for one in held["digests"]]
        if held["stamp"] == stamp and part.stat().st_size >= len(digests) * stamp[2]:
            return digests
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return []


def _copy(
    film: IO[bytes],
    copy: IO[bytes],
    note: Path,
    *,
    stamp: list[int],
    digests: list[str],
    progress: Progress | None,
    stop: Stop | None,
    source: Path,
) -> None:
    size, _, block_bytes = stamp
    done = len(digests) * block_bytes
    film.seek(done)
    copy.seek(done)
    while done < size:
        digest, n = hashlib.blake2b(digest_size=20), 0
        while n < block_bytes and (data := film.read(min(_CHUNK, block_bytes - n))):
            copy.write(data)
            digest.update(data)
            n += len(data)
            _heed(stop, source)
            if progress is not None:
                progress(_COPYING * (done + n) / size, "copying")
        if n == 0:
            raise FilmTorn("ends before its end while it is copied", source, "check the card and start again")
        copy.flush()
        os.fsync(copy.fileno())
        done += n
        if n == block_bytes:  # a shorter last block is copied anew when the work goes on
            digests.append(digest.hexdigest())
            write_whole(note, json.dumps({"stamp": stamp, "digests": digests}))
        else:
            digests.append(digest.hexdigest())


def _read_back(
    copy: IO[bytes],
    stamp: list[int],
    digests: list[str],
    progress: Progress | None,
    stop: Stop | None,
    target: Path,
) -> None:
    size, _, block_bytes = stamp
    copy.seek(0)
    done = 0
    for known in digests:
        digest, n = hashlib.blake2b(digest_size=20), 0
        while n < block_bytes and (data := copy.read(min(_CHUNK, block_bytes - n))):
            digest.update(data)
            n += len(data)
            _heed(stop, target)
            if progress is not None:
                progress(_COPYING + (1 - _COPYING) * (done + n) / max(1, size), "reading back")
        done += n
        if digest.hexdigest() != known:
            copy.truncate(0)
            raise FilmTorn("the copy is not what was read from the original", target, _AGAIN)
    if done != size:
        copy.truncate(0)
        raise FilmTorn("the copy is shorter than the original", target, _AGAIN)


def _heed(stop: Stop | None, path: Path) -> None:
    if stop is not None and stop():
        raise FilmStopped("copying was stopped", path, "it goes on where it was")
