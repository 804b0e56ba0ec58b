"""The frame index: which frames a film shows, and exactly when.

A frame is known by its place in the order of showing and by its integer presentation time (PTS) in the
stream's own time base. The times come from the packets, not from an average rate: phone and camera film is
often variable. Packets that the file says are not to be shown (edit lists) don't count. Where a file lists its
packets in plain tables (MP4, MOV), those are read instead of the packets: see `sampled.py`.
"""

from __future__ import annotations

import math
import struct
import zlib
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.errors import BadIndex, FilmStopped, FilmTooMuch, FilmTorn
from tagger.film.joined import clock_restarts_after_s
from tagger.film.sample_tables import sampled_packets
from tagger.film.source import all_before_zero, is_counted, opened, packets_of, picture_stream, time_base
from tagger.progress import Progress, Stop

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.stream import VideoStream


MAX_FRAMES = 10_000_000
STRAY_S, STRAY_FRAMES = 600, 12
_MAGIC = b"FBIX\x01"
_HEAD = struct.Struct("<qqqqI")
_STEP = 512
_HEAD_PACKETS = 20
MOST_AT_A_TIME = 3  # two fields of a frame may share a time
READ_THROUGH_BYTES = 8 << 20  # what is so small is read through: that takes no longer than trying its tables


@dataclass(frozen=True, eq=False)
class FrameIndex:
    """The shown frames of one film, in the order of showing.

    Parameters
    ----------
    pts : int64[n]
        Presentation times, rising, in units of `time_base`.
    key : bool[n]
        Whether decoding can begin at this frame.
    time_base : Fraction
        Seconds per unit of `pts`.
    end_pts : int
        When the last frame stops being shown, in units of `time_base`.
    """

    pts: NDArray[np.int64]
    key: NDArray[np.bool_]
    time_base: Fraction
    end_pts: int

    @property
    def n_frames(self) -> int:
        """How many frames the film shows."""
        return len(self.pts)

    @property
    def duration_ms(self) -> int:
        """From the first frame's beginning to the last frame's end, nearest integer ms."""
        return int(_to_ms(np.array([self.end_pts - self.pts[0]]), self.time_base)[0])

    def at_ms(self, frame: int) -> int:
        """Film time of a frame: nearest integer ms from the first shown frame."""
        return int(_to_ms(self.pts[frame : frame + 1] - self.pts[0], self.time_base)[0]) if self._has(frame) else 0

    def all_ms(self) -> NDArray[np.int64]:
        """Film times of all frames, int64[n], ms."""
        return _to_ms(self.pts - self.pts[0], self.time_base)

    def nearest(self, at_ms: int) -> int:
        """The frame whose film time is nearest to `at_ms`; of two equally near ones, the earlier."""
        aim = Fraction(int(at_ms), 1000) / self.time_base + int(self.pts[0])
        after = int(np.searchsorted(self.pts, np.int64(math.floor(aim)), side="right"))
        if after == 0:
            return 0
        if after == self.n_frames:
            return after - 1
        return after - 1 if aim - int(self.pts[after - 1]) <= int(self.pts[after]) - aim else after

    def to_bytes(self) -> bytes:
        """A compact stored form, read back by `from_bytes`."""
        steps = np.diff(self.pts).astype("<i8").tobytes()
        body = zlib.compress(steps + np.packbits(self.key).tobytes(), 6)
        base = self.time_base
        head = _HEAD.pack(self.n_frames, int(self.pts[0]), self.end_pts, base.numerator, base.denominator)
        return _MAGIC + head + struct.pack("<I", zlib.crc32(head + body)) + body

    @classmethod
    def from_bytes(cls, data: bytes) -> FrameIndex:
        """Read what `to_bytes` wrote.

        Raises
        ------
        BadIndex
            When the bytes are not an index, are damaged or of a version not known here.
        """
        start = len(_MAGIC) + _HEAD.size + 4
        if data[: len(_MAGIC)] != _MAGIC or len(data) < start:
            raise BadIndex("these bytes are no frame index of a known version", "frame index", "index the film again")
        head, body = data[len(_MAGIC) : start - 4], data[start:]
        if struct.unpack("<I", data[start - 4 : start])[0] != zlib.crc32(head + body):
            raise BadIndex("the stored frame index is damaged", "frame index", "index the film again")
        n_frames, first, end_pts, numerator, denominator = _HEAD.unpack(head)
        raw = zlib.decompress(body)
        steps = np.frombuffer(raw[: 8 * (n_frames - 1)], dtype="<i8")
        pts = np.concatenate([[first], first + np.cumsum(steps)]).astype(np.int64)
        bits = np.frombuffer(raw[8 * (n_frames - 1) :], dtype=np.uint8)
        key = np.unpackbits(bits, count=n_frames).astype(bool)
        return cls(pts, key, Fraction(numerator, denominator), end_pts)

    def _has(self, frame: int) -> bool:
        if not 0 <= frame < self.n_frames:
            raise IndexError(f"frame {frame} of a film with {self.n_frames} frames")
        return True


