"""The sound of a game: a crowd that swells, whistles at their moments, the horn, posts, boards and sticks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sample_data.filmed import FilmedAttack
from sample_data.truth import Truth

RATE_HZ = 48_000
LOOP_S = 150
"""So long the crowd says something new, and then the same again."""
Floats = NDArray[np.float32]

WHISTLE_S = {"goal": 0.9, "face_off": 0.28, "restart": 0.28, "penalty": 0.7}
"""How long the whistle sounds, by why; others half a second."""


def sound(truth: Truth) -> Floats:
    """The sound track of an excerpt.

    Parameters
    ----------
    truth : Truth
        With its whistles and shots.

    Returns
    -------
    ndarray of float32, shape (n_samples,)
        One channel at `RATE_HZ`, within ±1, as long as the film.
    """
    rng = np.random.default_rng([truth.seed, 5])
    n = round(truth.length_ms / 1000 * RATE_HZ)
    track = _crowd(n, truth, rng)
    for whistle in truth.whistles:
        _add(track, whistle.at_ms, _whistle(WHISTLE_S.get(whistle.why, 0.5), rng), 0.30)
        if whistle.why == "goal":
            _add(track, whistle.at_ms + 700, _horn(1.6), 0.16)
        if whistle.why == "period_end":
            _add(track, whistle.at_ms, _horn(2.2), 0.25)
    for shot in truth.shots:
        goal_x = 25.0
        length_m = float(np.hypot(goal_x - shot.x_m, shot.y_m))
        flight_ms = 1000 * max(FilmedAttack.least_flight_s, length_m / FilmedAttack.shot_m_s)
        hit = {"post": _ping(rng), "saved": _thud(rng, 190), "blocked": _thud(rng, 240)}.get(
            shot.result, _thud(rng, 95)
        )
        if shot.result != "goal":
            _add(track, shot.at_ms + flight_ms * (0.4 if shot.result == "blocked" else 1.0), hit, 0.26)
    return np.clip(track, -0.98, 0.98).astype(np.float32)


def _crowd(n: int, truth: Truth, rng: np.random.Generator) -> Floats:
    """Noise in the band of many voices, louder around shots and loudest after goals."""
    noise = rng.normal(0, 1, min(n, LOOP_S * RATE_HZ)).astype(np.float32)
    voices = np.resize(_band(noise, 180, 1400), n)  # a band of a whole spectrum goes on at its end as it began
    step = RATE_HZ // 10
    points = np.arange(0, n + step, step)
    level = 0.030 + 0.008 * np.sin(points / RATE_HZ * 0.7) + np.abs(rng.normal(0, 0.005, len(points)))
    seconds = points / RATE_HZ
    for shot in truth.shots:
        since = seconds - shot.at_ms / 1000
        home = 1.0 if shot.team == "ours" else 0.45
        height, lasts = {"goal": (0.20 * home, 5.0), "wide": (0.05, 0.8)}.get(shot.result, (0.075 * home, 1.0))
        level += np.where(
            since > -0.5, height * np.exp(-np.maximum(since, 0) / lasts) * np.clip((since + 0.5) * 2, 0, 1), 0
        )
    for first in range(0, n, LOOP_S * RATE_HZ):
        part = slice(first, min(n, first + LOOP_S * RATE_HZ))
        voices[part] *= np.interp(np.arange(part.start, part.stop), points, level).astype(np.float32)
    return voices


def _band(noise: Floats, low_hz: float, high_hz: float) -> Floats:
    spectrum = np.fft.rfft(noise)
    hz = np.fft.rfftfreq(len(noise), 1 / RATE_HZ)
    shape = 1 / (1 + (low_hz / np.maximum(hz, 1)) ** 4) / (1 + (hz / high_hz) ** 4)
    made = np.fft.irfft(spectrum * shape, len(noise))
    return (made / (made.std() + 1e-9)).astype(np.float32)


def _whistle(seconds: float, rng: np.random.Generator) -> Floats:
    """Two close tones and a rattling pea."""
    t = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    pitch = 3150 + float(rng.normal(0, 25))
    pea = 1 + 0.022 * np.sin(2 * np.pi * 31 * t)
    phase = 2 * np.pi * np.cumsum(pitch * pea) / RATE_HZ
    tone = np.sin(phase) + 0.55 * np.sin(phase * 1.068) + 0.12 * np.sin(2 * phase)
    rattle = 0.75 + 0.25 * np.sin(2 * np.pi * 31 * t + 0.6)
    edge = np.minimum(1, np.minimum(t / 0.012, (seconds - t) / 0.03))
    return (tone * rattle * edge / 1.7).astype(np.float32)


def _horn(seconds: float) -> Floats:
    t = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    tone = sum(np.sin(2 * np.pi * 233 * k * t) / k for k in (1, 2, 3, 4, 5))
    edge = np.minimum(1, np.minimum(t / 0.04, (seconds - t) / 0.1))
    return np.asarray(tone * edge / 2, dtype=np.float32)


def _thud(rng: np.random.Generator, hz: float) -> Floats:
    t = np.arange(int(0.22 * RATE_HZ)) / RATE_HZ
    body = np.sin(2 * np.pi * hz * t * (1 - 0.6 * t)) * np.exp(-t * 26)
    return (body + 0.4 * rng.normal(0, 1, len(t)) * np.exp(-t * 90)).astype(np.float32)


def _ping(rng: np.random.Generator) -> Floats:
    t = np.arange(int(0.7 * RATE_HZ)) / RATE_HZ
    ring = sum(np.sin(2 * np.pi * hz * t) * np.exp(-t * fade) for hz, fade in ((1240, 7.0), (2870, 11.0), (4410, 19.0)))
    return np.asarray(ring / 2 + 0.2 * rng.normal(0, 1, len(t)) * np.exp(-t * 160), dtype=np.float32)


def _add(track: Floats, at_ms: float, piece: Floats, level: float) -> None:
    start = round(at_ms / 1000 * RATE_HZ)
    end = min(len(track), start + len(piece))
    if end > start >= 0:
        track[start:end] += level * piece[: end - start]
