"""Films on demand, with the frame's number in the picture and a sound that says its own time.

The number stands in a strip of black and white fields along the upper edge, so that it survives scaling, any
codec and turning. The sound is noise that never repeats: cross-correlating any piece of it with the original
finds the piece's place to the sample.

The AV1 encoder that PyAV brings puts its caller on real-time priority when root runs it, which starved a whole
machine; only the tests encode AV1, and the priority is put back here.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

N_CELLS = 24
N_BITS = 16
RATE_HZ = 48_000
_SYNC = (1, 0)


def strip_bits(number: int) -> list[int]:
    """Sync, 16 bits, four check bits, sync turned round."""
    bits = [number >> place & 1 for place in reversed(range(N_BITS))]
    check = (number ^ number >> 4 ^ number >> 8 ^ number >> 12) & 15 ^ 5
    return [*_SYNC, *bits, *(check >> place & 1 for place in reversed(range(4))), 0, 1]


def draw_number(picture: NDArray[np.uint8], number: int, *, band: int = 0, rows: slice = slice(None)) -> None:
    """Draw a number into band 0, 1, … of a picture, uint8[h, w, 3], each an eighth of its height."""
    height, width = picture.shape[:2]
    edges = np.round(np.linspace(0, width, N_CELLS + 1)).astype(int)
    area = picture[height * band // 8 : height * (band + 1) // 8][rows]
    for cell, bit in enumerate(strip_bits(number)):
        area[:, edges[cell] : edges[cell + 1]] = 235 if bit else 20


def read_number(
    picture: NDArray[Any],
    *,
    band: int = 0,
    box: tuple[int, int, int, int] | None = None,
    field: int | None = None,
) -> int:
    """The number in a picture's band.

    `box` (left, top, width, height) says where the film stands inside black bars; `field` reads every other line
    only, from line 0 or 1 on.

    Raises
    ------
    ValueError
        When no valid number is there.
    """
    if box is not None:
        picture = picture[box[1] : box[1] + box[3], box[0] : box[0] + box[2]]
    height, width = picture.shape[:2]
    top, bottom = height * band // 8, height * (band + 1) // 8
    inset = max(1, (bottom - top) // 4)
    lines = picture[top + inset + (top + inset) % 2 : bottom - inset]
    area = (lines if field is None else lines[field::2]).mean(axis=(0, 2))
    edges = np.linspace(0, width, N_CELLS + 1)
    values = []
    for cell in range(N_CELLS):
        cell_px = edges[cell + 1] - edges[cell]
        a, b = round(edges[cell] + cell_px * 0.3), round(edges[cell + 1] - cell_px * 0.3)
        values.append(area[a : max(a + 1, b)].mean())
    bits = [int(value > 127) for value in values]
    number = int("".join(map(str, bits[2 : 2 + N_BITS])), 2)
    if strip_bits(number) != bits:
        raise ValueError(f"no number in the picture: {bits}")
    return number


def draw_picture(number: int, size: tuple[int, int], *, sub: tuple[int, int] | None = None) -> NDArray[np.uint8]:
    """A picture that changes with its number: a drifting pattern, a moving block, the number's strip."""
    width, height = size
    y, x = np.mgrid[0:height, 0:width]
    picture = np.empty((height, width, 3), dtype=np.uint8)
    picture[..., 0] = (x + 3 * number) % 256 // 2 + 60
    picture[..., 1] = (y + number) % 256 // 2 + 60
    picture[..., 2] = 90
    block = max(4, height // 8)
    left, top = number * 5 % max(1, width - block), height // 2
    picture[top : top + block, left : left + block] = (230, 120, 40)
    draw_number(picture, number)
    if sub is not None:  # the two fields carry a number each
        draw_number(picture, sub[0], band=1, rows=slice(0, None, 2))
        draw_number(picture, sub[1], band=1, rows=slice(1, None, 2))
    return picture


def field_numbers(number: int) -> tuple[int, int]:
    """The numbers in the second band of an interlaced frame's upper and lower field; no bit rests in either."""
    return 3 * number, 3 * number + 1


def noise(start_sample: int, n: int) -> NDArray[np.float32]:
    """The films' sound at 48 kHz, float32[n]: soft noise, the same wherever it is asked for."""
    block = 4800
    first, last = start_sample // block, (start_sample + n) // block
    parts = []
    for number in range(first, last + 1):
        random = np.random.default_rng(number + 1_000_000)
        parts.append(np.convolve(random.normal(0, 0.25, block), np.ones(8) / 8, mode="same"))
    whole = np.concatenate(parts).clip(-0.9, 0.9)
    return whole[start_sample - first * block :][:n].astype(np.float32)


@dataclass(frozen=True)
class Recipe:
    """A film to make.

    `rate` is frames a second; `times` (s from the first shown frame, one a frame) overrides it. `n_hidden`
    frames before the first shown one are in the file but hidden by its edit list. `start_s` moves the whole
    film's clock. An `interlaced` frame's upper field is shown first, or with `lower_first` its lower one.
    `rotation` (degrees clockwise) is how the player must turn the stored picture.
    """

    name: str
    suffix: str = ".mp4"
    codec: str = "libx264"
    sound: str | None = "aac"
    size: tuple[int, int] = (320, 180)
    n_frames: int = 50
    rate: Fraction = Fraction(25)
    times: tuple[Fraction, ...] | None = None
    pix_fmt: str = "yuv420p"
    gop: int = 12
    b_frames: int = 2
    rotation: int = 0
    interlaced: bool = False
    lower_first: bool = False
    start_s: Fraction = Fraction(0)
    n_hidden: int = 0
    n_channels: int = 2
    rate_hz: int = RATE_HZ
    aspect: Fraction = Fraction(1)
    options: dict[str, str] = field(default_factory=dict)
    container: str | None = None
    container_options: dict[str, str] = field(default_factory=dict)
    metadata: dict[str, str] = field(default_factory=dict)
    first_number: int = 0

    @property
    def fields(self) -> tuple[int, int]:
        """An interlaced frame's fields in the order in which they are shown: 0 the upper, 1 the lower."""
        return (1, 0) if self.lower_first else (0, 1)

    @property
    def at_s(self) -> tuple[Fraction, ...]:
        """Times of the shown frames, s from the first."""
        if self.times is not None:
            return self.times
        return tuple(Fraction(n) / self.rate for n in range(self.n_frames))

    @property
    def at_ms(self) -> list[int]:
        """The same, nearest ms, a half up."""
        return [int(at * 1000 + Fraction(1, 2)) for at in self.at_s]

    @property
    def shown_size(self) -> tuple[int, int]:
        """Width and height of the upright picture with square pixels."""
        width = round(self.size[0] * self.aspect)
        return (self.size[1], width) if self.rotation in (90, 270) else (width, self.size[1])


def make(recipe: Recipe, folder: Path, *, change: Callable[[int, NDArray[np.uint8]], None] | None = None) -> Path:
    """Make the film in a folder; `change(number, picture)` may draw on the upright picture. Returns its path."""
    path = folder / (recipe.name + recipe.suffix)
    with av.open(str(path), "w", format=recipe.container, options=recipe.container_options) as container:
        container.metadata.update(recipe.metadata)
        stream, base = _picture_stream(container, recipe)
        tape = _sound_stream(container, recipe)
        times = [Fraction(n - recipe.n_hidden) / recipe.rate for n in range(recipe.n_hidden)] + list(recipe.at_s)
        n_sound = 0
        for number, at in enumerate(times):
            picture = _stored(recipe, number + recipe.first_number, change)
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24").reformat(format=recipe.pix_fmt)
            frame.pts, frame.time_base = round((at + recipe.start_s) / base), base
            container.mux(stream.encode(_as_fields(frame, recipe) if recipe.interlaced else frame))
            if tape is not None:
                n_sound = _sound_until(container, tape, recipe, n_sound, at + Fraction(1, 2))
        container.mux(stream.encode(None))
        if tape is not None:
            _sound_until(container, tape, recipe, n_sound, times[-1] + 1 / recipe.rate)
            container.mux(tape.encode(None))
    _give_way_again()
    return path


def _give_way_again() -> None:
    """Undo what the AV1 encoder does when root runs it: it sets its caller to real time, ahead of everything else."""
    if hasattr(os, "sched_setscheduler") and os.sched_getscheduler(0) != os.SCHED_OTHER:
        os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))