def _to_ms(units: NDArray[np.int64], base: Fraction) -> NDArray[np.int64]:
    """Nearest integer ms of whole units; a half rounds up. Exact: in integers, by whole and remaining seconds."""
    per_s_num, per_s_den = base.numerator, base.denominator
    whole, rest = np.divmod(units.astype(np.int64) * per_s_num, per_s_den)
    return whole * 1000 + (rest * 2000 + per_s_den) // (2 * per_s_den)


def build_index(
    path: Path | str, *, n_threads: int = 0, progress: Progress | None = None, stop: Stop | None = None
) -> FrameIndex:
    """List the frames that a film's picture shows, from its tables or from all of its packets.

    Parameters
    ----------
    path : Path or str
        A local film.
    n_threads : int
        Threads to decode with where that is needed; 0 for as many as there are cores.
    progress : callable, optional
        Called with the share done (0 to 1) and a text.
    stop : callable, optional
        Asked now and then; when it says true the work ends with `FilmStopped`.

    Returns
    -------
    FrameIndex

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmTooMuch, FilmStopped

    Notes
    -----
    The first frames of a stream that was cut out of a longer one may refer to frames that are not there; a
    decoder does not show them. So the beginning is decoded, and what it does not show is left out. Where
    packets carry no times (AVI), all frames are decoded and counted instead.
    """
    path = Path(path)
    with opened(path) as container:
        stream = picture_stream(container, path)
        base = time_base(stream)
        counted, n_claimed = is_counted(container, stream), stream.frames
        packets = sampled_packets(path) if path.stat().st_size > READ_THROUGH_BYTES else None
        if packets is None and not counted:
            packets = _read_packets(container, stream, path, progress, stop)
    if packets is not None:
        pts, key, duration = packets
        _refuse_clocks(path, pts, base)
        opens_late = bool(pts[:_HEAD_PACKETS].min() < pts[0])
        n_packets = len(pts)
        pts, key = _in_order(base, pts, key)
        _refuse_one_time(path, n_packets, len(pts))
        pts, key = _without_unshown_head(path, pts, key, opens_late=opens_late, n_threads=n_threads)
    else:
        pts, key, duration = _decode_all(path, progress, stop, counted=counted, n_threads=n_threads)
        n_frames = len(pts)
        pts, key = _in_order(base, pts, key)
        _refuse_one_time(path, n_frames, len(pts))
    if len(pts) == 1:  # of a MOV the library itself passes over what stands at another's time
        _refuse_one_time(path, n_claimed, 1)
    if len(pts) == 0:
        raise FilmTorn("the film holds no frame that can be shown", path, "copy it from the camera again")
    if progress is not None:
        progress(1.0, f"{len(pts)} frames")
    last = duration or (int(np.median(np.diff(pts))) if len(pts) > 1 else max(1, round(1 / (25 * base))))
    return FrameIndex(pts, key, base, int(pts[-1]) + last)


def same_times(one: FrameIndex, other: FrameIndex) -> bool:
    """Whether two indexes list equally many frames at the same times (to half a millisecond)."""
    if one.n_frames != other.n_frames:
        return False
    first, second = one.pts - one.pts[0], other.pts - other.pts[0]
    return bool(np.all(np.abs(first * float(one.time_base) - second * float(other.time_base)) <= 0.0005 + 1e-9))


_Frames = tuple[NDArray[np.int64], NDArray[np.bool_]]
_Columns = tuple[NDArray[np.int64], NDArray[np.bool_], int]


def _read_packets(
    container: InputContainer, stream: VideoStream, path: Path, progress: Progress | None, stop: Stop | None
) -> _Columns | None:
    """PTS and key flag of every packet to be shown, in decoding order, and how long the last one is shown.

    None when packets don't carry their times.
    """
    size = max(1, path.stat().st_size)
    times: list[int] = []
    keys: list[int] = []
    hidden: list[int] = []
    latest, duration = -(1 << 63), 0
    n = 0
    for packet in packets_of(container, stream):
        pts = packet.pts
        if pts is None:
            if packet.size == 0:
                continue
            return None
        if packet.is_keyframe:
            keys.append(n)
        if packet.is_discard:
            hidden.append(n)
        elif pts > latest:
            latest, duration = pts, packet.duration or 0
        times.append(pts)
        n += 1
        if n % _STEP == 0:
            _report(packet.pos or 0, size, n, path, progress, stop)
    if n and n == len(hidden):
        raise all_before_zero(path)
    if n == 0:
        return None
    pts_list = np.array(times, dtype=np.int64)
    _refuse_one_time(path, n, len(np.unique(pts_list)))
    key = np.zeros(n, dtype=bool)
    key[keys] = True
    shown = np.ones(n, dtype=bool)
    shown[hidden] = False
    return pts_list[shown], key[shown], duration


def _refuse_clocks(path: Path, pts: NDArray[np.int64], base: Fraction) -> None:
    at_s = clock_restarts_after_s(pts, base)
    if at_s is not None:
        minutes, seconds = divmod(round(at_s), 60)
        what = f"several recordings in one file: its clock begins anew after {minutes}:{seconds:02d}"
        raise FilmTorn(what, path, "bring in the files as the camera made them, all at once")


