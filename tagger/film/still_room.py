"""Stills made in a process of its own that stays: at hand within milliseconds, and no film can harm who asked.

A page asks for many pictures of one film. To start a process for each takes longer than the picture; to decode in the
server's own threads would let a hostile film end the server, and each of its threads would keep the memory of the
largest film it ever opened.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import threading
import time
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from tagger.film.child import START_UP_S, Limits, limit_self
from tagger.film.errors import FilmError, FilmTooMuch, FilmTorn, from_os
from tagger.film.index import FrameIndex

_POLL_S = 0.2
_LATER = "choose a moment beside it; if that fails too, copy the film from the camera again"


class StillRoom:
    """One process that makes stills, started when the first is asked for and anew when a film has brought it down.

    Parameters
    ----------
    limits : Limits
        What it may use; `silence_s` is how long one still may take.
    """

    def __init__(self, limits: Limits | None = None) -> None:
        self.limits = limits or Limits()
        self._one_by_one = threading.Lock()
        self._child: Any = None
        self._here: Connection | None = None

    def jpeg(self, path: Path | str, index: FrameIndex, frame: int, *, width_px: int | None = None) -> bytes:
        """One frame as a JPEG file's bytes; as `tagger.film.still.still_jpeg`.

        Parameters
        ----------
        path : Path or str
            The film.
        index : FrameIndex
            Its frame index.
        frame : int
            Frame number, from 0.
        width_px : int, optional
            Greatest width.

        Returns
        -------
        bytes
            JPEG.

        Raises
        ------
        FilmError
            As `still_jpeg`; `FilmTorn` when the film brought the process down, `FilmTooMuch` when a limit was passed.
        """
        with self._one_by_one:
            kind, value = self._asked((str(path), index, frame, width_px), Path(path))
        if kind == "jpeg" and isinstance(value, bytes):
            return value
        if isinstance(value, FilmError):
            raise value
        raise RuntimeError(f"{Path(path).name}: making a still failed by a fault of floorbook’s own ({value})")

    def close(self) -> None:
        """End the process."""
        with self._one_by_one:
            self._end()

    def _asked(self, asked: tuple[Any, ...], film: Path) -> tuple[str, Any]:
        begun = time.monotonic()
        patience_s = self.limits.silence_s
        if self._child is None or not self._child.is_alive():
            self._begin()
            patience_s += START_UP_S
        here = self._here
        assert here is not None
        try:
            here.send(asked)
            while not here.poll(_POLL_S):
                if time.monotonic() - begun > patience_s:
                    self._end()
                    raise FilmTooMuch(f"one picture of it took longer than {patience_s:.0f} s", film, _LATER)
            answer: tuple[str, Any] = here.recv()
        except (EOFError, OSError):
            code = self._end()
            raise FilmTorn(f"reading this picture brought the reader down (code {code})", film, _LATER) from None
        return answer

    def _begin(self) -> None:
        self._end()
        context = multiprocessing.get_context("spawn")
        self._here, there = context.Pipe()
        self._child = context.Process(target=_make, args=(there, self.limits), name="floorbook-stills", daemon=True)
        self._child.start()
        there.close()

    def _end(self) -> int | None:
        child, self._child = self._child, None
        if self._here is not None:
            self._here.close()
            self._here = None
        if child is None:
            return None
        child.join(_POLL_S)
        code: int | None = child.exitcode
        with contextlib.suppress(Exception):
            child.kill()
        child.join()
        child.close()
        return code


def _make(there: Connection, limits: Limits) -> None:
    """The child's whole life: until nobody asks any more."""
    limit_self(limits)
    from tagger.film.still import still_jpeg

    while True:
        try:
            path, index, frame, width_px = there.recv()
        except (EOFError, OSError, KeyboardInterrupt):
            return
        try:
            answer: tuple[str, Any] = ("jpeg", still_jpeg(path, index, frame, width_px=width_px))
        except FilmError as error:
            answer = ("error", error)
        except MemoryError:
            answer = ("error", FilmTooMuch("reading it needs more memory than a film may", path, _LATER))
        except OSError as error:
            answer = ("error", from_os(error, path))
        except Exception as error:
            answer = ("fault", f"{type(error).__name__}: {error}")
        try:
            there.send(answer)
        except OSError:
            return
