"""Writing one MP4 that phones and browsers play: H.264 picture, AAC sound, index in front, nothing personal.

The file is written beside its place under another name and renamed when it is whole, so that a stop, a full
disk or a power cut never leaves half a film under a film's name.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.errors import FilmError, FilmTorn, from_os
from tagger.film.tape import SoundTape
from tagger.written import PART_SUFFIX, begin_part, put_in_place

if TYPE_CHECKING:
    from av.packet import Packet
    from av.video.frame import VideoFrame

MAX_TIMESCALE = 1_000_000


@dataclass(frozen=True)
class PictureSettings:
    """How the picture is encoded.

    `crf` is x264's constant rate factor (0 to 51, lower is better), `gop` the greatest number of frames
    between two that decoding can begin at, `b_frames` how many frames may refer to later ones,
    `max_bit_rate` (bits a second, 0 for none) a ceiling. `tune` is x264's name for what the picture is tuned to, such
    as "fastdecode". `n_threads` (0: as many as there are cores) is a share of the machine.
    """

    crf: int = 21
    preset: str = "veryfast"
    gop: int = 50
    b_frames: int = 2
    max_bit_rate: int = 0
    tune: str = ""
    n_threads: int = 0

    def options(self) -> dict[str, str]:
        """The settings in the encoder's own words."""
        words = {
            "crf": str(self.crf),
            "preset": self.preset,
            "profile": "high",
            "g": str(self.gop),
            "bf": str(self.b_frames),
            "x264-params": "open-gop=0",
        }
        if self.tune:
            words["tune"] = self.tune
        if self.max_bit_rate:
            words["maxrate"] = str(self.max_bit_rate)
            words["bufsize"] = str(self.max_bit_rate * 2)
        return words


def timescale_for(base: Fraction) -> Fraction:
    """A time base that an MP4 can carry: the film's own as `1/n` where that is exact, else 1/90000 s."""
    return Fraction(1, base.denominator) if base.denominator <= MAX_TIMESCALE else Fraction(1, 90_000)


class PartFile:
    """A file that is written under a passing name and takes its own when whole.

    Parameters
    ----------
    target : Path or str
        Where the file shall be.

    Notes
    -----
    The passing name is known to whoever knows the target, so that what a killed process left can be removed.
    """

    def __init__(self, target: Path | str) -> None:
        self.target = Path(target)
        self.part = self.target.with_name(self.target.name + PART_SUFFIX)
        if not self.target.parent.is_dir():
            raise from_os(FileNotFoundError(2, "no such folder"), self.target.parent)
        if self.target.is_dir():
            raise FilmTorn("a folder stands where the film should be written", self.target, "choose another name")

    def begin(self) -> str:
        """Make the file, empty and its owner's only; returns where to write."""
        try:
            begin_part(self.part)
        except OSError as error:
            raise from_os(error, self.target) from error
        return str(self.part)

    def keep(self) -> int:
        """Give the whole file its name; returns its size in bytes."""
        try:
            put_in_place(self.part, self.target)
            return self.target.stat().st_size
        except OSError as error:
            self.drop()
            raise from_os(error, self.target) from error

    def drop(self) -> None:
        """Leave nothing behind."""
        with contextlib.suppress(OSError):
            self.part.unlink(missing_ok=True)


class FilmWriter:
    """Encodes pictures and sound into one MP4.

    Parameters
    ----------
    target : Path or str
        The film to write.
    size : (int, int)
        Width and height, px, both even.
    time_base : Fraction
        Seconds per unit of the pictures' times; `1/n`.
    settings : PictureSettings
    n_channels : {0, 1, 2}
        Channels of sound; 0 for a silent film without a sound track.
    rate_hz : int
        Sound samples a second.
    nominal_rate : Fraction
        About how many pictures a second there will be; a hint for the encoder.
    faststart : bool
        Whether the table of frames goes in front, so that playing can begin before all is there.
    comment : str
        What the file says of itself; nothing when empty.

    Notes
    -----
    A context manager: left by an exception, it leaves no file.
    """

    def __init__(
        self,
        target: Path | str,
        size: tuple[int, int],
        time_base: Fraction,
        settings: PictureSettings,
        *,
        n_channels: int = 2,
        rate_hz: int = 48_000,
        nominal_rate: Fraction = Fraction(25),
        faststart: bool = True,
        comment: str = "",
    ) -> None:
        import av

        self.file = PartFile(target)
        self.time_base = time_base
        self.n_channels = n_channels
        self.n_pictures = 0
        self.size_bytes = 0
        self._last_pts: int | None = None
        self._colours_known = False
        options = {"movflags": "+faststart"} if faststart else {}
        try:
            self._container = av.open(self.file.begin(), "w", format="mp4", options=options)
        except (av.error.FFmpegError, OSError) as error:
            raise from_os(error if isinstance(error, OSError) else OSError(str(error)), self.file.target) from error
        if comment:
            self._container.metadata["comment"] = comment
        picture = self._container.add_stream("libx264", rate=nominal_rate, options=settings.options())
        picture.width, picture.height = size
        picture.pix_fmt = "yuv420p"
        picture.time_base = picture.codec_context.time_base = time_base
        picture.codec_context.thread_type = "AUTO"
        picture.codec_context.thread_count = settings.n_threads
        self._picture = picture
        self._tape = SoundTape(self._container, n_channels=n_channels, rate_hz=rate_hz) if n_channels else None

    def __enter__(self) -> FilmWriter:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            try:
                self._finish()
                return
            except BaseException:
                self._abandon()
                raise
        self._abandon()

    def picture(self, frame: VideoFrame, at: int) -> None:
        """Write one picture, shown from `at` (units of `time_base`); times must rise."""
        if self._last_pts is not None and at <= self._last_pts:
            raise ValueError(f"picture times must rise: {at} after {self._last_pts}")
        if not self._colours_known:
            self._take_colours(frame)
        self._last_pts = at
        frame.pts, frame.time_base = at, self.time_base
        frame.pict_type = 0  # the encoder decides, not the camera
        self._mux(self._picture.encode(frame))
        self.n_pictures += 1

    def sound(self, at_sample: int, samples: NDArray[np.float32]) -> None:
        """Write sound that begins `at_sample` samples after the film's beginning; gaps become silence."""
        if self._tape is not None:
            self._mux(self._tape.lay(at_sample, samples))

    def silence_until(self, at_sample: int) -> None:
        """Make the sound at least this long."""
        if self._tape is not None:
            self._mux(self._tape.silence_until(at_sample))

    def _take_colours(self, frame: VideoFrame) -> None:
        context = self._picture.codec_context
        context.color_range = frame.color_range
        context.colorspace = frame.colorspace
        context.color_primaries = frame.color_primaries
        context.color_trc = frame.color_trc
        self._colours_known = True

    def _mux(self, packets: Sequence[Packet]) -> None:
        import av

        try:
            self._container.mux(packets)
        except (av.error.FFmpegError, OSError) as error:
            raise self._failed(error) from error

    def _failed(self, error: Exception) -> FilmError:
        if isinstance(error, OSError):
            return from_os(error, self.file.target)
        return FilmTorn(f"can't be written ({error})", self.file.target, "choose another place and start again")

    def _finish(self) -> None:
        import av

        try:
            self._mux(self._picture.encode(None))
            if self._tape is not None:
                self._mux(self._tape.finish())
            self._container.close()
        except (av.error.FFmpegError, OSError) as error:
            raise self._failed(error) from error
        self.size_bytes = self.file.keep()

    def _abandon(self) -> None:
        with contextlib.suppress(Exception):
            self._container.close()
        self.file.drop()
