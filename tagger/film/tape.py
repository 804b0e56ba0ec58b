"""A sound track being written: samples laid at their places, silence between, cut into the encoder's blocks."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from av.container import OutputContainer
    from av.packet import Packet

BLOCK = 1024


class SoundTape:
    """An AAC track of a film that is being written.

    Parameters
    ----------
    container : OutputContainer
        Where the track is added.
    n_channels : {1, 2}
    rate_hz : int
        Samples a second.
    bit_rate : int
        Bits a second.
    """

    def __init__(
        self, container: OutputContainer, *, n_channels: int = 2, rate_hz: int = 48_000, bit_rate: int = 128_000
    ) -> None:
        self.n_channels = n_channels
        self.rate_hz = rate_hz
        self._layout = "stereo" if n_channels == 2 else "mono"
        self._stream = container.add_stream("aac", rate=rate_hz, layout=self._layout)
        self._stream.bit_rate = bit_rate
        self._n_encoded = 0
        self._rest = np.zeros((n_channels, 0), dtype=np.float32)

    @property
    def n_samples(self) -> int:
        """Samples laid so far, silence included."""
        return self._n_encoded + self._rest.shape[1]

    def lay(self, at_sample: int, samples: NDArray[np.float32]) -> list[Packet]:
        """Lay samples, float32[n_channels, n] in -1 to 1, at a place; what is laid already stays.

        Returns
        -------
        list of Packet
            To be written now.
        """
        packets: list[Packet] = []
        if at_sample < self.n_samples:
            samples = samples[:, self.n_samples - at_sample :]
        else:
            packets = self.silence_until(at_sample)
        if samples.shape[1]:
            self._rest = np.concatenate([self._rest, samples], axis=1)
            packets += self._encoded()
        return packets

    def silence_until(self, at_sample: int) -> list[Packet]:
        """Make the track at least this long; packets as in `lay`."""
        packets: list[Packet] = []
        while (n := min(at_sample - self.n_samples, self.rate_hz)) > 0:
            self._rest = np.concatenate([self._rest, np.zeros((self.n_channels, n), dtype=np.float32)], axis=1)
            packets += self._encoded()
        return packets

    def finish(self) -> list[Packet]:
        """The last packets of the track."""
        return self._encoded(last=True) + list(self._stream.encode(None))

    def _encoded(self, *, last: bool = False) -> list[Packet]:
        from av.audio.frame import AudioFrame

        packets: list[Packet] = []
        n_blocks, over = divmod(self._rest.shape[1], BLOCK)
        at = 0
        for size in [BLOCK] * n_blocks + ([over] if last and over else []):
            block = np.ascontiguousarray(self._rest[:, at : at + size])
            frame = AudioFrame.from_ndarray(block, format="fltp", layout=self._layout)
            frame.sample_rate = self.rate_hz
            frame.time_base = Fraction(1, self.rate_hz)
            frame.pts = self._n_encoded
            packets += self._stream.encode(frame)
            self._n_encoded += size
            at += size
        self._rest = self._rest[:, at:]
        return packets
