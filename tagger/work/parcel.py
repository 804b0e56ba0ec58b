"""One file that comes piece by piece: what is there of it, on disk, each piece with its checksum.

A piece is on disk before it is written down as being there. So whatever is cut off in between, what is written down is
true, and sending goes on where it was.

A file is known again by its size and its first and last piece, so that sending goes on after a new page, a new start
and another name; every piece that is there keeps its checksum, so another file of the same ends is noticed. What
nobody went on with for a week is cleared. On a full disk a sent file gives way to the journal.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import struct
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tagger.errors import SeasonError
from tagger.film.errors import FilmError, FilmTorn, from_os
from tagger.written import begin_part, whole_file, write_whole

FILM = "film.part"
_VERSION = 1
_PIECES, _ABOUT = "pieces", "about.json"
_ROW = struct.Struct(">II")  # of a piece: whether it is there, and its checksum
_THERE = 0x70696563


class NoArrival(SeasonError, LookupError):
    """Nothing of that id is being sent."""


class StrayPiece(SeasonError, ValueError):
    """A piece that lies nowhere in the file, or is longer or shorter than its place."""


class TornPiece(SeasonError, ValueError):
    """A piece that is not what was sent; it has to be sent again."""


class OtherFile(SeasonError, ValueError):
    """A piece that says something else than the one that lies at its place: this is not the file that was begun."""


@dataclass(frozen=True)
class Sent:
    """A file as the device that sends it describes it.

    Attributes
    ----------
    size_bytes : int
        How large it is.
    first_crc, last_crc : int
        CRC-32 of its first and of its last piece (as `zlib.crc32`).
    suffix : str
        What kind of file it says it is, as ".mp4".
    label : str
        What people call it. Only ever shown.
    wish : dict
        What is to become of it when it is whole; JSON.
    """

    size_bytes: int
    first_crc: int
    last_crc: int
    suffix: str
    label: str
    wish: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Arrival:
    """A file that is being sent.

    Attributes
    ----------
    id : str
        Made here.
    sent : Sent
        What it is said to be.
    missing : tuple of (int, int)
        Stretches of pieces that are not there, end exclusive.
    there_bytes : int
        How much of it is there.
    """

    id: str
    sent: Sent
    missing: tuple[tuple[int, int], ...]
    there_bytes: int

    @property
    def whole(self) -> bool:
        """Whether nothing is missing."""
        return not self.missing


class Parcel:
    """A file that is being sent, in a folder of its own.

    Parameters
    ----------
    folder : Path
        Its folder; the name is its id.
    piece_bytes : int
        How large a piece is; all but the last of a file.
    """

    def __init__(self, folder: Path, piece_bytes: int) -> None:
        self.folder = folder
        self.piece_bytes = piece_bytes

    def begin(self, sent: Sent) -> None:
        """Make the folder, or say anew what is wished of what is there already.

        Parameters
        ----------
        sent : Sent
            The file.

        Raises
        ------
        tagger.film.errors.FilmError
            It could not be written.
        """
        about = self.folder / _ABOUT
        fresh = not about.exists()
        told = {"v": _VERSION, "piece_bytes": self.piece_bytes, **vars(sent)}
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            if fresh:
                begin_part(self.folder / FILM)
                with whole_file(self.folder / _PIECES) as beside:
                    beside.write_bytes(bytes(_ROW.size * self._n_pieces(sent)))
            write_whole(about, json.dumps(told, ensure_ascii=False))
        except OSError as error:
            if fresh:
                shutil.rmtree(self.folder, ignore_errors=True)
            raise from_os(error, sent.label) from error

    def read(self) -> Arrival:
        """How it stands.

        Returns
        -------
        Arrival
            With what is missing.

        Raises
        ------
        NoArrival
            It was cleared, or is not to be read.
        """
        try:
            about = json.loads((self.folder / _ABOUT).read_text(encoding="utf-8"))
            if (about.pop("v"), about.pop("piece_bytes")) != (_VERSION, self.piece_bytes):
                raise ValueError("of another version")
            sent = Sent(**about)
            rows = list(_ROW.iter_unpack((self.folder / _PIECES).read_bytes()))
        except (OSError, ValueError, TypeError, KeyError, struct.error) as fault:
            raise NoArrival("this film is not being sent any more; choose its file again to send it anew") from fault
        there = [row[0] == _THERE for row in rows]
        missing: list[tuple[int, int]] = []
        for number, here in enumerate(there):
            if not here and missing and missing[-1][1] == number:
                missing[-1] = (missing[-1][0], number + 1)
            elif not here:
                missing.append((number, number + 1))
        short = len(there) * self.piece_bytes - sent.size_bytes if there and there[-1] else 0
        return Arrival(self.folder.name, sent, tuple(missing), sum(there) * self.piece_bytes - short)

    def take(self, at: int, data: bytes, crc: int) -> None:
        """Take a piece; one thread at a time.

        Parameters
        ----------
        at, data, crc
            As for `tagger.work.arrivals.Arrivals.take`.

        Raises
        ------
        NoArrival, StrayPiece, TornPiece, OtherFile, tagger.film.errors.FilmError
            As there.
        """
        from tagger.film.source import sniff

        sent = self.read().sent
        label, number = sent.label, at // self.piece_bytes
        if at % self.piece_bytes or not 0 <= at < sent.size_bytes:
            raise StrayPiece(f"{label}: no piece begins at byte {at}; load the page anew and choose the file again")
        if len(data) != min(self.piece_bytes, sent.size_bytes - at):
            raise StrayPiece(f"{label}: a piece of {len(data)} bytes does not fit; load the page anew")
        if zlib.crc32(data) != crc:
            raise TornPiece(f"{label}: a piece came damaged over the network; it has to be sent again")
        ends = {0: sent.first_crc, self._n_pieces(sent) - 1: sent.last_crc}
        try:
            with (self.folder / _PIECES).open("rb") as file:
                file.seek(number * _ROW.size)
                there, held = _ROW.unpack(file.read(_ROW.size))
            if (there == _THERE and held != crc) or ends.get(number, crc) != crc:
                raise OtherFile(f"{label}: this is another file than the one that was begun; choose that one")
            if there == _THERE:
                return
            _write_at(self.folder / FILM, at, data)
            _write_at(self.folder / _PIECES, number * _ROW.size, _ROW.pack(_THERE, crc))
            if number == 0:
                with contextlib.suppress(FilmTorn):  # it begins with nothing; what follows may be something
                    sniff(self.folder / FILM)
        except FilmError as error:
            raise type(error)(error.what, label, error.todo) from error
        except OSError as error:
            raise from_os(error, label) from error

    def _n_pieces(self, sent: Sent) -> int:
        return -(-sent.size_bytes // self.piece_bytes)


def _write_at(path: Path, at: int, data: bytes) -> None:
    with path.open("r+b") as file:
        file.seek(at)
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
