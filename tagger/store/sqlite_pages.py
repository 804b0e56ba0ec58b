"""Rows read from the pages of an SQLite file without SQLite, so that a damaged page costs only what is on it.

SQLite finds a row from the root of its table down; where a page on that way is damaged, or the first page of all, it
gives up whatever is whole. Here every page is looked at for itself. The layout is that of "Database File Format",
https://www.sqlite.org/fileformat2.html: §1.3 the header, §1.5 and §1.6 b-tree pages, cells and overflow pages, §2.1
records, §4 the write-ahead log, whose latest frames stand for their pages.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

INDEX_INTERIOR, TABLE_INTERIOR, INDEX_LEAF, TABLE_LEAF = 2, 5, 10, 13
USUAL_SIZE = 4096
_FIRST_HEADER = 100
_LOG_HEADER, _FRAME_HEADER = 32, 24
_LOG_MAGIC = (0x377F0682, 0x377F0683)
_MOST_PAYLOAD = 64 * 1024 * 1024
_INT_SIZES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}


class Lost:
    """Stands where a value can't be read."""


LOST = Lost()


@dataclass(frozen=True)
class Frame:
    """A page in the write-ahead log.

    Attributes
    ----------
    number : int
        Which page.
    ends : bool
        Whether a transaction was committed with it.
    sound : bool
        Whether it reads as it was written, by its checksum.
    content : bytes
        The page.
    """

    number: int
    ends: bool
    sound: bool
    content: bytes


@dataclass(frozen=True)
class Row:
    """A row, or an index's key: its number in a table (None in an index), and its values, LOST where unreadable."""

    rowid: int | None
    values: tuple[Any, ...]


