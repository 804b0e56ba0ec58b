"""Threads for requests, in lanes: who reads can't take the thread of who tags.

Python runs one thread at a time, so a lane keeps others' requests apart from tagging's but not their work. Hence more:
a lane has few threads, and a request of another lane is not begun while a key is on its way to the disk.

Waitress stays, since it sends to slow readers without a thread; TLS is a channel of it (`connection.py`), so that
limits and the other end's address are the same.
"""

from __future__ import annotations

import logging
import re
import threading
import time
from collections.abc import Mapping
from contextlib import nullcontext
from typing import Protocol

from waitress.task import ThreadedTaskDispatcher

from dashboard.serving.turns import Turns

KEYS, TAGGING, FILM, SENDING, DOOR, FILES, PAGES, REST = (
    "keys",
    "tagging",
    "film",
    "sending",
    "door",
    "files",
    "pages",
    "rest",
)
N_THREADS: Mapping[str, int] = {KEYS: 2, TAGGING: 2, FILM: 3, SENDING: 2, DOOR: 1, FILES: 1, PAGES: 6, REST: 2}
IN_TURN = frozenset({PAGES})
LATELY_S, MOST_REST_S = 2.0, 0.02
MOST_WAIT_S = 0.05

_KEY = re.compile(r"/tag/[^/]*/entries\Z")
_BY_START = (
    ("/tag/", TAGGING),
    ("/film/", FILM),
    ("/films", SENDING),
    ("/send", SENDING),
    ("/enter", DOOR),
    ("/doors", DOOR),
    ("/screen/", FILES),
    ("/assets/", FILES),
    ("/_dash-component-suites/", FILES),
    ("/_favicon", FILES),
    ("/_dash-update-component", PAGES),
)


class Request(Protocol):
    """What waitress knows of a request before it is answered."""

    path: str
    command: str


class Task(Protocol):
    """A connection with a request to answer."""

    requests: list[Request]

    def service(self) -> None:
        """Answer it."""
        ...

    def cancel(self) -> None:
        """Don't."""
        ...


def lane_of(command: str, path: str) -> str:
    """Which lane a request goes by.

    Parameters
    ----------
    command : str
        GET, POST and so on.
    path : str
        Of its address.

    Returns
    -------
    str
        One of `N_THREADS`.
    """
    if command == "POST" and _KEY.match(path):
        return KEYS
    return next((lane for start, lane in _BY_START if path.startswith(start)), REST)


class Lanes:
    """Gives each request to a thread of its lane; what waitress calls a task dispatcher.

    Parameters
    ----------
    n_threads : mapping of str to int
        Lane → threads.
    """

    def __init__(self, n_threads: Mapping[str, int] = N_THREADS) -> None:
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # that readers wait in line is meant
        self._keys = Quiet()
        self._turns = Turns()
        self._lanes: dict[str, ThreadedTaskDispatcher] = {}
        for name, n in n_threads.items():
            self._lanes[name] = ThreadedTaskDispatcher()
            self._lanes[name].set_thread_count(n)

    def add_task(self, task: Task) -> None:
        """Put a connection with a request in line.

        Parameters
        ----------
        task : Task
            The connection.
        """
        request = task.requests[0]
        lane = lane_of(str(getattr(request, "command", "")), str(getattr(request, "path", "")))
        if lane == KEYS:
            task = _Key(task, self._keys)
        else:
            task = _Other(task, self._keys, self._turns if lane in IN_TURN else None)
        self._lanes[lane].add_task(task)

    def shutdown(self, cancel_pending: bool = True, timeout: float = 5) -> bool:
        """End all threads.

        Parameters
        ----------
        cancel_pending : bool
            Whether requests still in line are dropped.
        timeout : float
            Seconds that those being answered may take.

        Returns
        -------
        bool
            Whether what was pending is dropped.
        """
        for lane in self._lanes.values():
            lane.set_thread_count(0)
        dropped = [lane.shutdown(cancel_pending, timeout) for lane in self._lanes.values()]
        return all(dropped)


class Quiet:
    """Whether keys are on their way to the disk."""

    def __init__(self) -> None:
        self._n = 0
        self._last = -LATELY_S
        self._changed = threading.Condition()

    def begin(self) -> None:
        """One has come in."""
        with self._changed:
            self._n += 1

    def end(self) -> None:
        """It is answered."""
        with self._changed:
            self._n -= 1
            self._last = time.monotonic()
            if not self._n:
                self._changed.notify_all()

    def were_lately(self) -> bool:
        """Whether somebody is tagging.

        Returns
        -------
        bool
            True for a while after each key.
        """
        return time.monotonic() - self._last < LATELY_S

    def wait(self) -> None:
        """Let them pass; keys without end hold nobody up for long."""
        with self._changed:
            self._changed.wait_for(lambda: not self._n, MOST_WAIT_S)


class _Key:
    """A request that puts marks on the disk."""

    def __init__(self, task: Task, keys: Quiet) -> None:
        self._task, self._keys = task, keys
        self.requests = task.requests
        keys.begin()

    def service(self) -> None:
        try:
            self._task.service()
        finally:
            self._keys.end()

    def cancel(self) -> None:
        self._keys.end()
        self._task.cancel()


class _Other:
    """Any other: begins when no key is on its way, and where it is of a lane that goes in turn, when it is its turn."""

    def __init__(self, task: Task, keys: Quiet, turns: Turns | None) -> None:
        self._task, self._keys, self._turns = task, keys, turns
        self.requests = task.requests

    def service(self) -> None:
        with self._turns.taken() if self._turns else nullcontext():
            self._keys.wait()
            start = time.monotonic()
            self._task.service()
            if self._turns and self._keys.were_lately():  # half of the time is left to keys, however many read
                time.sleep(min(time.monotonic() - start, MOST_REST_S))

    def cancel(self) -> None:
        self._task.cancel()
