"""Films for the film benches: textured and numbered, as heavy as a camera's, made anew in a folder."""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from tests.film.maker import draw_number, noise

N_RUNS = 5


def camera_like(
    path: Path,
    *,
    seconds: int,
    size: tuple[int, int] = (1920, 1080),
    rate: int = 30,
    gop: int = 30,
    bit_rate: int = 12_000_000,
    variable: bool = False,
    preset: str = "ultrafast",
) -> Path:
    """An H.264/AAC film of panned texture with numbers; `variable` drops every seventh frame's time by a third."""
    width, height = size
    random = np.random.default_rng(5)
    coarse = random.integers(30, 220, (height // 8 + 2, width // 8 + 80, 3), dtype=np.uint8)
    wall = np.kron(coarse, np.ones((8, 8, 1), dtype=np.uint8))
    wall = (wall.astype(np.int16) + random.integers(-18, 19, wall.shape, dtype=np.int16)).clip(0, 255).astype(np.uint8)
    options = {"preset": preset, "b": str(bit_rate), "maxrate": str(bit_rate), "bufsize": str(bit_rate), "bf": "2"}
    base = Fraction(1, 90_000)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=rate, options=options)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.time_base = stream.codec_context.time_base = base
        stream.codec_context.gop_size = gop
        sound = container.add_stream("aac", rate=48_000, layout="mono")
        n_sound = 0
        for number in range(seconds * rate):
            across = number * 3 % 600
            picture = np.ascontiguousarray(wall[:height, across : across + width])
            draw_number(picture, number)
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24").reformat(format="yuv420p")
            step = base.denominator // rate
            frame.pts, frame.time_base = number * step - (step // 3 if variable and number % 7 == 3 else 0), base
            container.mux(stream.encode(frame))
            while n_sound < (number + 1) * 48_000 // rate:
                block = av.AudioFrame.from_ndarray(noise(n_sound, 1024)[None], format="fltp", layout="mono")
                block.sample_rate, block.pts, block.time_base = 48_000, n_sound, Fraction(1, 48_000)
                container.mux(sound.encode(block))
                n_sound += 1024
        container.mux(stream.encode(None))
        container.mux(sound.encode(None))
    return path


def looped(source: Path, target: Path, times: int) -> Path:
    """The film, several times over, by the ffmpeg program."""
    ffmpeg("-stream_loop", str(times - 1), "-i", str(source), "-c", "copy", str(target))
    return target


def ffmpeg(*words: str) -> None:
    """Run the ffmpeg program (Debian: apt-get install ffmpeg), overwriting its output."""
    program = shutil.which("ffmpeg")
    if program is None:
        raise SystemExit("this bench needs the ffmpeg program (Debian: apt-get install ffmpeg)")
    subprocess.run([program, "-v", "error", "-nostdin", "-y", *words], check=True)


@dataclass(frozen=True)
class Pair:
    """Two works compared: median seconds of each, and the medians of the first's time by the second's.

    `ratio` is of time by the clock, `cpu_ratio` of processor time, children included: the latter hardly changes
    when the machine is busy with something else.
    """

    one_s: float
    other_s: float
    ratio: float
    cpu_ratio: float


def paired(one: Callable[[], object], other: Callable[[], object], n_runs: int = N_RUNS) -> Pair:
    """Do both works alternately, each pair back to back, and compare."""
    rows = []
    for n in range(n_runs):
        pair = {}
        for name, work in (("one", one), ("other", other))[:: 1 if n % 2 else -1]:
            cpu_s, begun = _cpu_s(), time.perf_counter()
            work()
            pair[name] = (time.perf_counter() - begun, max(1e-6, _cpu_s() - cpu_s))
        rows.append((*pair["one"], *pair["other"]))
    return Pair(
        statistics.median(row[0] for row in rows),
        statistics.median(row[2] for row in rows),
        statistics.median(row[0] / row[2] for row in rows),
        statistics.median(row[1] / row[3] for row in rows),
    )


def _cpu_s() -> float:
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def percentile(values: list[float], share: float) -> float:
    """The value below which a share of all values lies."""
    return float(np.percentile(values, share * 100))
