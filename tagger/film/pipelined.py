"""Working ahead: one thread decodes while another encodes what is ready."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Generic, TypeVar

Item = TypeVar("Item")

DEPTH = 6
_POLL_S = 0.1


@contextmanager
def pipelined(items: Iterator[Item], *, depth: int = DEPTH) -> Iterator[Iterator[Item]]:
    """Run an iterator in a thread of its own, at most `depth` items ahead.

    Parameters
    ----------
    items : iterator
        Whatever takes time to make; touched by the other thread alone until the block ends.
    depth : int
        How many items may wait.

    Yields
    ------
    iterator
        The same items in the same order; an error in the making is raised where its item would have come.
    """
    line: _Line[Item] = _Line(items, depth)
    line.thread.start()
    try:
        yield line.ready()
    finally:
        line.end()


class _Line(Generic[Item]):
    def __init__(self, items: Iterator[Item], depth: int) -> None:
        self.items = items
        self.waiting: queue.Queue[tuple[str, Item | BaseException | None]] = queue.Queue(depth)
        self.over = threading.Event()
        self.thread = threading.Thread(target=self._run, name="film-ahead", daemon=True)

    def _run(self) -> None:
        try:
            for item in self.items:
                if not self._put(("item", item)):
                    return
        except BaseException as error:  # it belongs to the other side
            self._put(("error", error))
        else:
            self._put(("end", None))

    def _put(self, message: tuple[str, Item | BaseException | None]) -> bool:
        while not self.over.is_set():
            try:
                self.waiting.put(message, timeout=_POLL_S)
            except queue.Full:
                continue
            return True
        return False

    def ready(self) -> Iterator[Item]:
        while True:
            kind, value = self.waiting.get()
            if kind == "end":
                return
            if kind == "error" and isinstance(value, BaseException):
                raise value
            yield value  # type: ignore[misc]

    def end(self) -> None:
        self.over.set()
        self.thread.join()
