"""Writing film where there is no room for it: what is said, and what is left, at every size that a file can reach."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tagger.film.child import Limits, in_child
from tagger.film.errors import DiskFull, FilmError
from tagger.work.arrivals import Arrivals
from tagger.work.parcel import Sent


@dataclass(frozen=True)
class Tried:
    """What came of one try: the most bytes a file could have, what was said (nothing: it went well), what was left."""

    most_bytes: int
    kind: str
    said: str
    left: tuple[str, ...]
    target_bytes: int

    @property
    def is_half(self) -> bool:
        """Whether something half was left."""
        return bool(self.said) and (bool(self.left) or self.target_bytes >= 0)

    @property
    def is_wrong(self) -> bool:
        """Whether something else than a full disk was blamed."""
        return bool(self.said) and (self.kind != DiskFull.__name__ or "disk is full" not in self.said)


def tries_on(work: Callable[..., Any], target: Path, film: Path, **how: Any) -> Tried:
    """Do film work once, in a process of its own, on whatever disk the target lies on."""
    (tried,) = tries(work, target, film, [1 << 40], **how)
    return tried


def send(source: Path, target: Path) -> None:
    """Send a file to the folder of a target as another device does, and give it the target's name."""
    data = source.read_bytes()
    piece = 16_384
    arrivals = Arrivals(target.parent, piece_bytes=piece)
    last = (len(data) - 1) // piece * piece
    begun = arrivals.begin(Sent(len(data), zlib.crc32(data[:piece]), zlib.crc32(data[last:]), ".mp4", "sent.mp4", {}))
    for at in range(0, len(data), piece):
        arrivals.take(begun.id, at, data[at : at + piece], zlib.crc32(data[at : at + piece]))
    arrivals.finish(begun.id).replace(target)


def tries(work: Callable[..., Any], target: Path, film: Path, most: Sequence[int], **how: Any) -> list[Tried]:
    """Do film work again and again in a process of its own whose files can't grow beyond a size."""
    return in_child(_tried, work, target, list(most), how, film=film, limits=Limits(silence_s=600))


def _tried(work: Callable[..., Any], target: Path, most: list[int], how: dict[str, Any]) -> list[Tried]:
    import resource

    from tagger.film import room

    room.SPARE_BYTES = -(1 << 60)  # nobody looks for room beforehand
    found = []
    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    for most_bytes in most:
        target.unlink(missing_ok=True)
        kind = said = ""
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
        try:
            work(target=target, **how)
        except (FilmError, OSError) as fault:
            kind, said = type(fault).__name__, str(fault)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
        left = tuple(sorted(path.name for path in target.parent.rglob("*.part")))
        found.append(Tried(most_bytes, kind, said, left, target.stat().st_size if target.exists() else -1))
    return found
