"""A film's pictures as they are shown, one after the other, each with the frame that it belongs to."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from tagger.film.index import FrameIndex
from tagger.film.picture import PictureChain
from tagger.film.reader import FrameReader

if TYPE_CHECKING:
    from av.video.frame import VideoFrame


def shown_pictures(
    reader: FrameReader,
    start_frame: int,
    end_frame: int,
    box: tuple[int, int],
    *,
    deinterlace: str = "",
    n_threads: int = 0,
) -> Iterator[tuple[int, Fraction, VideoFrame]]:
    """Decode frames and give their pictures in 8-bit 4:2:0, upright, square pixels, fitted into a box.

    Parameters
    ----------
    reader : FrameReader
        The open film.
    start_frame, end_frame : int
        Which frames; the end is exclusive.
    box : (int, int)
        Width and height of the result, px.
    deinterlace : {"", "frame", "field"}
        With "field" every frame gives two pictures, the second half-way to the next frame.
    n_threads : int
        Threads to work with; 0 for as many as there are cores.

    Yields
    ------
    (int, Fraction, VideoFrame)
        Frame number, time from the film's first frame (s), picture.

    Notes
    -----
    The chain of filters may hold a picture back but never drops one, so pictures and frames are paired by order.
    A frame that can't be decoded is replaced by the one before it; at a torn film's end such frames are left out.
    """
    index = reader.index
    per_frame = 2 if deinterlace == "field" else 1
    chain = PictureChain(
        index.time_base, reader.aspect, deinterlace=deinterlace, box=box, pix_fmt="yuv420p", n_threads=n_threads
    )
    waiting: list[tuple[int, Fraction]] = []
    for frame, stored in reader.filled(start_frame, end_frame):
        waiting += [(frame, time_of(index, frame, part, per_frame)) for part in range(per_frame)]
        for picture in chain.push(stored):
            yield *waiting.pop(0), picture
    for picture in chain.flush():
        if waiting:
            yield *waiting.pop(0), picture


def time_of(index: FrameIndex, frame: int, part: int = 0, per_frame: int = 1) -> Fraction:
    """When a frame, or its `part` of `per_frame` equal ones, is shown: s from the film's first frame, exact."""
    begin = int(index.pts[frame])
    end = int(index.pts[frame + 1]) if frame + 1 < index.n_frames else index.end_pts
    return (begin + Fraction((end - begin) * part, per_frame) - int(index.pts[0])) * index.time_base
