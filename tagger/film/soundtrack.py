"""A film's sound on its way into a new MP4: copied where a browser plays it, else encoded as AAC."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from tagger.film.index import FrameIndex
from tagger.film.probe import MP4_SOUND, FilmFacts
from tagger.film.sound import RATE_HZ, Resampling, TimedSamples
from tagger.film.tape import SoundTape

if TYPE_CHECKING:
    from av.audio.stream import AudioStream
    from av.container import OutputContainer
    from av.packet import Packet


def sound_mover(
    stream: AudioStream, made: OutputContainer, facts: FilmFacts, index: FrameIndex
) -> SoundCopy | SoundEncode:
    """What brings this sound into a new film that begins and ends with the index's frames."""
    origin_s = int(index.pts[0]) * index.time_base
    length_s = index.end_pts * index.time_base - origin_s
    if facts.audio_codec in MP4_SOUND:
        return SoundCopy(stream, made, origin_s, length_s)
    return SoundEncode(stream, made, origin_s, length_s)


class SoundCopy:
    """Moves the sound's packets by the same time as the picture's."""

    def __init__(self, stream: AudioStream, made: OutputContainer, origin_s: Fraction, length_s: Fraction) -> None:
        self.new = made.add_stream_from_template(stream, opaque=True)
        self._shift = round(origin_s / Fraction(stream.time_base or 1))
        self._end = round(length_s / Fraction(stream.time_base or 1))
        self._last = -(1 << 62)

    def take(self, packet: Packet) -> list[Packet]:
        """The packet with its new time, or nothing if it lies before or behind the picture."""
        pts = packet.pts
        if pts is None:
            return []
        at = pts - self._shift
        if at <= self._last or at >= self._end or (at <= 0 and at + (packet.duration or 0) <= 0):
            return []
        self._last = at
        packet.pts = packet.dts = at
        packet.stream = self.new
        return [packet]

    def rest(self) -> list[Packet]:
        """Nothing is held back."""
        return []


class SoundEncode:
    """Decodes the sound and encodes it as AAC, laid at its own time."""

    def __init__(self, stream: AudioStream, made: OutputContainer, origin_s: Fraction, length_s: Fraction) -> None:
        n_channels = 1 if stream.codec_context.channels == 1 else 2
        self._stream = stream
        self._tape = SoundTape(made, n_channels=n_channels)
        self._resampling = Resampling(n_channels=n_channels)
        self._origin_s = origin_s
        self._end = round(length_s * RATE_HZ)

    def take(self, packet: Packet) -> list[Packet]:
        """The AAC packets that are ready after this packet."""
        import av

        try:
            frames = self._stream.decode(packet)
        except av.error.FFmpegError:
            return []
        return [ready for frame in frames for ready in self._laid(self._resampling.push(frame))]

    def rest(self) -> list[Packet]:
        """What is still inside."""
        return self._laid(self._resampling.flush()) + self._tape.finish()

    def _laid(self, pieces: Iterator[TimedSamples]) -> list[Packet]:
        ready: list[Packet] = []
        for time_s, samples in pieces:
            at = round((time_s - self._origin_s) * RATE_HZ)
            if at + samples.shape[1] > 0 and at < self._end:
                ready += self._tape.lay(max(0, at), samples[:, max(0, -at) :])
        return ready
