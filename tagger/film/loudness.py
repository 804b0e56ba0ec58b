"""A film's sound as two short series: how loud it is, and its outline to draw.

Loudness is that of ITU-R BS.1770-4: K-weighting (a shelf and a high-pass filter, coefficients for 48 kHz from its
tables 1 and 2), mean square over 400 ms every 100 ms, and gated over the whole programme.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tagger.film.errors import FilmStopped
from tagger.film.index import FrameIndex
from tagger.film.sound import RATE_HZ, SoundReader
from tagger.progress import Progress, Stop

STEP_MS = 100
WINDOW_STEPS = 4
OUTLINE_MS = 20
SILENCE_LUFS = -120.0
_OFFSET_LU = -0.691
_GATE_LUFS, _RELATIVE_LU = -70.0, -10.0
_SHELF = ([1.53512485958697, -2.69169618940638, 1.19839281085285], [1.0, -1.69065929318241, 0.73248077421585])
_HIGH_PASS = ([1.0, -2.0, 1.0], [1.0, -1.99004745483398, 0.99007225036621])


@dataclass(frozen=True, eq=False)
class SoundOutline:
    """A film's sound from its first frame on.

    `loudness` (float32[m], LUFS) is the momentary loudness, value k over the 400 ms that end at (k + 4) * 100 ms.
    `low` and `high` (float32[k], -1 to 1) are the extremes of every 20 ms. `integrated` is the whole film's
    loudness (LUFS). A film without sound has empty series and `SILENCE_LUFS`.
    """

    loudness: NDArray[np.float32]
    low: NDArray[np.float32]
    high: NDArray[np.float32]
    integrated: float


def outline_sound(
    path: Path | str, index: FrameIndex, *, progress: Progress | None = None, stop: Stop | None = None
) -> SoundOutline:
    """Listen through a film.

    Parameters
    ----------
    path : Path or str
        The film.
    index : FrameIndex
        Its frame index: the series begin with its first frame and end with its last.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    SoundOutline

    Raises
    ------
    FilmStopped
    """
    path = Path(path)
    start_s = int(index.pts[0]) * index.time_base
    length_s = Fraction(index.duration_ms, 1000)
    meter = _Meter()
    with SoundReader(path) as reader:
        if reader.stream is None:
            return _silent()
        for at, samples in reader.pieces(start_s, start_s + length_s):
            meter.add(at, samples)
            if stop is not None and stop():
                raise FilmStopped("listening through the film was stopped", path, "start it again when you like")
            if progress is not None:
                progress(min(1.0, at / max(1.0, float(length_s) * RATE_HZ)), "listening")
    if meter.n_samples == 0:
        return _silent()
    meter.add(round(length_s * RATE_HZ), np.zeros((2, 0), dtype=np.float32))
    return meter.result()


def _silent() -> SoundOutline:
    empty = np.zeros(0, dtype=np.float32)
    return SoundOutline(empty, empty, empty, SILENCE_LUFS)


class _Meter:
    """Takes samples in order and keeps mean squares and extremes."""

    def __init__(self) -> None:
        self.n_samples = 0
        self._states = [np.zeros((2, 2)), np.zeros((2, 2))]
        self._rest = np.zeros((2, 0), dtype=np.float32)
        self._powers: list[NDArray[np.float64]] = []
        self._lows: list[NDArray[np.float32]] = []
        self._highs: list[NDArray[np.float32]] = []

    def add(self, at: int, samples: NDArray[np.float32]) -> None:
        """Take samples at a place; what is missing before them is silence."""
        while (hole := at - self.n_samples) > 0:
            self._take(np.zeros((2, min(hole, RATE_HZ * 10)), dtype=np.float32))
        self._take(samples)

    def _take(self, samples: NDArray[np.float32]) -> None:
        self.n_samples += samples.shape[1]
        self._rest = np.concatenate([self._rest, samples], axis=1)
        size = RATE_HZ * STEP_MS // 1000
        n = self._rest.shape[1] // size
        if n == 0:
            return
        ready, self._rest = self._rest[:, : n * size], self._rest[:, n * size :]
        weighted = self._weighted(ready)
        self._powers.append((weighted.reshape(2, n, size) ** 2).mean(axis=2).sum(axis=0))
        mono = ready.mean(axis=0).reshape(-1, RATE_HZ * OUTLINE_MS // 1000)
        self._lows.append(mono.min(axis=1))
        self._highs.append(mono.max(axis=1))

    def _weighted(self, samples: NDArray[np.float32]) -> NDArray[np.float64]:
        from scipy.signal import lfilter

        result: NDArray[np.float64] = samples.astype(np.float64)
        for n, (b, a) in enumerate((_SHELF, _HIGH_PASS)):
            result, self._states[n] = lfilter(b, a, result, axis=1, zi=self._states[n])
        return result

    def result(self) -> SoundOutline:
        """The series."""
        powers = np.concatenate(self._powers) if self._powers else np.zeros(0)
        if len(powers) < WINDOW_STEPS:
            windows = powers[:0]
        else:
            windows = np.convolve(powers, np.full(WINDOW_STEPS, 1 / WINDOW_STEPS), mode="valid")
        empty = np.zeros(0, dtype=np.float32)
        return SoundOutline(
            _lufs(windows).astype(np.float32),
            np.concatenate(self._lows) if self._lows else empty,
            np.concatenate(self._highs) if self._highs else empty,
            _integrated(windows),
        )


def _lufs(power: NDArray[np.float64]) -> NDArray[np.float64]:
    quietest = 10 ** ((SILENCE_LUFS - _OFFSET_LU) / 10)
    return np.asarray(_OFFSET_LU + 10 * np.log10(np.maximum(power, quietest)))


def _integrated(windows: NDArray[np.float64]) -> float:
    """Mean over the windows above the absolute gate, then above the relative one (BS.1770-4, annex 1, eq. 5 to 7)."""
    loud = windows[_lufs(windows) > _GATE_LUFS]
    if len(loud) == 0:
        return SILENCE_LUFS
    gate = float(_lufs(loud.mean(keepdims=True))[0]) + _RELATIVE_LU
    loud = loud[_lufs(loud) > gate]
    return float(_lufs(loud.mean(keepdims=True))[0])