def _picture_stream(container: av.container.OutputContainer, recipe: Recipe) -> tuple[av.VideoStream, Fraction]:
    stream = container.add_stream(recipe.codec, rate=recipe.rate, options=_options(recipe))
    assert isinstance(stream, av.VideoStream)
    stream.width, stream.height = recipe.size
    stream.pix_fmt = recipe.pix_fmt
    stream.codec_context.gop_size = recipe.gop
    if recipe.aspect != 1:
        stream.codec_context.sample_aspect_ratio = recipe.aspect
    if recipe.interlaced:
        stream.codec_context.flags |= 0x00040000 | 0x20000000  # interlaced DCT and motion
    base = 1 / recipe.rate if recipe.times is None and recipe.start_s == 0 else Fraction(1, 90_000)
    if recipe.codec in ("mpeg2video", "mpeg4"):
        base = 1 / recipe.rate
    stream.time_base = stream.codec_context.time_base = base
    if recipe.rotation:
        stream.set_display_rotation(-recipe.rotation)
    return stream, base


def _as_fields(frame: av.VideoFrame, recipe: Recipe) -> av.VideoFrame:
    """The frame, marked as two fields in their order."""
    graph = av.filter.Graph()
    source = graph.add(
        "buffer", f"video_size={frame.width}x{frame.height}:pix_fmt={frame.format.name}:time_base={frame.time_base}"
    )
    graph.link_nodes(
        source, graph.add("setfield", "bff" if recipe.lower_first else "tff"), graph.add("buffersink")
    ).configure()
    source.push(frame)
    return graph.vpull()


