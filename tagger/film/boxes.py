"""The sample tables of an MP4 or QuickTime file: when each sample is shown and where it lies, without reading any.

Boxes and their fields are those of ISO/IEC 14496-12 (ISO base media file format); QuickTime's are the same here.
Section numbers beside them are from memory; every table read here is tried against the library's own reading of it
(`sampled.py`). Only plain files are read: whole tables in one `moov` box, one sample description, at most one edit
that shows media. Whatever is otherwise (fragments, several edits, tables that contradict each other) gives nothing,
and whoever asked reads the file through instead. No count in the file is believed before as many bytes were seen or
`MOST_SAMPLES` allows it, so nothing in it takes much time or memory.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

MOST_BYTES = 64 << 20
MOST_BOXES = 4096
MOST_EDITS = 8
MOST_SAMPLES = 2_000_000  # eighteen hours at 30 a second
LONGEST_STEP = 1 << 31
LARGEST_SHIFT = 1 << 28
_ODD = (b"stps", b"senc", b"stz2")


@dataclass(frozen=True)
class SampleTable:
    """The samples of one track in decoding order.

    Attributes
    ----------
    timescale : int
        Units a second.
    shown : int64[n]
        Composition times in units of `timescale`, before any edit.
    step : int64[n]
        How long each sample stands, by its decoding time.
    key : bool[n]
        Whether decoding can begin there.
    offset, size : int64[n]
        Where its bytes lie in the file.
    edit : (int, int) or None
        The one stretch that is shown, end exclusive, in the units of `shown`; None when there is no edit list.
    """

    timescale: int
    shown: NDArray[np.int64]
    step: NDArray[np.int64]
    key: NDArray[np.bool_]
    offset: NDArray[np.int64]
    size: NDArray[np.int64]
    edit: tuple[int, int] | None


class _Odd(Exception):
    """Not a plain file: somebody else has to read it."""


def sample_table(path: Path, track_id: int) -> SampleTable | None:
    """Read the tables of one track.

    Parameters
    ----------
    path : Path
        The file.
    track_id : int
        The track's ID as its header says it.

    Returns
    -------
    SampleTable or None
        None when the file is not plain, or its tables are torn or contradict each other.
    """
    try:
        with path.open("rb") as file:
            moov, file_bytes = _moov(file)
        return _track(moov, track_id, file_bytes)
    except (_Odd, OSError, struct.error, LookupError, ValueError, OverflowError):
        return None


def _moov(file: BinaryIO) -> tuple[bytes, int]:
    end = file.seek(0, 2)
    at = 0
    for _ in range(MOST_BOXES):
        if at + 8 > end:
            raise _Odd
        file.seek(at)
        head = file.read(16)
        size, kind = struct.unpack(">I4s", head[:8])
        begin = at + 8
        if size == 1:
            size, begin = struct.unpack(">Q", head[8:16])[0], at + 16
        elif size == 0:
            size = end - at
        if size < begin - at or (at + size > end and kind == b"moov"):
            raise _Odd
        if kind in (b"moof", b"mfra"):
            raise _Odd
        if kind == b"moov":
            if size > MOST_BYTES:
                raise _Odd
            file.seek(begin)
            return file.read(at + size - begin), end
        at += size
    raise _Odd


def _boxes(data: memoryview) -> Iterator[tuple[bytes, memoryview]]:
    at = n = 0
    while at + 8 <= len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        begin = at + 8
        if size == 1:
            size, begin = struct.unpack_from(">Q", data, at + 8)[0], at + 16
        elif size == 0:
            size = len(data) - at
        n += 1
        if size < begin - at or at + size > len(data) or n > MOST_BOXES:
            raise _Odd
        yield kind, data[begin : at + size]
        at += size


def _only(data: memoryview, *path: bytes) -> memoryview:
    """The one box of a kind inside another, and on inwards."""
    for kind in path:
        found = [body for name, body in _boxes(data) if name == kind]
        if len(found) != 1:
            raise _Odd
        data = found[0]
    return data


def _track(moov: bytes, track_id: int, file_bytes: int) -> SampleTable:
    whole = memoryview(moov)
    tracks = [body for name, body in _boxes(whole) if name == b"trak"]
    if any(name == b"mvex" for name, _ in _boxes(whole)):
        raise _Odd
    mine = [body for body in tracks if _track_id(_only(body, b"tkhd")) == track_id]
    if len(mine) != 1:
        raise _Odd
    (track,) = mine
    for other in tracks:  # a track that is torn ends the reading of all of them
        _lies_within(_stbl(other), file_bytes, picture=other is track)
    timescale = _timescale(_only(track, b"mdia", b"mdhd"))
    tables = _stbl(track)
    size = _sizes(tables)
    n = len(size)
    step = _runs(tables[b"stts"], ">u4", n)
    shift = _runs(tables[b"ctts"], ">i4", n) if b"ctts" in tables else np.zeros(n, np.int64)
    if step.max() >= LONGEST_STEP or np.abs(shift).max() >= LARGEST_SHIFT:
        raise _Odd
    begins = np.concatenate([[0], np.cumsum(step)[:-1]])
    edits = [body for name, body in _boxes(track) if name == b"edts"]
    if len(edits) > 1:
        raise _Odd
    edit = _edit(_only(edits[0], b"elst"), _timescale(_only(whole, b"mvhd")), timescale) if edits else None
    return SampleTable(
        timescale, begins + shift, step, key=_keys(tables, n), offset=_offsets(tables, size), size=size, edit=edit
    )


def _stbl(track: memoryview) -> dict[bytes, memoryview]:
    """The boxes of a track's sample table (8.5.1), each once, of samples that have all one description."""
    tables: dict[bytes, memoryview] = {}
    for name, body in _boxes(_only(track, b"mdia", b"minf", b"stbl")):
        if name in (b"sgpd", b"sbgp"):  # groups of samples (8.9); only 'rap ' says where decoding can begin
            if bytes(body[4:8]) == b"rap ":
                raise _Odd
            continue
        if name in tables or name in _ODD:
            raise _Odd
        tables[name] = body
    if struct.unpack_from(">I", tables[b"stsd"], 4)[0] != 1:
        raise _Odd
    return tables


