"""Waiting for files that are still being copied: they are looked at again once they have stood still for a while."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from tagger.progress import Progress

QUIET_S = 3.0
_TURN_S = 0.5

Brought = TypeVar("Brought")


class CopyWatch:
    """Files that are waited for.

    Parameters
    ----------
    paths : sequence of Path
        The files.
    clock : callable, optional
        Seconds that only grow.
    """

    def __init__(self, paths: Sequence[Path], *, clock: Callable[[], float] = time.monotonic) -> None:
        self.paths = tuple(paths)
        self._clock = clock
        self._seen = self._stands()
        self._since = clock()

    def changed(self) -> bool:
        """Look how they stand.

        Returns
        -------
        bool
            Whether one of them changed since the last look.
        """
        seen = self._stands()
        if seen == self._seen:
            return False
        self._seen, self._since = seen, self._clock()
        return True

    @property
    def ready(self) -> bool:
        """Whether none of them has changed for a while."""
        return self._clock() - self._since >= QUIET_S

    def _stands(self) -> list[tuple[int, int] | None]:
        return [_stand(path) for path in self.paths]


def patiently(
    bring: Callable[[], Brought], paths: Sequence[Path], *, tell: Progress, rest: Callable[[float], None] = time.sleep
) -> Brought:
    """Do something with files as soon as they are all there.

    Parameters
    ----------
    bring : callable
        What to do; done again after `StillCopied`.
    paths : sequence of Path
        The files.
    tell : callable
        Told the share (0, since nobody knows it) and how much is there.
    rest : callable
        How to wait some seconds.

    Returns
    -------
    object
        What `bring` returned.

    Raises
    ------
    tagger.film.errors.FilmError
        Whatever else `bring` raised. A file that stands still is not waited for without end: `bring` itself says
        after half a minute that it is torn.
    """
    from tagger.film.errors import StillCopied
    from tagger.film.still_copied import still_copied

    while True:
        try:
            return bring()
        except StillCopied as coming:
            line, late = str(coming), coming.path
        watch = CopyWatch(paths)
        while not watch.ready:
            tell(0.0, f"{line}; Ctrl-C ends")
            rest(_TURN_S)
            if watch.changed():
                line = str(still_copied(late))


def _stand(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except (OSError, ValueError):
        return None
    return found.st_size, found.st_mtime_ns