class Pages:
    """The pages of a database and its log.

    Parameters
    ----------
    content : bytes
        The database file; may be empty.
    log : bytes
        The write-ahead log; may be empty.
    size : int
        Bytes of a page.
    """

    def __init__(self, content: bytes, log: bytes = b"", size: int = USUAL_SIZE) -> None:
        self.size = size
        self.content = content
        self.frames = frames(log, size)
        self._latest = {frame.number: frame.content for frame in self.frames if frame.sound}

    @property
    def n_pages(self) -> int:
        """How many pages there are."""
        return max([-(-len(self.content) // self.size), *self._latest])

    def page(self, number: int) -> bytes:
        """A page as it was written last.

        Parameters
        ----------
        number : int
            From 1.

        Returns
        -------
        bytes
            Empty when there is none.
        """
        held = self._latest.get(number)
        return held if held is not None else self.content[(number - 1) * self.size : number * self.size]

    def versions(self) -> Iterator[tuple[int, bytes]]:
        """Every page in every version there is, the newest first, those that fail their checksum last.

        Yields
        ------
        tuple of int and bytes
            Number and content.
        """
        yield from ((frame.number, frame.content) for frame in reversed(self.frames) if frame.sound)
        for number in range(1, -(-len(self.content) // self.size) + 1):
            yield number, self.content[(number - 1) * self.size : number * self.size]
        yield from ((frame.number, frame.content) for frame in reversed(self.frames) if not frame.sound)

    def rows(self, number: int, page: bytes) -> Iterator[Row]:
        """The rows, or keys, on one page.

        Parameters
        ----------
        number : int
            Its number.
        page : bytes
            Its content.

        Yields
        ------
        Row
            What can be read of each; a place that makes no sense is passed over.
        """
        at = _FIRST_HEADER if number == 1 else 0
        if len(page) < at + 12:
            return
        kind = page[at]
        if kind not in (INDEX_INTERIOR, INDEX_LEAF, TABLE_LEAF):
            return
        first = at + (12 if kind == INDEX_INTERIOR else 8)
        n_cells = min(struct.unpack_from(">H", page, at + 3)[0], (len(page) - first) // 2)
        for (place,) in struct.iter_unpack(">H", page[first : first + 2 * n_cells]):
            row = self._row(page, place, kind) if first <= place < len(page) else None
            if row is not None:
                yield row

    def children(self, number: int) -> list[int]:
        """The pages below an interior page.

        Parameters
        ----------
        number : int
            The page.

        Returns
        -------
        list of int
            Empty for a leaf.
        """
        page = self.page(number)
        at = _FIRST_HEADER if number == 1 else 0
        if len(page) < at + 12 or page[at] not in (INDEX_INTERIOR, TABLE_INTERIOR):
            return []
        n_cells = min(struct.unpack_from(">H", page, at + 3)[0], (len(page) - at - 12) // 2)
        places = struct.unpack_from(f">{n_cells}H", page, at + 12)
        below = [struct.unpack_from(">I", page, place)[0] for place in places if place + 4 <= len(page)]
        return [*below, struct.unpack_from(">I", page, at + 8)[0]]

    def below(self, root: int) -> list[int]:
        """All pages of a table, from its root.

        Parameters
        ----------
        root : int
            The root page.

        Returns
        -------
        list of int
            The root first; each once.
        """
        seen, open_ = {root: None}, [root]
        while open_:
            for child in self.children(open_.pop()):
                if 1 < child <= self.n_pages and child not in seen:
                    seen[child] = None
                    open_.append(child)
        return list(seen)

    def _row(self, page: bytes, at: int, kind: int) -> Row | None:
        try:
            if kind == INDEX_INTERIOR:
                at += 4
            n_bytes, at = _varint(page, at)
            rowid = None
            if kind == TABLE_LEAF:
                rowid, at = _varint(page, at)
            if not 0 < n_bytes <= _MOST_PAYLOAD:
                return None
            payload = self._payload(page, at, n_bytes, kind)
            return Row(rowid, values(payload, n_bytes))
        except (IndexError, struct.error, ValueError):
            return None

    def _payload(self, page: bytes, at: int, n_bytes: int, kind: int) -> bytes:
        """What a cell holds, as far as its overflow pages can be followed."""
        usable = self.size
        most = usable - 35 if kind == TABLE_LEAF else (usable - 12) * 64 // 255 - 23
        if n_bytes <= most:
            return page[at : at + n_bytes]
        least = (usable - 12) * 32 // 255 - 23
        local = least + (n_bytes - least) % (usable - 4)
        if local > most:
            local = least
        made = [page[at : at + local]]
        held = len(made[0])
        next_ = struct.unpack_from(">I", page, at + local)[0]
        seen = set()
        while held < n_bytes and 1 < next_ <= self.n_pages and next_ not in seen:
            seen.add(next_)
            more = self.page(next_)
            if len(more) < usable:
                break
            made.append(more[4 : 4 + n_bytes - held])
            held += len(made[-1])
            next_ = struct.unpack_from(">I", more)[0]
        return b"".join(made)


def values(payload: bytes, n_bytes: int) -> tuple[Any, ...]:
    """The values of a record.

    Parameters
    ----------
    payload : bytes
        The record, or its beginning.
    n_bytes : int
        How long it is as a whole.

    Returns
    -------
    tuple
        None, int, float, str or bytes each; LOST for what lies behind the end, or is no text though it says so.

    Raises
    ------
    ValueError, IndexError
        It is no record.
    """
    head, at = _varint(payload, 0)
    if not 0 < head <= min(len(payload), n_bytes):
        raise ValueError("no record")
    kinds = []
    while at < head:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    made: list[Any] = []
    at = head
    for kind in kinds:
        size = _INT_SIZES.get(kind, 8 if kind == 7 else 0 if kind < 12 else (kind - 12) // 2)
        part = payload[at : at + size]
        at += size
        made.append(_value(kind, part) if len(part) == size else LOST)
    if at != n_bytes:
        raise ValueError("a record of another length")
    return tuple(made)


def _value(kind: int, part: bytes) -> Any:
    if kind in _INT_SIZES:
        return int.from_bytes(part, "big", signed=True)
    if kind == 7:
        return struct.unpack(">d", part)[0]
    if kind < 12:
        return {0: None, 8: 0, 9: 1}.get(kind, LOST)
    if kind % 2 == 0:
        return part
    try:
        return part.decode("utf-8")
    except UnicodeDecodeError:
        return LOST


def _varint(page: bytes, at: int) -> tuple[int, int]:
    made = 0
    for place in range(at, at + 8):
        byte = page[place]
        made = made << 7 | byte & 0x7F
        if byte < 0x80:
            return made, place + 1
    return _signed(made << 8 | page[at + 8]), at + 9


def _signed(number: int) -> int:
    return number - (1 << 64) if number >= 1 << 63 else number


def frames(log: bytes, size: int) -> list[Frame]:
    """The frames of a write-ahead log, up to the last commit that it holds.

    A frame's checksum goes on from that of the frame before; SQLite reads no further than the first that is wrong. Here
    each is held against the one that stands before it, so that a damaged frame costs only itself.

    Parameters
    ----------
    log : bytes
        The file; may be empty.
    size : int
        Bytes of a page.

    Returns
    -------
    list of Frame
        In the order in which they were written.
    """
    if len(log) < _LOG_HEADER + _FRAME_HEADER + size:
        return []
    little = struct.unpack_from(">I", log)[0] == _LOG_MAGIC[0]
    salt, before = log[16:24], log[24:32]
    places = range(_LOG_HEADER, len(log) - _FRAME_HEADER - size + 1, _FRAME_HEADER + size)
    if not any(log[at + 8 : at + 16] == salt for at in places):
        salt = log[_LOG_HEADER + 8 : _LOG_HEADER + 16]  # the header is damaged
    made, end = [], 0
    for at in places:
        number, commit = struct.unpack_from(">II", log, at)
        content = log[at + _FRAME_HEADER : at + _FRAME_HEADER + size]
        stored = log[at + 16 : at + 24]
        if log[at + 8 : at + 16] == salt and number:
            sound = _checksum(before, log[at : at + 8] + content, little) == stored
            made.append(Frame(number, commit != 0, sound, content))
            end = len(made) if commit else end
        before = stored
    return made[:end]


def _checksum(before: bytes, content: bytes, little: bool) -> bytes:
    one, two = struct.unpack(">II", before)
    words: Sequence[int] = struct.unpack(f"{'<' if little else '>'}{len(content) // 4}I", content)
    for left, right in zip(words[::2], words[1::2], strict=True):
        one = (one + left + two) & 0xFFFFFFFF
        two = (two + right + one) & 0xFFFFFFFF
    return struct.pack(">II", one, two)


def sizes(content: bytes, log: bytes) -> list[int]:
    """The sizes that a page may have, the likeliest first.

    Parameters
    ----------
    content, log : bytes
        The database and its log.

    Returns
    -------
    list of int
        What each says of itself, and what floorbook makes.
    """
    told = []
    if len(content) >= _FIRST_HEADER:
        stored = struct.unpack_from(">H", content, 16)[0]
        told.append(65536 if stored == 1 else stored)
    if len(log) >= _LOG_HEADER:
        told.append(struct.unpack_from(">I", log, 8)[0])
    sane = [size for size in told if 512 <= size <= 65536 and size & (size - 1) == 0]
    return list(dict.fromkeys([*sane, USUAL_SIZE]))
