"""Putting a film's packets into an MP4 as they are: no picture is touched, only the wrapping is new.

Sound that a browser can't play is encoded as AAC on the way; sound that it can is copied too.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tagger.film.errors import FilmStopped, FilmTorn, from_os
from tagger.film.index import FrameIndex, Progress, Stop
from tagger.film.probe import FilmFacts
from tagger.film.sound import sound_stream
from tagger.film.soundtrack import sound_mover
from tagger.film.source import opened, packets_of, picture_stream
from tagger.film.writer import PartFile

if TYPE_CHECKING:
    from av.container import InputContainer, OutputContainer
    from av.packet import Packet
    from av.stream import Stream
    from av.video.stream import VideoStream

_EVERY = 32


class _Uncopyable(Exception):
    """The packets can't be copied with sound times; the film has to be encoded."""


def repack(
    source: Path,
    target: Path,
    facts: FilmFacts,
    index: FrameIndex,
    *,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> int:
    """Copy a film's packets into an MP4 whose first shown frame stands at time 0.

    Parameters
    ----------
    source, target : Path
        The film, and the MP4 to write.
    facts : FilmFacts
        The source's facts.
    index : FrameIndex
        The source's index: packets before its first frame that decoding does not need are left out.
    progress, stop : callable, optional
        As in `tagger.film.cut.write_reel`.

    Returns
    -------
    int
        Size in bytes, or 0 when the packets' times can't be carried over (nothing is left behind then).

    Raises
    ------
    FilmTorn, FilmStopped, DiskFull
    """
    import av

    file = PartFile(target)
    try:
        with (
            opened(source) as taken,
            av.open(str(file.part), "w", format="mp4", options={"movflags": "+faststart"}) as made,
        ):
            _copy(taken, made, source, facts, index, progress, stop)
    except _Uncopyable:
        file.drop()
        return 0
    except (av.error.FFmpegError, OSError) as error:
        file.drop()
        if isinstance(error, OSError) and not isinstance(error, FilmTorn | FilmStopped):
            raise from_os(error, target) from error
        if isinstance(error, FilmTorn | FilmStopped):
            raise
        return 0
    except BaseException:
        file.drop()
        raise
    return file.keep()


def _copy(
    taken: InputContainer,
    made: OutputContainer,
    source: Path,
    facts: FilmFacts,
    index: FrameIndex,
    progress: Progress | None,
    stop: Stop | None,
) -> None:
    picture = picture_stream(taken, source)
    new_picture = made.add_stream_from_template(picture, opaque=True)
    sound = sound_stream(taken)
    pictures = _PictureCopy(picture, new_picture, index)
    sounds = None if sound is None else sound_mover(sound, made, facts, index)
    streams: list[Stream] = [picture] if sound is None else [picture, sound]
    n = 0
    for packet in packets_of(taken, *streams):
        n += 1
        if n % _EVERY == 0:
            if stop is not None and stop():
                raise FilmStopped("repacking was stopped", source, "nothing was written; start it again when you like")
            if progress is not None:
                progress(min(1.0, (packet.pos or 0) / max(1, facts.size_bytes)), "repacking")
        if packet.size == 0:
            continue
        if packet.stream_index == picture.index:
            if pictures.take(packet):
                made.mux_one(packet)
        elif sounds is not None:
            for ready in sounds.take(packet):
                made.mux_one(ready)
    if sounds is not None:
        for ready in sounds.rest():
            made.mux_one(ready)
    if pictures.n == 0:
        raise _Uncopyable


class _PictureCopy:
    """Moves the picture's packets to times that begin with 0 at the first shown frame."""

    def __init__(self, stream: VideoStream, new: VideoStream, index: FrameIndex) -> None:
        self.new = new
        self.index = index
        self.n = 0
        self._begun = False
        self._last_dts: int | None = None
        self._depth = max(0, stream.codec_context.has_b_frames or 0)

    def take(self, packet: Packet) -> bool:
        """Re-time a packet; False when it is to be left out."""
        first = int(self.index.pts[0])
        if not self._begun:
            if not packet.is_keyframe:
                return False
            self._begun = True
        if packet.pts is None:
            raise _Uncopyable
        if packet.pts < first and not packet.is_discard and not packet.is_keyframe:
            return False  # refers to frames that are not in the file
        if packet.pts > int(self.index.pts[-1]):
            return False
        dts = packet.dts if packet.dts is not None else self._made_dts()
        if self._last_dts is not None and dts <= self._last_dts:
            dts = self._last_dts + 1
        if dts > packet.pts:
            raise _Uncopyable
        self._last_dts = dts
        self.n += 1
        packet.pts, packet.dts = packet.pts - first, dts - first
        packet.stream = self.new
        return True

    def _made_dts(self) -> int:
        """Decoding times for a container that stores none: the showing times, `depth` frames earlier."""
        at = self.n - self._depth
        pts = self.index.pts
        if at >= 0:
            return int(pts[min(at, len(pts) - 1)])
        step = int(pts[1] - pts[0]) if len(pts) > 1 else 1
        return int(pts[0]) + at * step
