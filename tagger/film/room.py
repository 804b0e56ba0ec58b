"""Room on the disk: said before work begins, and checked."""

from __future__ import annotations

import shutil
from pathlib import Path

from tagger.film.errors import DiskFull, from_os

SPARE_BYTES = 200_000_000


def check_room(target: Path | str, need_bytes: int) -> None:
    """Refuse work that would fill the disk.

    Parameters
    ----------
    target : Path or str
        The file to be written.
    need_bytes : int
        How large it will be, at most.

    Raises
    ------
    DiskFull
        With what is needed and what is free; 200 MB are left for everything else.
    """
    target = Path(target)
    try:
        free_bytes = shutil.disk_usage(target.parent).free
    except OSError as error:
        raise from_os(error, target.parent) from error
    if need_bytes + SPARE_BYTES > free_bytes:
        raise DiskFull(
            f"needs up to {spoken_bytes(need_bytes)}, and only {spoken_bytes(free_bytes)} are free",
            target,
            "make room or choose another disk",
        )


def spoken_bytes(n_bytes: int) -> str:
    """A size as people say it, e.g. '3.2 GB'."""
    for unit, size in (("GB", 10**9), ("MB", 10**6)):
        if n_bytes >= size:
            return f"{n_bytes / size:.1f} {unit}"
    return f"{max(1, round(n_bytes / 1000))} kB"
