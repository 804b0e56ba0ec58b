"""Who is tagging a game just now, in which book, and which team's marks each has agreed to take.

Pages say so of themselves whenever they ask for new entries. It is kept in memory only: an agreement between two people
in one room, not a fact of the game; whose mark a mark is stands in its entry.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

TAKES = ("both", "ours", "theirs")
HERE_S = 12.0
_KEPT_S = 3 * 3600.0
_MOST = 64  # people of one game that are remembered


class People:
    """The people at one season's games.

    Parameters
    ----------
    clock : callable, optional
        Seconds that only grow.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._guard = threading.Lock()
        self._seen: dict[str, dict[tuple[str, str], tuple[str, float]]] = {}

    def others(self, game: str, book: str, by: str, takes: str) -> list[dict[str, Any]]:
        """Note that somebody is here, and say who else is.

        Parameters
        ----------
        game : str
            Id of the game.
        book : str
            The book he tags in.
        by : str
            His name; empty notes nobody.
        takes : str
            One of TAKES.

        Returns
        -------
        list of dict
            `by`, `book`, `takes`, and `here`: whether the page asked within the last HERE_S. In order of names; who was
            not seen for three hours is left out.
        """
        now = self._clock()
        with self._guard:
            at_game = self._seen.setdefault(game, {})
            for gone in [who for who, (_, when) in at_game.items() if now - when > _KEPT_S]:
                del at_game[gone]
            if by and (len(at_game) < _MOST or (book, by) in at_game):
                at_game[book, by] = (takes, now)
            return [
                {"by": other, "book": its, "takes": taken, "here": now - when <= HERE_S}
                for (its, other), (taken, when) in sorted(at_game.items())
                if (its, other) != (book, by)
            ]
