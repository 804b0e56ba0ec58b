"""Film sent to the season from another device, piece by piece, until it is whole.

What has come lies in a folder of its own inside the season's film folder, under an invented name, and is no film to
anybody before the last piece is there. A piece is on disk before it is written down as being there, each with its
checksum, so that sending goes on where it was after the network was cut, the page was loaded anew or the program ended:
a file is known again by its size and the checksums of its first and last piece, never by its name.
"""

from __future__ import annotations

import contextlib
import re
import secrets
import shutil
import threading
import time
from collections.abc import Callable, Collection
from datetime import datetime
from pathlib import Path

from tagger.errors import SeasonError
from tagger.film.errors import DiskFull, NotFilm, from_os
from tagger.work.parcel import FILM, Arrival, NoArrival, Parcel, Sent, StrayPiece

PIECE_BYTES = 4 * 1024 * 1024
MOST_AT_ONCE = 3
MOST_BEGUN = 20
KEPT_S = 7 * 24 * 3600.0
RESTS_AFTER_S = 60.0
FOLDER = "arriving"
NAME = "sent-"
_ID = re.compile(r"[0-9a-f]{16}")


class TooManyArrivals(SeasonError):
    """Others are sending already."""


class Arrivals:
    """What is being sent to one season.

    Parameters
    ----------
    film_folder : Path
        The season's film folder; made when first needed.
    clock, wall : callable, optional
        Seconds that only grow; seconds since 1970.
    piece_bytes : int
        How large a piece is; all but the last of a file.
    """

    def __init__(
        self,
        film_folder: Path,
        *,
        clock: Callable[[], float] = time.monotonic,
        wall: Callable[[], float] = time.time,
        piece_bytes: int = PIECE_BYTES,
    ) -> None:
        self.film_folder = film_folder
        self.piece_bytes = piece_bytes
        self._clock, self._wall = clock, wall
        self._guard = threading.Lock()
        self._heard: dict[str, float] = {}
        self._locks: dict[str, threading.Lock] = {}

    def begin(self, sent: Sent) -> Arrival:
        """Begin to send a file, or go on with it where it was.

        Parameters
        ----------
        sent : Sent
            The file. One of the same size, first and last piece is the same file; its wish is renewed.

        Returns
        -------
        Arrival
            With what is missing of it.

        Raises
        ------
        TooManyArrivals
            As many are being sent as may be at once, or are begun as may be.
        tagger.film.errors.FilmError
            There is no room for it: nothing was begun.
        """
        from tagger.film.room import check_room

        if sent.size_bytes <= 0:
            raise NotFilm("the file is empty (0 bytes)", sent.label, "copy it from the camera again")
        with self._guard:
            begun = self.all()
            held = next((one for one in begun if _same(one.sent, sent)), None)
            if held is None and len(begun) >= MOST_BEGUN:
                raise TooManyArrivals(f"{MOST_BEGUN} films are begun and not whole; send them or clear them first")
            need_bytes = sum(one.sent.size_bytes - one.there_bytes for one in begun)
            try:
                self.film_folder.mkdir(exist_ok=True)
                check_room(self.film_folder / FOLDER, need_bytes + (sent.size_bytes if held is None else 0))
            except DiskFull as error:
                raise DiskFull(error.what, sent.label, error.todo) from error
            except OSError as error:
                raise from_os(error, sent.label) from error
            id_ = held.id if held is not None else secrets.token_hex(8)
            self._take_turn(id_)
            self._parcel(id_).begin(sent)
            return self._parcel(id_).read()

    def begun_as(self, sent: Sent) -> str:
        """Which arrival a file is already.

        Parameters
        ----------
        sent : Sent
            The file.

        Returns
        -------
        str
            Its id; empty when nothing of it was begun.
        """
        return next((one.id for one in self.all() if _same(one.sent, sent)), "")

    def take(self, id_: str, at: int, data: bytes, crc: int) -> Arrival:
        """Take a piece. The same piece again is a harmless retry; pieces may come in any order.

        Parameters
        ----------
        id_ : str
            The arrival's.
        at : int
            Where in the file the piece begins (bytes): a multiple of the piece's length.
        data : bytes
            The piece, whole.
        crc : int
            Its CRC-32 as the sender worked it out.

        Returns
        -------
        Arrival
            With what is missing now.

        Raises
        ------
        tagger.work.parcel.NoArrival, StrayPiece, TornPiece, OtherFile, TooManyArrivals
            The piece was not taken; nothing was changed.
        tagger.film.errors.FilmError
            It could not be written, or the file is plainly no film. That is thrown away at once, and so is what fills
            the disk up: the journal needs the room.
        """
        self.get(id_)
        with self._guard:
            self._take_turn(id_)
            lock = self._locks.setdefault(id_, threading.Lock())
        with lock:
            try:
                self._parcel(id_).take(at, data, crc)
            except NotFilm:
                with self._guard:
                    self._forget(id_)
                raise
            except DiskFull as error:
                with self._guard:
                    self._forget(id_)
                todo = "what had come of it was removed; make room on the season’s disk, then send it again"
                raise DiskFull(error.what, error.path, todo) from error
            return self._parcel(id_).read()

    def finish(self, id_: str) -> Path:
        """Give a whole file its place in the season's film folder.

        Parameters
        ----------
        id_ : str
            The arrival's, of which nothing is missing. It is no arrival any more afterwards.

        Returns
        -------
        Path
            The file, under an invented name that says when it came.

        Raises
        ------
        NoArrival, StrayPiece
            There is none such; something is missing.
        tagger.film.errors.FilmError
            It could not be put there.
        """
        with self._guard:
            arrival = self.get(id_)
            if not arrival.whole:
                raise StrayPiece(f"{arrival.sent.label}: not all of it has come yet; send the rest")
            day = datetime.fromtimestamp(self._wall()).strftime("%Y-%m-%d")
            stems = {path.stem for path in self.film_folder.iterdir()}
            n = next(n for n in range(1, 100_000) if f"{NAME}{day}-{n}" not in stems)
            target = self.film_folder / f"{NAME}{day}-{n}{arrival.sent.suffix}"
            try:
                (self._folder(id_) / FILM).replace(target)
            except OSError as error:
                raise from_os(error, arrival.sent.label) from error
            self._forget(id_)
            return target

    def rest(self, id_: str) -> None:
        """Give up an arrival's turn for now, as when its sender pauses.

        Parameters
        ----------
        id_ : str
            The arrival's; what has come of it stays.
        """
        with self._guard:
            self._heard.pop(id_, None)

    def clear(self, id_: str) -> None:
        """Throw away what has come of a file.

        Parameters
        ----------
        id_ : str
            The arrival's.

        Raises
        ------
        NoArrival
            There is none such.
        """
        self.get(id_)
        with self._guard:
            lock = self._locks.setdefault(id_, threading.Lock())
        with lock, self._guard:
            self._forget(id_)

    def clear_old(self) -> int:
        """Throw away what nobody went on with for days.

        Returns
        -------
        int
            How many there were.
        """
        n = 0
        with self._guard:
            for folder in self._folders():
                with contextlib.suppress(OSError):
                    touched = max((path.stat().st_mtime for path in folder.iterdir()), default=folder.stat().st_mtime)
                    if not self.is_coming(folder.name) and self._wall() - touched > KEPT_S:
                        self._forget(folder.name)
                        n += 1
        return n

    def clear_unused(self, wanted: Collection[str]) -> int:
        """Throw away whole files that came days ago and that nobody wants.

        Parameters
        ----------
        wanted : collection of str
            Names of files that films or work still need.

        Returns
        -------
        int
            How many there were.
        """
        n = 0
        for path in self.film_folder.glob(f"{NAME}*"):
            with contextlib.suppress(OSError):
                if path.name not in wanted and path.is_file() and self._wall() - path.stat().st_mtime > KEPT_S:
                    path.unlink()
                    n += 1
        return n

    def get(self, id_: str) -> Arrival:
        """One arrival.

        Parameters
        ----------
        id_ : str
            As a browser sent it.

        Returns
        -------
        Arrival
            As it stands.

        Raises
        ------
        NoArrival
            There is none such.
        """
        if not isinstance(id_, str) or not _ID.fullmatch(id_) or not self._folder(id_).is_dir():
            raise NoArrival("this film is not being sent any more; choose its file again to send it anew")
        return self._parcel(id_).read()

    def all(self) -> list[Arrival]:
        """Everything that is being sent.

        Returns
        -------
        list of Arrival
            In no order that means anything.
        """
        found = []
        for folder in self._folders():
            with contextlib.suppress(NoArrival):
                found.append(self._parcel(folder.name).read())
        return found

    def is_coming(self, id_: str) -> bool:
        """Whether a piece of it came within the last minute.

        Parameters
        ----------
        id_ : str
            The arrival's.

        Returns
        -------
        bool
            False after `rest`.
        """
        return self._clock() - self._heard.get(id_, float("-inf")) < RESTS_AFTER_S

    def _take_turn(self, id_: str) -> None:
        others = sum(self.is_coming(one) for one in self._heard if one != id_)
        if others >= MOST_AT_ONCE:
            raise TooManyArrivals(f"{others} films are being sent already; this one waits until one of them is there")
        self._heard[id_] = self._clock()

    def _folders(self) -> list[Path]:
        try:
            return sorted(path for path in (self.film_folder / FOLDER).iterdir() if _ID.fullmatch(path.name))
        except OSError:
            return []

    def _folder(self, id_: str) -> Path:
        return self.film_folder / FOLDER / id_

    def _parcel(self, id_: str) -> Parcel:
        return Parcel(self._folder(id_), self.piece_bytes)

    def _forget(self, id_: str) -> None:
        self._heard.pop(id_, None)
        self._locks.pop(id_, None)
        shutil.rmtree(self._folder(id_), ignore_errors=True)


def suffix_of(name: object, known: frozenset[str]) -> str:
    """The suffix that a sent file gets: its own if that is one of film, else ".mp4"; what it holds is looked at later.

    Parameters
    ----------
    name : object
        What the file is called, as a browser says it.
    known : frozenset of str
        Suffixes of film, as ".mp4".

    Returns
    -------
    str
        One of `known`, or ".mp4".
    """
    found = Path(name[-10:]).suffix.lower() if isinstance(name, str) else ""
    return found if found in known else ".mp4"


def _same(one: Sent, other: Sent) -> bool:
    return (one.size_bytes, one.first_crc, one.last_crc) == (other.size_bytes, other.first_crc, other.last_crc)
