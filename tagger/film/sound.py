"""Reading a film's sound at known times."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.source import opened, packets_of, time_base

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer

RATE_HZ = 48_000
PREROLL_S = Fraction(1, 4)
GAP_S = Fraction(1, 100)

TimedSamples = tuple[Fraction, NDArray[np.float32]]


def sound_stream(container: InputContainer) -> AudioStream | None:
    """The film's sound, or None where there is none or it can't be decoded."""
    for stream in container.streams.audio:
        if stream.codec_context is not None and stream.codec_context.sample_rate and stream.time_base:
            return stream
    return None


class Resampling:
    """Brings decoded sound to one rate and number of channels, keeping its times.

    Notes
    -----
    Sound that follows on within 10 ms of where it is due is taken as continuous (containers round times, clocks
    drift); a longer step begins anew at its own time.
    """

    def __init__(self, *, rate_hz: int = RATE_HZ, n_channels: int = 2) -> None:
        self.rate_hz = rate_hz
        self.layout = "stereo" if n_channels == 2 else "mono"
        self._shape: tuple[int, str, str] | None = None
        self._resampler: object = None
        self._origin_s = self._due_s = Fraction(0)
        self._n_out = 0

    def push(self, frame: AudioFrame) -> Iterator[TimedSamples]:
        """Take a decoded frame; give (time of the first sample in s, float32[n_channels, n]) as far as ready."""
        from av import AudioResampler

        if frame.pts is None or frame.sample_rate < 1 or frame.samples < 1:
            return
        time_s = frame.pts * time_base(frame)
        shape = (frame.sample_rate, frame.format.name, frame.layout.name)
        if shape != self._shape or abs(time_s - self._due_s) > GAP_S:
            yield from self.flush()
            self._resampler = AudioResampler(format="fltp", layout=self.layout, rate=self.rate_hz)
            self._shape, self._origin_s, self._due_s, self._n_out = shape, time_s, time_s, 0
        self._due_s += Fraction(frame.samples, frame.sample_rate)
        yield from self._through(frame)

    def flush(self) -> Iterator[TimedSamples]:
        """Give what is still inside."""
        if self._resampler is not None:
            yield from self._through(None)
            self._resampler = self._shape = None

    def _through(self, frame: AudioFrame | None) -> Iterator[TimedSamples]:
        from av import AudioResampler

        if not isinstance(self._resampler, AudioResampler):
            return
        for block in self._resampler.resample(frame):
            if block.samples:
                samples = np.asarray(block.to_ndarray(), dtype=np.float32)
                yield self._origin_s + Fraction(self._n_out, self.rate_hz), samples
                self._n_out += block.samples


class SoundReader:
    """An open film's sound, read from any moment on.

    Parameters
    ----------
    path : Path or str
        The film. One without sound, or with sound that can't be decoded, simply gives none.
    rate_hz : int
        Samples a second wanted.
    n_channels : {1, 2}
        Channels wanted.
    """

    def __init__(self, path: Path | str, *, rate_hz: int = RATE_HZ, n_channels: int = 2) -> None:
        self.path = Path(path)
        self.rate_hz = rate_hz
        self.n_channels = n_channels
        self._open = opened(self.path)
        self._container = self._open.__enter__()
        self.stream = sound_stream(self._container)

    def _begin_anew(self) -> AudioStream | None:
        self.close()
        self._open = opened(self.path)
        self._container = self._open.__enter__()
        self.stream = sound_stream(self._container)
        return self.stream

    def __enter__(self) -> SoundReader:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._open.__exit__(None, None, None)

    def pieces(self, start_s: Fraction, end_s: Fraction | None = None) -> Iterator[tuple[int, NDArray[np.float32]]]:
        """Sound from `start_s` to `end_s` on the film's own clock (that of its PTS).

        Yields
        ------
        (int, float32[n_channels, n])
            The number of samples between `start_s` and the piece's first sample (never negative), and samples
            in -1 to 1. Pieces come in order and don't overlap; between them there may be gaps.
        """
        at = 0
        for time_s, samples in self._resampled(start_s, end_s):
            place = round((time_s - start_s) * self.rate_hz)
            if place < at:
                samples = samples[:, at - place :]
                place = at
            if end_s is not None:
                samples = samples[:, : max(0, round((end_s - start_s) * self.rate_hz) - place)]
            if samples.shape[1]:
                yield place, samples
                at = place + samples.shape[1]

    def _resampled(self, start_s: Fraction, end_s: Fraction | None) -> Iterator[TimedSamples]:
        resampling = Resampling(rate_hz=self.rate_hz, n_channels=self.n_channels)
        for frame in self._frames(start_s):
            if end_s is not None and frame.pts is not None and frame.pts * time_base(frame) >= end_s:
                break
            yield from resampling.push(frame)
        yield from resampling.flush()

    def _frames(self, start_s: Fraction) -> Iterator[AudioFrame]:
        import av

        stream = self.stream
        if stream is None or stream.time_base is None:
            return
        base = Fraction(stream.time_base)
        aim = max(int((start_s - PREROLL_S) / base), stream.start_time or 0)
        try:
            self._container.seek(aim, stream=stream, backward=True)
            stream.codec_context.flush_buffers()
        except av.error.FFmpegError:  # nothing to seek by: read from the beginning
            stream = self._begin_anew()
            if stream is None:
                return
        for packet in packets_of(self._container, stream):
            try:
                frames = stream.decode(packet)
            except av.error.FFmpegError:
                continue
            for frame in frames:
                if frame.pts is not None and frame.pts * base + Fraction(frame.samples, frame.sample_rate) > start_s:
                    yield frame
