"""Keeps a season's copies while it is served: at the first mark of a day, and at closing when something was tagged.

A copy is made by a process of its own that gives way to everything else, so that no key waits for it. What goes wrong
is said once on the terminal and, until a copy succeeds, on the page; it stops nothing.
"""

from __future__ import annotations

import contextlib
import datetime
import multiprocessing
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tagger.season import Season

CHECK_EVERY_S = 20.0
AGAIN_AFTER = datetime.timedelta(minutes=10)
"""After a copy that failed: the disk may be plugged in, or emptied, meanwhile."""
MOST_S = 600.0
_MEMORY_MB = 2000


class Keeper:
    """Watches one season that is being served.

    Parameters
    ----------
    season : Season
        The open season.
    now : callable, optional
        The wall time.
    make : callable, optional
        Makes a copy of a season's folder as of a time; gives "" or what went wrong.
    every_s : float
        How often it looks whether something was tagged.
    """

    def __init__(
        self,
        season: Season,
        now: Callable[[], datetime.datetime] = datetime.datetime.now,
        make: Callable[[Path, datetime.datetime], str] | None = None,
        every_s: float = CHECK_EVERY_S,
    ) -> None:
        self.season = season
        self.told = ""
        self._now, self._every_s = now, every_s
        self._make = make_apart if make is None else make
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None
        self._seen = self._copied = self._last_seq()
        self._tried = datetime.datetime.min

    def start(self) -> None:
        """Begin to watch, in a thread."""
        self._thread = threading.Thread(target=self._watch, name="copies", daemon=True)
        self._thread.start()

    def copy_if_due(self) -> bool:
        """Keep a copy if something was tagged and this day has none yet.

        Returns
        -------
        bool
            Whether it tried.
        """
        seq, now = self._last_seq(), self._now()
        grown, self._seen = seq != self._seen, seq
        again = bool(self.told) and now - self._tried > AGAIN_AFTER
        if not again and (not grown or f"{now:%Y-%m-%d}" == f"{self._tried:%Y-%m-%d}"):
            return False
        return self._keep(seq, now)

    def close(self) -> None:
        """Stop watching; keep a copy when something was tagged since the last one."""
        self._closing.set()
        if self._thread is not None:
            self._thread.join(MOST_S)
        seq = self._last_seq()
        if seq != self._copied:
            self._keep(seq, self._now())

    def _watch(self) -> None:
        while not self._closing.wait(self._every_s):
            with contextlib.suppress(Exception):  # a database that is gone is noticed by whoever writes to it
                self.copy_if_due()

    def _keep(self, seq: int, now: datetime.datetime) -> bool:
        if self.season.texts.settings.copies.keep < 1:
            return False
        self._tried = now
        fault = self._make(self.season.folder, now)
        if not fault:
            self._copied = seq
        elif fault != self.told:
            print(f"floorbook: no copy of the season was kept: {fault}", file=sys.stderr, flush=True)
        self.told = fault
        return True

    def _last_seq(self) -> int:
        try:
            row = self.season.store.connection().execute("SELECT max(seq) FROM journal").fetchone()
        except Exception:  # damaged, locked or gone: a copy would fail too, and says so
            return -1
        return int(row[0] or 0)


def make_apart(folder: Path, now: datetime.datetime) -> str:
    """Keep a copy, in a process that gives way to everything else.

    Parameters
    ----------
    folder : Path
        The season's folder.
    now : datetime
        The wall time.

    Returns
    -------
    str
        What went wrong, in a line; empty when the copy is there.
    """
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    child = context.Process(target=_child, args=(there, folder, now), daemon=True)
    try:
        child.start()
        there.close()
        told: Any = here.recv() if here.poll(MOST_S) else "it took longer than ten minutes"
    except EOFError:
        told = "the work on it was ended"
    finally:
        here.close()
        if child.pid is not None:
            child.join(0 if sys.exc_info()[0] else 5)
            if child.is_alive():
                child.kill()
                child.join()
    return str(told)


def _child(there: Any, folder: Path, now: datetime.datetime) -> None:
    """The whole life of the process that makes a copy."""
    import signal

    from dashboard.copies.keeping import keep_copy
    from dashboard.errors import is_users, line_of
    from tagger.film.child import Limits, limit_self
    from tagger.texts.folder import read_texts

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C closes the program, which ends this by itself
    limit_self(Limits(memory_mb=_MEMORY_MB, background=True))
    told = ""
    try:
        keep_copy(folder, read_texts(folder).settings, now)
    except Exception as fault:
        told = line_of(fault) if is_users(fault) else f"{type(fault).__name__}: {line_of(fault)}"
    there.send(told)
    there.close()