def _lies_within(tables: dict[bytes, memoryview], file_bytes: int, *, picture: bool) -> None:
    """Refuse a track whose samples lie outside the file or on each other; other tracks may have empty ones."""
    each, n = struct.unpack_from(">II", tables[b"stsz"], 4)
    if n == 0 and not picture:
        return
    if each and not picture:  # plain sound, a size for all: millions of samples, not to be laid out
        chunks = _chunks(tables)
        if len(chunks) and not 0 <= chunks.min() <= chunks.max() < file_bytes:
            raise _Odd
        return
    size = _sizes(tables, least=1 if picture else 0)
    begin = _offsets(tables, size)
    order = np.argsort(begin, kind="stable")
    end = (begin + size)[order]
    if begin.min() < 0 or end.max() > file_bytes or np.any(end[:-1] > begin[order][1:]):
        raise _Odd
    _runs(tables[b"stts"], ">u4", len(size))


def _track_id(tkhd: memoryview) -> int:
    """Of a track's header (8.3.2)."""
    return int(struct.unpack_from(">I", tkhd, 20 if tkhd[0] == 1 else 12)[0])


def _timescale(header: memoryview) -> int:
    """Of a movie's (8.2.2) or a media's header (8.4.2): both have it at the same place."""
    found = int(struct.unpack_from(">I", header, 20 if header[0] == 1 else 12)[0])
    if found == 0:
        raise _Odd
    return found


def _sizes(tables: dict[bytes, memoryview], *, least: int = 1) -> NDArray[np.int64]:
    """Bytes of each sample (stsz, 8.7.3): one size for all, or a list."""
    each, n = struct.unpack_from(">II", tables[b"stsz"], 4)
    if not 0 < n <= MOST_SAMPLES:
        raise _Odd
    size = np.full(n, each, np.int64) if each else _column(tables[b"stsz"], ">u4", 12, n).astype(np.int64)
    if size.min() < least:
        raise _Odd
    return size


