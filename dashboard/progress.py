"""Progress of long work on stderr: how far, and how long it still takes."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from types import TracebackType
from typing import TextIO

_TELL_AFTER_S = 1.5
_EVERY_S = {True: 0.1, False: 5.0}


class ProgressLine:
    """Tell how far something is; a line that is written over on a terminal, a line every five seconds elsewhere.

    Use it as a context: at the end the line is cleared, so that what follows stands alone.

    Parameters
    ----------
    what : str
        What is being done.
    out : text stream, optional
        Standard error when left out.
    clock : callable, optional
        Seconds that only grow.
    """

    def __init__(self, what: str, out: TextIO | None = None, clock: Callable[[], float] = time.monotonic) -> None:
        self.what = what
        self._out = out if out is not None else sys.stderr
        self._clock = clock
        self._live = self._out.isatty()
        self._began = clock()
        self._last = self._began - 60 if self._live else self._began
        self._width = 0

    def __enter__(self) -> ProgressLine:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, where: TracebackType | None
    ) -> None:
        if self._width:
            self._out.write("\r" + " " * self._width + "\r")
            self._out.flush()

    def __call__(self, done: float, text: str = "") -> None:
        """Say how far it is.

        Parameters
        ----------
        done : float
            From 0 to 1.
        text : str
            What is being worked on right now.
        """
        now = self._clock()
        if now - self._last < _EVERY_S[self._live]:
            return
        self._last = now
        line = self.line(min(max(done, 0.0), 1.0), text, now - self._began)
        if self._live:
            self._out.write("\r" + line.ljust(self._width))
            self._width = len(line)
        else:
            self._out.write(line + "\n")
        self._out.flush()

    def line(self, done: float, text: str, gone_s: float) -> str:
        """The line as it is shown.

        Parameters
        ----------
        done : float
            From 0 to 1.
        text : str
            What is being worked on.
        gone_s : float
            Seconds since it began.

        Returns
        -------
        str
            With the time left once there is something to go by.
        """
        left = ""
        if gone_s >= _TELL_AFTER_S and 0.01 <= done < 1:
            left = f", about {in_words(gone_s * (1 - done) / done)} left"
        about = f" ({text})" if text else ""
        return f"{self.what}: {done * 100:3.0f} %{left}{about}"


def in_words(seconds: float) -> str:
    """A length of time as people say it, rounded up.

    Parameters
    ----------
    seconds : float
        Not negative.

    Returns
    -------
    str
        "8 s", "3 min", "2 h 05 min".

    Examples
    --------
    >>> in_words(7.2), in_words(150), in_words(7500)
    ('8 s', '3 min', '2 h 05 min')
    """
    if seconds < 90:
        return f"{int(seconds) + (seconds > int(seconds))} s"
    minutes = -int(-seconds // 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"
