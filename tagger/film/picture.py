"""From a decoded frame to the picture as it is shown: upright, square pixels, one moment in time.

A chain of filters does the work without leaving the decoder's own pixel format. It is built from the first
frame and built anew when a film changes its picture size on the way.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.probe import rotation_of, shown_size

if TYPE_CHECKING:
    from av.filter.context import FilterContext
    from av.video.frame import VideoFrame

_TURNS = {90: ["transpose=clock"], 180: ["hflip", "vflip"], 270: ["transpose=cclock"]}


class PictureChain:
    """Turns decoded frames into shown pictures.

    Parameters
    ----------
    time_base : Fraction
        Seconds per unit of the frames' PTS.
    aspect : Fraction or None
        Width of a stored pixel by its height.
    deinterlace : {"", "frame", "field"}
        Not at all, one picture a frame, or one picture a field (twice as many).
    box : (int, int), optional
        Width and height (px) to fit the picture into, with black bars where its shape differs.
    height_px : int, optional
        Height to bring the picture to, its width following (even). Ignored with `box`.
    pix_fmt : str, optional
        Pixel format of the result; the stored one by default.
    n_threads : int
        Threads to work with; 0 for as many as there are cores.
    """

    def __init__(
        self,
        time_base: Fraction,
        aspect: Fraction | None = None,
        *,
        deinterlace: str = "",
        box: tuple[int, int] | None = None,
        height_px: int | None = None,
        pix_fmt: str | None = None,
        n_threads: int = 0,
    ) -> None:
        self.time_base = time_base
        self.aspect = aspect
        self.deinterlace = deinterlace
        self.box = box
        self.height_px = height_px
        self.pix_fmt = pix_fmt
        self.n_threads = n_threads
        self._shape: tuple[int, int, str, int] | None = None
        self._ends: tuple[FilterContext, FilterContext] | None = None
        self._graph: object = None

    def push(self, frame: VideoFrame) -> Iterator[VideoFrame]:
        """Take one decoded frame; give the pictures that are ready, in order."""
        shape = (frame.width, frame.height, frame.format.name, rotation_of(frame))
        if shape != self._shape:
            if self._ends is not None:
                yield from self.flush()
            self._build(frame, shape)
        if self._ends is not None:
            self._ends[0].push(frame)
            yield from self._pull()

    def flush(self) -> Iterator[VideoFrame]:
        """Give what is still inside; the chain starts anew afterwards."""
        if self._ends is not None:
            self._ends[0].push(None)
            yield from self._pull()
        self._shape = self._ends = self._graph = None

    def _pull(self) -> Iterator[VideoFrame]:
        import av

        if self._ends is None:
            return
        while True:
            try:
                picture = self._ends[1].pull()
            except (av.error.BlockingIOError, av.error.EOFError):
                return
            if isinstance(picture, av.VideoFrame):
                yield picture

    def _build(self, frame: VideoFrame, shape: tuple[int, int, str, int]) -> None:
        from av.filter import Graph

        graph = Graph()
        graph.threads = self.n_threads
        aspect = self.aspect if self.aspect and self.aspect > 0 else Fraction(1)
        base = self.time_base
        source = graph.add(
            "buffer",
            f"video_size={frame.width}x{frame.height}:pix_fmt={frame.format.name}"
            f":time_base={base.numerator}/{base.denominator}:pixel_aspect={aspect.numerator}/{aspect.denominator}"
            f":colorspace={frame.colorspace}:range={frame.color_range}",
        )
        nodes = [source]
        for step in self._steps(frame, aspect, shape[3]):
            name, _, args = step.partition("=")
            nodes.append(graph.add(name, args or None))
        nodes.append(graph.add("buffersink"))
        graph.link_nodes(*nodes)
        graph.configure()
        self._shape, self._ends, self._graph = shape, (nodes[0], nodes[-1]), graph

    def _steps(self, frame: VideoFrame, aspect: Fraction, rotation: int) -> list[str]:
        steps = []
        if self.deinterlace:
            steps.append(f"bwdif=mode=send_{self.deinterlace}:parity=auto:deint=all")
        steps += _TURNS.get(rotation, [])
        width, height = shown_size(frame, aspect)
        if self.box is not None:
            inner = fit((width, height), self.box)
            steps.append(f"scale={inner[0]}:{inner[1]}:flags=bicubic")
            left, top = (self.box[0] - inner[0]) // 4 * 2, (self.box[1] - inner[1]) // 4 * 2
            if inner != self.box:
                steps.append(f"pad={self.box[0]}:{self.box[1]}:{left}:{top}:black")
        elif self.height_px is not None:
            steps.append(f"scale={even(width * self.height_px / height)}:{self.height_px}:flags=bicubic")
        elif aspect != 1:
            steps.append(f"scale={width}:{height}:flags=bicubic")
        if self.pix_fmt is not None:
            steps.append(f"format={self.pix_fmt}")
        steps.append("setsar=1")
        return steps


def rgb(picture: VideoFrame) -> NDArray[np.uint8]:
    """A picture as uint8[height, width, 3], RGB."""
    return np.asarray(picture.to_ndarray(format="rgb24"), dtype=np.uint8)


def even(size: float | Fraction) -> int:
    """The nearest even number of pixels, at least 2; common encoders halve the colour planes."""
    return max(2, round(size / 2) * 2)


def fit(size: tuple[int, int], box: tuple[int, int]) -> tuple[int, int]:
    """The largest even width and height (px) of a picture of `size`'s shape inside `box`."""
    share = min(Fraction(box[0], size[0]), Fraction(box[1], size[1]))
    return min(box[0], even(size[0] * share)), min(box[1], even(size[1] * share))