def _refuse_one_time(path: Path, n_frames: int, n_times: int) -> None:
    """Refuse a film most of whose frames stand at another's time: no time names them, and no player shows them."""
    if n_times * MOST_AT_A_TIME < n_frames:
        times = "one time" if n_times == 1 else f"{n_times} times"
        what = f"its {n_frames} frames stand at {times} only, one upon the other"
        raise FilmTorn(what, path, "save it anew as H.264 MP4 at a steady frame rate, and use that")


def _report(at: int, size: int, n: int, path: Path, progress: Progress | None, stop: Stop | None) -> None:
    if stop is not None and stop():
        raise FilmStopped("indexing was stopped", path, "start it again when you like")
    if n > MAX_FRAMES:
        raise FilmTooMuch(f"claims more than {MAX_FRAMES} frames", path, "check that this is the film you meant")
    if progress is not None:
        progress(min(1.0, at / size), f"{n} frames")


def _in_order(base: Fraction, pts: NDArray[np.int64], key: NDArray[np.bool_]) -> _Frames:
    order = np.argsort(pts, kind="stable")
    pts, key = pts[order], key[order]
    fresh = np.ones(len(pts), dtype=bool)
    fresh[1:] = np.diff(pts) > 0  # two frames at one time: the later one is never on screen
    fresh[fresh] = _belongs(pts[fresh], base)
    return pts[fresh], key[fresh]


def _belongs(pts: NDArray[np.int64], base: Fraction) -> NDArray[np.bool_]:
    """False for the few frames that a damaged time stamp puts hours away from all others."""
    edges = np.flatnonzero(np.diff(pts) * float(base) > STRAY_S) + 1
    if len(edges) == 0:
        return np.ones(len(pts), dtype=bool)
    groups = np.split(np.arange(len(pts)), edges)
    most = max(len(group) for group in groups)
    return np.concatenate([np.full(len(group), len(group) > STRAY_FRAMES or len(group) == most) for group in groups])


def _without_unshown_head(
    path: Path, pts: NDArray[np.int64], key: NDArray[np.bool_], *, opens_late: bool, n_threads: int
) -> _Frames:
    """Leave out what a decoder, starting at the file's beginning, does not show up to the first key frame.

    `opens_late` says that the first packet is not the first one to be shown.
    """
    keys = np.flatnonzero(key)
    if len(keys) and keys[0] == 0 and pts[0] >= 0 and not opens_late:
        return pts, key
    upto = int(pts[keys[0]]) if len(keys) else int(pts[min(len(pts) - 1, 250)])
    shown = _decode_until(path, upto, n_threads)
    keep = (pts > upto) | np.isin(pts, np.array(sorted(shown), dtype=np.int64))
    return (pts[keep], key[keep]) if keep.any() else (pts, key)


def _decode_until(path: Path, upto: int, n_threads: int) -> set[int]:
    import av

    shown: set[int] = set()
    with opened(path) as container:
        stream = picture_stream(container, path)
        stream.thread_type = "AUTO"
        stream.codec_context.thread_count = n_threads
        for packet in packets_of(container, stream):
            try:
                frames = packet.decode()
            except av.error.FFmpegError:
                continue
            for frame in frames:
                if frame.pts is not None:
                    shown.add(frame.pts)
                    if frame.pts > upto:
                        return shown
    return shown


def _decode_all(path: Path, progress: Progress | None, stop: Stop | None, *, counted: bool, n_threads: int) -> _Columns:
    """All frames as a decoder shows them. If they are `counted`, the n-th one stands at the n-th packet's time."""
    import av

    size = max(1, path.stat().st_size)
    rows: list[tuple[int, bool, int]] = []
    n_shown = 0
    places: list[int] = []
    with opened(path) as container:
        stream = picture_stream(container, path)
        stream.thread_type = "AUTO"
        stream.codec_context.thread_count = n_threads
        for n, packet in enumerate(packets_of(container, stream)):
            if n % 64 == 63:
                _report(packet.pos or 0, size, n, path, progress, stop)
            if packet.size and packet.dts is not None:
                places.append(packet.dts)
            try:
                frames = packet.decode()
            except av.error.FFmpegError:
                continue
            n_shown += len(frames)
            rows += [(f.pts or 0, f.key_frame, f.duration or 0) for f in frames if counted or f.pts is not None]
    if n_shown and not rows:
        raise FilmTorn("not one of its frames carries a time", path, "save it anew as H.264 MP4, and use that")
    if not rows:
        raise FilmTorn("the film holds no frame that can be shown", path, "copy it from the camera again")
    table = np.array(rows, dtype=np.int64)
    if counted:
        table[:, 0] = _counted_times(len(rows), np.array(places, dtype=np.int64))
    return table[:, 0], table[:, 1].astype(bool), int(table[-1, 2])


def _counted_times(n_frames: int, places: NDArray[np.int64]) -> NDArray[np.int64]:
    if len(places) == n_frames and np.all(np.diff(places) > 0):
        return places
    step = max(1, int(np.median(np.diff(places)))) if len(places) > 1 else 1
    return (int(places[0]) if len(places) else 0) + step * np.arange(n_frames, dtype=np.int64)