def _column(table: memoryview, dtype: str, begin: int, n: int) -> NDArray[np.generic]:
    if begin + n * np.dtype(dtype).itemsize > len(table):
        raise _Odd
    return np.frombuffer(table, dtype=dtype, count=n, offset=begin)


def _runs(table: memoryview, dtype: str, n: int) -> NDArray[np.int64]:
    """A table of (count, value) pairs (stts 8.6.1.2, ctts 8.6.1.3), laid out: one value a sample."""
    n_runs = struct.unpack_from(">I", table, 4)[0]
    pairs = _column(table, ">u4", 8, 2 * n_runs).reshape(-1, 2)
    counts = pairs[:, 0].astype(np.int64)
    if counts.sum() != n:
        raise _Odd
    values = np.ascontiguousarray(pairs[:, 1]).view(dtype).astype(np.int64)
    return np.repeat(values, counts)


def _keys(tables: dict[bytes, memoryview], n: int) -> NDArray[np.bool_]:
    """Sync samples (stss, 8.6.2), numbered from 1; without the box every sample is one."""
    if b"stss" not in tables:
        return np.ones(n, dtype=bool)
    numbers = _column(tables[b"stss"], ">u4", 8, struct.unpack_from(">I", tables[b"stss"], 4)[0]).astype(np.int64)
    if len(numbers) == 0 or numbers[0] < 1 or numbers[-1] > n or np.any(np.diff(numbers) <= 0):
        raise _Odd
    key = np.zeros(n, dtype=bool)
    key[numbers - 1] = True
    return key


def _chunks(tables: dict[bytes, memoryview]) -> NDArray[np.int64]:
    """Where each chunk begins (stco or co64, 8.7.5)."""
    wide = b"co64" in tables
    table = tables[b"co64" if wide else b"stco"]
    n_chunks = struct.unpack_from(">I", table, 4)[0]
    return _column(table, ">u8" if wide else ">u4", 8, n_chunks).astype(np.int64)


def _offsets(tables: dict[bytes, memoryview], size: NDArray[np.int64]) -> NDArray[np.int64]:
    """Where each sample lies: chunks hold runs of samples (stsc, 8.7.4) one after the other."""
    chunks = _chunks(tables)
    n_chunks = len(chunks)
    n_runs = struct.unpack_from(">I", tables[b"stsc"], 4)[0]
    runs = _column(tables[b"stsc"], ">u4", 8, 3 * n_runs).reshape(-1, 3).astype(np.int64)
    first = runs[:, 0]
    if n_runs == 0 or first[0] != 1 or np.any(np.diff(first) <= 0) or first[-1] > n_chunks or np.any(runs[:, 2] != 1):
        raise _Odd
    held = np.repeat(runs[:, 1], np.diff(np.append(first, n_chunks + 1)))
    if held.max() > len(size) or held.sum() != len(size):
        raise _Odd
    ends = np.cumsum(size)
    before = np.concatenate([[0], ends])[np.concatenate([[0], np.cumsum(held)])[:-1]]
    chunk = np.repeat(np.arange(n_chunks), held)
    return chunks[chunk] + (ends - size) - before[chunk]


def _edit(elst: memoryview, movie_scale: int, timescale: int) -> tuple[int, int]:
    """The stretch of the media that the one edit shows (8.6.6); empty edits before it only move it in time."""
    wide = elst[0] == 1
    n = struct.unpack_from(">I", elst, 4)[0]
    if not 0 < n <= MOST_EDITS:
        raise _Odd
    row = struct.Struct(">Qqi" if wide else ">Iii")
    rows = [row.unpack_from(elst, 8 + row.size * place) for place in range(n)]
    length, begin, rate = rows[-1]
    if begin < 0 or length <= 0 or rate != 1 << 16 or any(each[1] != -1 for each in rows[:-1]):
        raise _Odd
    length = (length * timescale * 2 + movie_scale) // (2 * movie_scale)  # nearest, a half up
    return begin, begin + length
