"""Whether a file is still being copied, told from how it stands before and after it was looked at.

A copy in the making looks like a damaged film: it ends too early, or room was set aside for it and nothing stands there
yet. What tells the two apart is time. A file that changes under the look is still being copied, whatever was found. One
that ends early is given some time after its last change; one whose kind does not say where it ends, a moment.

It is looked at again once it stands still (`tagger.work.patience`); what ends early and was written within 30 s is
still copied.
"""

from __future__ import annotations

import struct
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from tagger.film.errors import FilmTorn, NotFilm, StillCopied
from tagger.film.plain_file import FileStat, is_blank_at_its_end, stat_of
from tagger.film.room import spoken_bytes

STILL_S = 30.0  # a torn file that was not changed for so long is not being copied any more
QUIET_S = 3.0  # one that does not say where it ends
MOMENT_S = 0.6
_AHEAD_S = 5.0  # clocks of two machines differ
_MOST_BOXES = 4096
_TS_PACKETS = ((188, 0), (192, 4), (204, 0))


@contextmanager
def watched(
    path: Path, *, wall: Callable[[], float] = time.time, rest: Callable[[float], None] = time.sleep
) -> Iterator[None]:
    """Look at a file inside the block; what was found is not believed while the file is still being copied.

    Parameters
    ----------
    path : Path
        A local file.
    wall, rest : callable
        Seconds since 1970, by which files are dated; how to wait some seconds.

    Raises
    ------
    StillCopied
        It is being written just now, as far as can be told.
    FilmMissing, FilmForbidden, NotFilm
        As from `stat_of`.
    """
    before = stat_of(path)
    try:
        yield
    except (FilmTorn, NotFilm) as fault:
        torn = isinstance(fault, FilmTorn) or before.size_bytes == 0 or _ends_early(path, before)
        if _changes(path, before, wall, rest, patience_s=STILL_S if torn else MOMENT_S):
            raise still_copied(path) from fault
        raise
    if _ends_early(path, before) or is_blank_at_its_end(path, before.size_bytes):
        patience_s = STILL_S
    else:
        patience_s = QUIET_S if declared_end(path) is None else 0.0
    if _changes(path, before, wall, rest, patience_s=patience_s):
        raise still_copied(path)


def _ends_early(path: Path, stat: FileStat) -> bool:
    end = declared_end(path)
    return end is not None and end > stat.size_bytes


def still_copied(path: Path) -> StillCopied:
    """What to say of a file that is still being copied.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    StillCopied
        With how much of it is there, and of how much, where that is known.
    """
    size = stat_of(path).size_bytes
    end = declared_end(path)
    of = f" of {spoken_bytes(end)}" if end is not None and end > size else ""
    so_far = f"{spoken_bytes(size)}{of} so far" if size else "nothing so far"
    return StillCopied(f"still being copied ({so_far})", path, "it is looked at again by itself")


def _changes(
    path: Path, before: FileStat, wall: Callable[[], float], rest: Callable[[float], None], *, patience_s: float
) -> bool:
    """Whether a file changed since, or so lately that it may go on."""
    if stat_of(path) != before:
        return True
    if not patience_s:
        return False
    age_s = wall() - before.mtime_ns / 1e9
    lately = -_AHEAD_S <= age_s < patience_s
    if patience_s == STILL_S and lately:
        return True
    if patience_s == STILL_S or lately:
        rest(MOMENT_S if patience_s == STILL_S else patience_s - max(0.0, age_s))
    return stat_of(path) != before


def declared_end(path: Path) -> int | None:
    """Where a film says that it ends.

    Parameters
    ----------
    path : Path
        A plain file.

    Returns
    -------
    int or None
        Bytes from its beginning, as its boxes (ISO/IEC 14496-12), Matroska's segment (RFC 9559), or the chunks of an
        AVI say it; none where the kind of file does not say, or it can't be read.
    """
    try:
        with path.open("rb") as file:
            size = file.seek(0, 2)
            file.seek(0)
            head = file.read(64)
            if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
                return _end_of_boxes(file, size)
            if head[:4] == b"RIFF":
                return _end_of_chunks(file, size)
            if head[:4] == b"\x1aE\xdf\xa3":
                return _end_of_segment(file)
            return _end_of_packets(file, size)
    except (OSError, struct.error, IndexError):
        return None


def _end_of_boxes(file: BinaryIO, size: int) -> int | None:
    at = 0
    for _ in range(_MOST_BOXES):
        if at == size:
            return at
        file.seek(at)
        head = file.read(16)
        if len(head) < 8:
            return at + 8
        length, kind = struct.unpack(">I4s", head[:8])
        if not kind.isalnum() or kind in (b"moof", b"mfra") or length == 0:
            return size if not kind.isalnum() else None
        if length == 1:
            length = struct.unpack(">Q", head[8:16])[0]
        if length < 8:
            return size
        at += length
        if at > size:
            return at
    return None


def _end_of_chunks(file: BinaryIO, size: int) -> int | None:
    at = 0
    for _ in range(_MOST_BOXES):
        file.seek(at)
        head = file.read(8)
        if len(head) < 8 or head[:4] != b"RIFF":
            return size
        length = struct.unpack("<I", head[4:])[0]
        if length == 0:
            return None
        at += 8 + length + length % 2
        if at > size:
            return at if at > size + 1 else size  # the last chunk's padding may be missing
    return None


def _end_of_segment(file: BinaryIO) -> int | None:
    file.seek(4)
    length = _vint(file)
    if length is None:
        return None
    file.seek(length, 1)
    if file.read(4) != b"\x18S\x80g":
        return None
    length = _vint(file)
    return None if length is None else file.tell() + length


def _vint(file: BinaryIO) -> int | None:
    """An EBML length; none for the unknown one."""
    first = file.read(1)[0]
    n = 9 - first.bit_length()
    if n > 8:
        return None
    value = int.from_bytes(bytes([first & (1 << (8 - n)) - 1]) + file.read(n - 1), "big")
    return None if value == (1 << 7 * n) - 1 else value


def _end_of_packets(file: BinaryIO, size: int) -> int | None:
    """A stream of packets does not say where it ends, but never ends within one."""
    file.seek(0)
    head = file.read(1024)
    for length, lead in _TS_PACKETS:
        if len(head) > lead + 4 * length and all(head[lead + n * length] == 0x47 for n in range(5)):
            return None if size % length == 0 else size - size % length + length
    return None
