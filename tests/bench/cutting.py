"""A player's reel: what cutting costs on top of decoding the same frames."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

import av

from tagger.film.cut import Clip, write_reel
from tagger.film.index import FrameIndex, build_index
from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import camera_like
from tests.film.maker import read_number

NAME = "cutting"
ABOUT = "a reel of six clips from 1080p film, per clip, against decoding the same frames alone"
N_RUNS = 5
CLIP_FRAMES = 255  # 8.5 s at 30 frames a second: 6 s before the key moment and 2.5 s after it
N_CLIPS = 6
MOST_RATIO = (
    6.0  # a 720p encode costs some times a decode; above this a set of eighteen reels no longer fits an evening
)


def run() -> list[Figure]:
    """Five pairs of decoding and cutting, medians; and whether every frame of the last reel is the right one."""
    with tempfile.TemporaryDirectory() as folder:
        film = camera_like(Path(folder, "heavy.mp4"), seconds=80)
        index = build_index(film)
        starts = [37 + place * 371 for place in range(N_CLIPS)]
        clips = [Clip(film, index, start, start + CLIP_FRAMES) for start in starts]
        reel = Path(folder, "reel.mp4")
        decoding, cutting = [], []
        for _ in range(N_RUNS):
            begun = time.perf_counter()
            for start in starts:
                _decode(film, index, start, start + CLIP_FRAMES)
            decoding.append((time.perf_counter() - begun) / N_CLIPS)
            begun = time.perf_counter()
            write_reel(clips, reel)
            cutting.append((time.perf_counter() - begun) / N_CLIPS)
        with av.open(str(reel)) as made:
            numbers = [read_number(frame.to_ndarray(format="rgb24")) for frame in made.decode(video=0)]
        wanted = [frame for start in starts for frame in range(start, start + CLIP_FRAMES)]
        exact = sum(one == other for one, other in zip(numbers, wanted, strict=True))
    ratio = statistics.median(cut / plain for cut, plain in zip(cutting, decoding, strict=True))
    return [
        Figure("decoding a clip's frames alone", statistics.median(decoding), "s"),
        Figure("cutting a clip into the reel", statistics.median(cutting), "s"),
        at_most("cutting against decoding", ratio, "times", MOST_RATIO),
        at_least("exact frames in the reel", exact, "frames", len(wanted)),
    ]


def _decode(film: Path, index: FrameIndex, start: int, end: int) -> None:
    """Decode frames from the key frame before them, as any cut must, and do nothing with them."""
    with av.open(str(film)) as opened:
        stream = opened.streams.video[0]
        stream.thread_type = "AUTO"
        opened.seek(int(index.pts[start]), stream=stream)
        for frame in opened.decode(stream):
            if frame.pts is not None and frame.pts >= index.pts[end - 1]:
                return
