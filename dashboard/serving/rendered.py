"""Answers that cost much, worked out once for all who ask for the same while the season stands as it did.

One is worked out at a time: Python runs one thread at a time anyway, and each more would be one more that a key has to
wait for. Where another is being worked out already, an answer given meanwhile may lack the last minute's marks:
forty readers before a game that is being tagged would else wait for each other at every key. Of anything else that
changed (a text, a game, a film, the book that is counted) nothing older is given.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dashboard.serving.turns import aside

if TYPE_CHECKING:
    from dashboard.season_state import SeasonState

OLDEST_S = 60.0
WANTED_S = 1.0
MOST_BYTES = 64 * 1024 * 1024


@dataclass(frozen=True)
class Held:
    """An answer, how the season stood when it was begun, and when that was."""

    data: bytes
    state: SeasonState
    begun_at: float


class Rendered:
    """Keeps answers.

    Parameters
    ----------
    state : callable
        How the season stands.
    clock : callable, optional
        Seconds that only grow.
    most_bytes : int
        How much is kept.
    """

    def __init__(
        self,
        state: Callable[[], SeasonState],
        clock: Callable[[], float] = time.monotonic,
        most_bytes: int = MOST_BYTES,
    ) -> None:
        self._state = state
        self._clock = clock
        self._most_bytes = most_bytes
        self._guard = threading.Lock()
        self._working = threading.Lock()
        self._n_in_line = 0
        self._held: OrderedDict[Hashable, Held] = OrderedDict()
        self._n_bytes = 0
        self._wanted: dict[Hashable, tuple[float, float]] = {}  # asked for in vain: when, and of when what there is

    def answer(self, key: Hashable, make: Callable[[], bytes | None]) -> bytes | None:
        """The answer to a request, from before where nothing changed.

        Parameters
        ----------
        key : hashable
            What was asked, and by whom as far as the answer depends on it; None where it is not to be kept.
        make : callable
            Works the answer out; None where it is not to be kept.

        Returns
        -------
        bytes or None
            As `make` gave it.
        """
        held = self._find(key, in_crowd=True)
        if held is not None:
            return held.data
        with self._in_line():
            held = self._find(key, in_crowd=False)  # whoever was before may have asked for the same
            if held is not None:
                return held.data
            state, begun_at = self._state(), self._clock()
            data = make()
            if data is not None and key is not None:
                self._keep(key, Held(data, state, begun_at))
            return data

    @contextmanager
    def _in_line(self) -> Iterator[None]:
        """Alone, after whoever came before; nobody who has something older to show goes in between."""
        with self._guard:
            self._n_in_line += 1
        try:
            with aside(), self._working:
                yield
        finally:
            with self._guard:
                self._n_in_line -= 1

    def _find(self, key: Hashable, *, in_crowd: bool) -> Held | None:
        with self._guard:
            held = self._held.get(key)
            if held is None:
                return None
            self._held.move_to_end(key)
        now = self._state()
        if not held.state.same_but_for_marks(now):
            return None
        if held.state.seq == now.seq:
            return held
        return held if in_crowd and self._clock() - held.begun_at < OLDEST_S and self._must_wait(key, held) else None

    def _must_wait(self, key: Hashable, held: Held) -> bool:
        """Whether another is being worked out, or one that was asked for in vain just now is older than this one."""
        now = self._clock()
        with self._guard:
            self._wanted = {one: at for one, at in self._wanted.items() if now - at[0] < WANTED_S}
            waits = bool(self._n_in_line) or any(begun_at < held.begun_at for _, begun_at in self._wanted.values())
            if waits:
                self._wanted[key] = (now, held.begun_at)
            return waits

    def _keep(self, key: Hashable, one: Held) -> None:
        with self._guard:
            older = self._held.pop(key, None)
            self._n_bytes += len(one.data) - (len(older.data) if older else 0)
            self._held[key] = one
            self._wanted.pop(key, None)
            while self._n_bytes > self._most_bytes:
                _, gone = self._held.popitem(last=False)
                self._n_bytes -= len(gone.data)
