"""One server a season: a lock on a file that the operating system lets go when the process ends, however it ends."""

from __future__ import annotations

import os
from pathlib import Path
from typing import IO


class SeasonLocked(RuntimeError):
    """Another floorbook serves this season."""


class SeasonLock:
    """Hold a season folder for this process.

    Parameters
    ----------
    folder : Path
        The season's folder.
    name : str
        Which of its locks.

    Raises
    ------
    SeasonLocked
        Somebody else holds it.
    """

    def __init__(self, folder: Path, name: str = "season.lock") -> None:
        self.path = folder / name
        self._file: IO[bytes] | None = self.path.open("a+b")
        try:
            _lock(self._file)
        except OSError:
            self._file.close()
            self._file = None
            raise SeasonLocked(
                f"{folder}: another floorbook has this season open; use that one's page, or close it first"
            ) from None

    def release(self) -> None:
        """Let the season go; harmless when it is free already."""
        if self._file is not None:
            self._file.close()
            self._file = None


def _lock(file: IO[bytes]) -> None:
    if os.name == "nt":
        import msvcrt

        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
    else:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
