"""Looking through a whole film once: black stretches, standing pictures, camera cuts, frames that can't be decoded.

Only every eighth point of the brightness plane is looked at, straight from the decoder's memory, so that the
scan costs little more than decoding. A picture stands still only if nothing in it moves: to a camera that sees a
whole floor, ten players are a few points each and hardly change the picture's mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.errors import FilmStopped, FilmTorn
from tagger.film.index import FrameIndex
from tagger.film.reader import FrameReader
from tagger.progress import Progress, Stop

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

STEP_PX = 8
BLACK_MEAN = 24.0  # of 255; studio black is 16
BLACK_TOP = 40.0
STANDING_CHANGE = 0.12
STANDING_SPOT = 4.0  # frozen pictures of six codecs stay below 2.5 between key frames, play in a wide one is above 40
SPOT_POINTS = 3
REFRESH_CHANGE = 1.0
STANDING_S = 0.4
BLACK_S = 0.1
CUT_CHANGE = 12.0
CUT_RATIO = 2.0

Span = tuple[int, int]


@dataclass(frozen=True, eq=False)
class Scan:
    """What a look through a film found; spans are frames, ends exclusive.

    `change` (float32[n]) is how much each picture differs from the one before it, mean brightness steps of 255.
    `cuts` are frames that begin a new view. `lost` are frames that can't be decoded whole.
    """

    black: tuple[Span, ...]
    standing: tuple[Span, ...]
    cuts: tuple[int, ...]
    lost: tuple[Span, ...]
    change: NDArray[np.float32]


def scan_pictures(
    path: Path | str,
    index: FrameIndex,
    *,
    n_threads: int = 0,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Scan:
    """Decode a film and find what is black, standing, cut or lost.

    Parameters
    ----------
    path : Path or str
        The film.
    index : FrameIndex
        Its frame index.
    n_threads : int
        Threads to work with; 0 for as many as there are cores.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    Scan

    Raises
    ------
    FilmTorn
        When not one frame can be decoded.
    FilmStopped

    Notes
    -----
    A picture stands still where its mean change is small and that of every small spot is too; key frames between such
    pictures count as well, since a codec draws them anew. A cut is a frame whose change is large by itself and
    against the changes on both sides of it; a pan changes every frame alike and is none.
    """
    import cv2

    path = Path(path)
    n = index.n_frames
    if n_threads:
        cv2.setNumThreads(n_threads)
    change = np.zeros(n, dtype=np.float32)
    spot = np.zeros(n, dtype=np.float32)
    black = np.zeros(n, dtype=bool)
    seen = np.zeros(n, dtype=bool)
    with FrameReader(path, index, n_threads=n_threads, strict=True) as reader:
        changes = _Changes()
        for frame, stored in reader.readable():
            seen[frame] = True
            change[frame], spot[frame], black[frame] = changes.of(stored)
            if frame % 32 == 0:
                if stop is not None and stop():
                    raise FilmStopped("looking through the film was stopped", path, "start it again when you like")
                if progress is not None:
                    progress(frame / n, f"frame {frame} of {n}")
    if not seen.any():
        raise FilmTorn("not one of its frames can be decoded", path, "copy it from the camera again")
    step_s = max(1e-3, float(np.median(np.diff(index.pts))) * float(index.time_base)) if n > 1 else 1.0
    standing = seen & (change <= STANDING_CHANGE) & (spot <= STANDING_SPOT) & ~black
    standing[0] = False
    refreshed = index.key & (change <= REFRESH_CHANGE)  # a new key frame may redraw the same picture a little otherwise
    standing[1:-1] |= refreshed[1:-1] & standing[:-2] & standing[2:]
    result = Scan(
        black=_spans(black, round(BLACK_S / step_s)),
        standing=_spans(standing, round(STANDING_S / step_s)),
        cuts=_cuts(change, seen & ~black),
        lost=_spans(~seen, 1),
        change=change,
    )
    if progress is not None:
        progress(1.0, f"{n} frames")
    return result


class _Changes:
    """Compares each picture with the one before."""

    def __init__(self) -> None:
        self._before: NDArray[np.uint8] | None = None

    def of(self, frame: VideoFrame) -> tuple[float, float, bool]:
        """Change from the picture before: its mean, and that of the spot that changed most; and whether it is black."""
        import cv2

        points = luma_points(frame)
        before, self._before = self._before, points
        is_black = bool(points.mean() < BLACK_MEAN and float(np.percentile(points, 99)) < BLACK_TOP)
        if before is None or before.shape != points.shape:
            return 0.0, 0.0, is_black
        off = cv2.absdiff(points, before)
        spots = cv2.boxFilter(off, cv2.CV_32F, (SPOT_POINTS, SPOT_POINTS))
        return float(off.mean()), float(spots.max()), is_black


def luma_points(frame: VideoFrame) -> NDArray[np.uint8]:
    """Every eighth point of a frame's brightness, uint8[h / 8, w / 8]."""
    component = frame.format.components[0]
    step = STEP_PX if min(frame.width, frame.height) >= 16 * STEP_PX else max(1, min(frame.width, frame.height) // 16)
    if not frame.format.is_planar or component.bits not in (8, 10, 12) or frame.format.is_rgb:
        gray = np.asarray(frame.to_ndarray(format="gray"), dtype=np.uint8)
        return np.ascontiguousarray(gray[::step, ::step])
    plane = frame.planes[0]
    if component.bits == 8:
        lines = np.frombuffer(memoryview(plane), dtype=np.uint8).reshape(-1, plane.line_size)
        return np.ascontiguousarray(lines[: frame.height : step, : frame.width : step])
    deep = np.frombuffer(memoryview(plane), dtype=np.uint16).reshape(-1, plane.line_size // 2)
    return (deep[: frame.height : step, : frame.width : step] >> (component.bits - 8)).astype(np.uint8)


def _spans(flags: NDArray[np.bool_], shortest: int) -> tuple[Span, ...]:
    """Runs of true, at least so long."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return tuple((int(a), int(b)) for a, b in edges.reshape(-1, 2) if b - a >= max(1, shortest))


def _cuts(change: NDArray[np.float32], seen: NDArray[np.bool_]) -> tuple[int, ...]:
    n = len(change)
    found = []
    for frame in np.flatnonzero(change >= CUT_CHANGE):
        around = [change[k] for k in (frame - 2, frame - 1, frame + 1, frame + 2) if 0 < k < n]
        if seen[frame] and seen[frame - 1] and change[frame] >= CUT_RATIO * max([*around, 1.0]):
            found.append(int(frame))
    return tuple(found)