def _options(recipe: Recipe) -> dict[str, str]:
    speed = {
        "libx264": {"preset": "ultrafast", "crf": "18", "x264-params": "keyint_min=1:scenecut=0"},
        "libx265": {"preset": "ultrafast", "crf": "20", "x265-params": "log-level=none"},
        "libvpx-vp9": {"deadline": "realtime", "cpu-used": "8", "crf": "20", "b": "0"},
        "libsvtav1": {"preset": "12", "crf": "30"},
        "mpeg2video": {"qscale": "3", "b": "4000000"},
        "mpeg4": {"b": "4000000"},
        "mjpeg": {"qmin": "3", "qmax": "3"},
    }
    options = {**speed.get(recipe.codec, {}), **recipe.options}
    if recipe.codec in ("libx264", "mpeg4", "mpeg2video"):
        options.setdefault("bf", str(recipe.b_frames))
        if recipe.interlaced and recipe.codec == "libx264":
            options["x264-params"] += ":bff=1" if recipe.lower_first else ":tff=1"
    return options


def _stored(recipe: Recipe, number: int, change: Callable[[int, NDArray[np.uint8]], None] | None) -> NDArray[np.uint8]:
    width, height = recipe.size
    upright = (height, width) if recipe.rotation in (90, 270) else (width, height)
    sub = field_numbers(number) if recipe.interlaced else None
    picture = draw_picture(number, upright, sub=sub)
    if change is not None:
        change(number, picture)
    return np.ascontiguousarray(np.rot90(picture, recipe.rotation // 90))  # rot90 turns against the clock


def _sound_stream(container: av.container.OutputContainer, recipe: Recipe) -> av.AudioStream | None:
    if recipe.sound is None:
        return None
    layout = {1: "mono", 2: "stereo", 6: "5.1"}[recipe.n_channels]
    stream = container.add_stream(recipe.sound, rate=recipe.rate_hz, layout=layout)
    assert isinstance(stream, av.AudioStream)
    if not recipe.sound.startswith("pcm"):
        stream.bit_rate = 192_000
    return stream


def _sound_until(
    container: av.container.OutputContainer, tape: av.AudioStream, recipe: Recipe, n_done: int, until_s: Fraction
) -> int:
    size = tape.codec_context.frame_size or 1024
    while n_done < until_s * recipe.rate_hz:
        n = (
            min(size, max(1, int(until_s * recipe.rate_hz) - n_done))
            if tape.codec_context.name.startswith("pcm")
            else size
        )
        wave = sound_at(Fraction(n_done, recipe.rate_hz), n, recipe.rate_hz)
        planes = np.tile(wave, (recipe.n_channels, 1))
        frame = av.AudioFrame.from_ndarray(planes, format="fltp", layout=tape.codec_context.layout.name)
        frame.sample_rate, frame.time_base = recipe.rate_hz, Fraction(1, recipe.rate_hz)
        frame.pts = n_done + round(recipe.start_s * recipe.rate_hz)
        container.mux(tape.encode(_as_format(frame, tape)))
        n_done += n
    return n_done


def _as_format(frame: av.AudioFrame, tape: av.AudioStream) -> av.AudioFrame:
    wanted = tape.codec_context.format.name
    if wanted == "fltp":
        return frame
    pts = frame.pts
    made = av.AudioResampler(format=wanted, layout=frame.layout.name, rate=frame.sample_rate).resample(frame)[0]
    made.pts, made.time_base = pts, frame.time_base
    return made


def sound_at(at_s: Fraction, n: int, rate_hz: int = RATE_HZ) -> NDArray[np.float32]:
    """The films' sound from a time (s from the first shown frame) on, at a rate, float32[n]."""
    if rate_hz == RATE_HZ:
        return noise(round(at_s * RATE_HZ), n)
    start = float(at_s) * RATE_HZ
    places = start + np.arange(n) * (RATE_HZ / rate_hz)
    low = int(places[0])
    wave = noise(low, int(places[-1]) - low + 2)
    return np.interp(places - low, np.arange(len(wave)), wave).astype(np.float32)


def read_sound(path: Path) -> tuple[Fraction, NDArray[np.float32]]:
    """A film's sound, decoded straight through: its first sample's time on the film's clock (s); float32[n], 48 kHz."""
    with av.open(str(path)) as container:
        resampler = av.AudioResampler(format="fltp", layout="mono", rate=RATE_HZ)
        first: Fraction | None = None
        parts = []
        for frame in container.decode(audio=0):
            if first is None and frame.pts is not None and frame.time_base is not None:
                first = frame.pts * frame.time_base
            parts += [block.to_ndarray()[0] for block in resampler.resample(frame)]
        parts += [block.to_ndarray()[0] for block in resampler.resample(None)]
    return first or Fraction(0), np.concatenate(parts)


def sound_offset_s(heard: NDArray[np.float32], expected: NDArray[np.float32], *, reach: int = 4800) -> float:
    """How much later (s) the heard sound comes than expected, both float32[n] at 48 kHz, by cross-correlation.

    Raises
    ------
    ValueError
        When the two have nothing in common within `reach` samples.
    """
    n = min(len(heard), len(expected))
    heard, expected = heard[:n], expected[:n]
    size = 1 << (2 * n - 1).bit_length()
    cross = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(expected, size)), size)
    around = np.concatenate([cross[-reach:], cross[: reach + 1]])
    best = int(np.argmax(around))
    strength = around[best] / (np.linalg.norm(heard) * np.linalg.norm(expected) + 1e-12)
    if strength < 0.35:
        raise ValueError(f"the sounds have nothing in common (correlation {strength:.2f})")
    return (best - reach) / RATE_HZ


def read_numbers(path: Path, *, box: tuple[int, int, int, int] | None = None, band: int = 0) -> list[int]:
    """The numbers in all pictures of an upright film, decoded straight through."""
    with av.open(str(path)) as container:
        frames = [f.to_ndarray(format="rgb24") for f in container.decode(video=0)]
    return [read_number(frame, box=box, band=band) for frame in frames]
