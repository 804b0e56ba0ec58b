"""Whose turn it is: of the threads that answer pages one works at a time, and one that has to wait lets others pass.

Each thread that wants to work is one more that a key's thread shares the interpreter with, many times for each key.
Several threads are there nonetheless, since one may wait for what another works out.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

_of_thread = threading.local()


class Turns:
    """One turn for all who ask."""

    def __init__(self) -> None:
        self._turn = threading.Lock()

    @contextmanager
    def taken(self) -> Iterator[None]:
        """Work in a block when it is one's turn.

        Yields
        ------
        None
            When it is.
        """
        with self._turn:
            _of_thread.turn = self._turn
            try:
                yield
            finally:
                del _of_thread.turn


@contextmanager
def aside() -> Iterator[None]:
    """Let others have this thread's turn for a block, where it has one.

    Yields
    ------
    None
        At once.
    """
    turn: threading.Lock | None = getattr(_of_thread, "turn", None)
    if turn is None:
        yield
        return
    turn.release()
    try:
        yield
    finally:
        turn.acquire()
