"""Putting a film's packets into an MP4 as they are: no picture is touched, only the wrapping is new.

Sound that a browser can't play is encoded as AAC on the way; sound that it can is copied too.

H.264 with open groups gets a light copy instead: Chromium ends with a decoding error when it seeks to a key frame
whose leading frames refer to what was before it. Matroska stores no decoding times: they are made from the showing
times at the depth that the film's beginning needs. A seek aims at a frame's middle, but no more than 20 ms in:
Chromium seeks by decoding times, and took the end of a long pause for the key frame after it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tagger.film.errors import FilmStopped, FilmTorn, from_os
from tagger.film.index import FrameIndex, build_index, same_times
from tagger.film.order import order_of
from tagger.film.probe import FilmFacts
from tagger.film.sound import sound_stream
from tagger.film.soundtrack import sound_mover
from tagger.film.source import opened, packets_of, picture_stream, time_base
from tagger.film.writer import PartFile
from tagger.progress import Progress, Stop

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
) -> FrameIndex | None:
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
    FrameIndex or None
        The new film's index; None when copying can't give the same frames at the same times (nothing is left
        behind then).

    Raises
    ------
    FilmTorn, FilmStopped, DiskFull
    """
    import av

    file = PartFile(target)
    try:
        with (
            opened(source) as taken,
            av.open(file.begin(), "w", format="mp4", options={"movflags": "+faststart"}) as made,
        ):
            hides = _copy(taken, made, source, facts=facts, index=index, progress=progress, stop=stop)
        result = _checked(file.part, index, hides=hides)
    except _Uncopyable:
        file.drop()
        return None
    except (av.error.FFmpegError, OSError) as error:
        file.drop()
        if isinstance(error, OSError) and not isinstance(error, FilmTorn | FilmStopped):
            raise from_os(error, target) from error
        if isinstance(error, FilmTorn | FilmStopped):
            raise
        return None
    except BaseException:
        file.drop()
        raise
    file.keep()
    return result


def _checked(part: Path, index: FrameIndex, *, hides: bool) -> FrameIndex:
    """The index of what was written, known from the source's; read back where the file hides frames.

    Raises
    ------
    _Uncopyable
        When the file does not hold the same frames at the same times.
    """
    with opened(part) as made:
        stream = picture_stream(made, part)
        base, n_frames = time_base(stream), stream.frames
    first, scale = int(index.pts[0]), index.time_base / base
    if not hides and n_frames == index.n_frames and scale.denominator == 1:
        pts = (index.pts - first) * scale.numerator
        return FrameIndex(pts, index.key, base, (index.end_pts - first) * scale.numerator)
    found = build_index(part)
    if not same_times(index, found):
        raise _Uncopyable
    return found


def _copy(
    taken: InputContainer,
    made: OutputContainer,
    source: Path,
    *,
    facts: FilmFacts,
    index: FrameIndex,
    progress: Progress | None,
    stop: Stop | None,
) -> bool:
    """Copy all packets; whether some of them are hidden by the new file's edit list."""
    picture = picture_stream(taken, source)
    new_picture = made.add_stream_from_template(picture, opaque=True)
    sound = sound_stream(taken)
    no_dts = facts.container in ("mkv", "webm")  # these store none, and made-up ones begin unevenly
    pictures = _PictureCopy(new_picture, index, order_of(source).depth if no_dts else None)
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
    if pictures.shown != index.n_frames:
        raise _Uncopyable
    return pictures.n > pictures.shown


class _PictureCopy:
    """Moves the picture's packets to times that begin with 0 at the first shown frame.

    With a `depth`, decoding times are made: the showing times, so many frames earlier. Without, they are the packets'.
    """

    def __init__(self, new: VideoStream, index: FrameIndex, depth: int | None) -> None:
        self.new = new
        self.index = index
        self.n = self.shown = 0
        self._begun = False
        self._first, self._final = int(index.pts[0]), int(index.pts[-1])
        self._last_dts = -(1 << 62)
        self._depth = depth

    def take(self, packet: Packet) -> bool:
        """Re-time a packet; False when it is to be left out."""
        pts, dts, first = packet.pts, packet.dts, self._first
        if not self._begun:
            if not packet.is_keyframe:
                return False
            self._begun = True
        if pts is None:
            raise _Uncopyable
        if pts < first and not packet.is_discard and not packet.is_keyframe:
            return False  # refers to frames that are not in the file
        if pts > self._final:
            return False
        if self._depth is not None:
            dts = self._made_dts(self._depth)
        if dts is None:
            raise _Uncopyable
        if dts <= self._last_dts:
            dts = self._last_dts + 1
        if dts > pts:
            raise _Uncopyable
        self._last_dts = dts
        self.n += 1
        self.shown += pts >= first
        packet.pts, packet.dts = pts - first, dts - first
        packet.stream = self.new
        return True

    def _made_dts(self, depth: int) -> int:
        at = self.n - depth
        pts = self.index.pts
        if at >= 0:
            return int(pts[min(at, len(pts) - 1)])
        step = int(pts[1] - pts[0]) if len(pts) > 1 else 1
        return int(pts[0]) + at * step
