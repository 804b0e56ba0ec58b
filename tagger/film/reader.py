"""Reading frames of a film exactly: seek to a frame that decoding can begin at, decode on, drop by PTS."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

import numpy as np

from tagger.film.errors import BadClip, FilmTorn
from tagger.film.index import FrameIndex
from tagger.film.source import is_counted, opened, packets_of, picture_stream

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.frame import VideoFrame

_PASSING = ("h264", "hevc", "mpeg2video")  # their decoders can leave out frames that none refers to


class FrameReader:
    """An open film, read by frame numbers of its index.

    Parameters
    ----------
    path : Path or str
        The film.
    index : FrameIndex
        Its frame index.
    n_threads : int
        Threads to decode with; 0 for as many as there are cores.
    strict : bool
        Whether frames that decode only with patches over damaged places count as not decodable.

    Notes
    -----
    Use it as a context manager. It is not shared between threads.
    """

    def __init__(self, path: Path | str, index: FrameIndex, *, n_threads: int = 0, strict: bool = False) -> None:
        self.path = Path(path)
        self._strict = strict
        self._n_threads = n_threads
        self.index = index
        self._moved = True
        self._open: AbstractContextManager[InputContainer] | None = None
        self._begin_anew()
        self._counted = is_counted(self._container, self.stream)
        self.aspect = self.stream.sample_aspect_ratio
        self._keys = np.flatnonzero(index.key)

    def __enter__(self) -> FrameReader:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        if self._open is not None:
            self._open.__exit__(None, None, None)
            self._open = None

    def _begin_anew(self) -> None:
        """Stand at the file's first packet. Opening again is the one way that works in every container."""
        if not self._moved:
            return
        self.close()
        self._open = opened(self.path)
        self._container = self._open.__enter__()
        self.stream = picture_stream(self._container, self.path)
        self.stream.thread_type = "AUTO"
        self.stream.codec_context.thread_count = self._n_threads
        if self._strict:
            self.stream.codec_context.options = {**self.stream.codec_context.options, "err_detect": "explode"}
        self._moved = False

    def frames(self, start_frame: int, end_frame: int) -> Iterator[tuple[int, VideoFrame]]:
        """Decode frames `start_frame` to `end_frame` (exclusive), in order.

        Yields
        ------
        (int, VideoFrame)
            Frame number and the stored picture, neither turned nor deinterlaced.

        Raises
        ------
        BadClip
            When the film has no such frames.
        FilmTorn
            When the first of them can't be decoded. Later frames that can't are left out.
        """
        if not 0 <= start_frame < end_frame <= self.index.n_frames:
            wanted = f"frames {start_frame} to {end_frame} were asked for, it has {self.index.n_frames}"
            raise BadClip(wanted, self.path, "index the film again and mark the clip anew")
        for key in self._starting_points(start_frame):
            run = self._decode_from(key, passing_to=int(self.index.pts[start_frame]))
            number, head = next(((number, frame) for number, frame in run if number >= start_frame), (-1, None))
            if head is None or number != start_frame:
                continue  # the seek went too far, or the frame was lost on the way: try from further back
            yield number, head
            if end_frame > start_frame + 1:
                yield from _up_to(run, end_frame)
            return
        at_s = self.index.at_ms(start_frame) / 1000
        raise FilmTorn(
            f"frame {start_frame} (at {at_s:.2f} s) can't be decoded", self.path, "choose a moment beside it"
        )

    def readable(self) -> Iterator[tuple[int, VideoFrame]]:
        """All frames that can be decoded, from the film's beginning on; none has to be."""
        for number, frame in self._decode_from(None):
            if not (self._strict and frame.is_corrupt):
                yield number, frame

    def filled(self, start_frame: int, end_frame: int) -> Iterator[tuple[int, VideoFrame]]:
        """As `frames`, but a frame lost on the way is replaced by the picture before it, so that all are counted."""
        due, held = start_frame, None
        for number, frame in self.frames(start_frame, end_frame):
            while held is not None and due < number:
                yield due, held
                due += 1
            yield number, frame
            due, held = number + 1, frame

    def _starting_points(self, frame: int) -> Iterator[int | None]:
        """PTS to seek to: the key frame at or before, earlier ones, at last the file's beginning (None)."""
        at = int(np.searchsorted(self._keys, frame, side="right")) - 1
        for back in (0, 1, 3):
            if at - back > 0:
                yield int(self.index.pts[self._keys[at - back]])
        yield None

    def _decode_from(self, pts: int | None, *, passing_to: int | None = None) -> Iterator[tuple[int, VideoFrame]]:
        """Decode on from a key frame's PTS, or from the file's beginning; frames with their numbers, rising.

        Frames before `passing_to` that no other frame refers to need not be decoded, and some don't come.
        """
        import av

        if pts is None:
            self._begin_anew()
        else:
            try:
                self._container.seek(pts, stream=self.stream, backward=True, any_frame=False)
            except av.error.FFmpegError:
                return
            self.stream.codec_context.flush_buffers()
        self._moved = True
        passes = pts is not None and not self._counted and self.stream.codec_context.name in _PASSING
        decoded = self._decoded(passing_to if passes else None)
        numbered = self._counting(decoded, from_start=pts is None) if self._counted else self._timed(decoded)
        last = -1
        for number, frame in numbered:
            if number > last:  # a time that comes again in a damaged film is passed over
                yield number, frame
                last = number

    def _decoded(self, passing_to: int | None) -> Iterator[tuple[int | None, VideoFrame]]:
        """Decoded frames, each with the first packet's DTS."""
        import av

        first_dts: int | None = None
        for packet in packets_of(self._container, self.stream):
            if first_dts is None:
                first_dts = packet.dts
            if passing_to is not None:
                passed = packet.pts is not None and packet.pts < passing_to
                self.stream.codec_context.skip_frame = "NONREF" if passed else "DEFAULT"
            try:
                frames = packet.decode()
            except av.error.FFmpegError:
                continue
            for frame in frames:
                yield first_dts, frame

    def _timed(self, decoded: Iterator[tuple[int | None, VideoFrame]]) -> Iterator[tuple[int, VideoFrame]]:
        """Give frames their numbers by their times; what the index does not list is passed over."""
        for _, frame in decoded:
            if frame.pts is not None:
                number = int(np.searchsorted(self.index.pts, frame.pts))
                if number < self.index.n_frames and self.index.pts[number] == frame.pts:
                    yield number, frame

    def _counting(
        self, decoded: Iterator[tuple[int | None, VideoFrame]], *, from_start: bool
    ) -> Iterator[tuple[int, VideoFrame]]:
        """Give frames their numbers by counting on from the key frame that was sought."""
        number = 0 if from_start else -1
        for dts, frame in decoded:
            if number < 0:
                if not frame.key_frame or dts is None:
                    continue
                at = int(np.searchsorted(self.index.pts[self._keys], dts, side="left"))
                if at >= len(self._keys):
                    return
                number = int(self._keys[at])
            if number >= self.index.n_frames:
                return
            yield number, frame
            number += 1


def _up_to(run: Iterator[tuple[int, VideoFrame]], end_frame: int) -> Iterator[tuple[int, VideoFrame]]:
    for number, frame in run:
        if number < end_frame:
            yield number, frame
        if number >= end_frame - 1:
            return
