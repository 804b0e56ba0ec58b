"""A two-hour film: what the process that reads it takes, and what the one that asked for it grows."""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from tagger.film.child import Limits, in_child
from tagger.film.index import FrameIndex, build_index
from tagger.film.loudness import outline_sound
from tagger.film.scan import scan_pictures
from tagger.film.viewing import make_viewing_copy
from tests.bench.figure import Figure, at_most
from tests.bench.heavy import camera_like, looped

NAME = "film-long"
ABOUT = "a two-hour film of small picture: memory of the child that works on it and of its parent (Linux)"


def run() -> list[Figure]:
    """Figures of indexing, looking and listening through, and copying two hours of 320 x 180."""
    if sys.platform != "linux":
        return []
    with tempfile.TemporaryDirectory() as folder:
        minute = Path(folder, "minute.mp4")
        drawn = {"seconds": 60, "size": (320, 180), "rate": 25, "bit_rate": 200_000}
        in_child(camera_like, minute, film=minute, limits=Limits(silence_s=600), **drawn)  # to leave this process small
        film = looped(minute, Path(folder, "two-hours.mp4"), 120)
        before_mb = _memory_mb("VmRSS")
        limits = Limits(silence_s=60)
        begun = time.perf_counter()
        index, peak_mb = in_child(_measured, "index", film, None, film=film, limits=limits, progress=_quiet)
        index_s = time.perf_counter() - begun
        peaks = [peak_mb]
        for work in ("scan", "listen", "copy"):
            _, peak_mb = in_child(_measured, work, film, index, film=film, limits=limits, progress=_quiet)
            peaks.append(peak_mb)
        grown_mb = _memory_mb("VmRSS") - before_mb
    return [
        Figure("index, two hours", index_s, "s"),
        *(
            at_most(f"child's memory: {name}", peak, "MB", 300)
            for name, peak in zip(("index", "scan", "listen", "viewing copy"), peaks, strict=True)
        ),
        at_most("the asking process grew by", grown_mb, "MB", 50),
    ]


def _measured(work: str, film: Path, index: FrameIndex | None, *, progress: object) -> tuple[FrameIndex | None, float]:
    """Do one piece of work; its result if small, and this process's greatest memory (MB)."""
    from tagger.film.index import Progress

    report: Progress = progress  # type: ignore[assignment]
    if index is None:
        return build_index(film, progress=report), _memory_mb("VmHWM")
    if work == "scan":
        scan_pictures(film, index, progress=report)
    elif work == "listen":
        outline_sound(film, index, progress=report)
    else:
        make_viewing_copy(film, film.with_name("copy.mp4"), index=index, progress=report)
    return None, _memory_mb("VmHWM")


def _quiet(done: float, text: str) -> None:
    pass


def _memory_mb(field: str) -> float:
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith(field + ":"):
            return int(line.split()[1]) / 1024
    return 0.0
