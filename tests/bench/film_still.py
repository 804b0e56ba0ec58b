"""Exact stills from heavy film."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import numpy as np

from tagger.film.index import build_index
from tagger.film.still import still, still_jpeg
from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import camera_like, percentile
from tests.film.maker import read_number

NAME = "film-still"
ABOUT = "exact stills of random frames of 1080p film with a key frame every 30"
N_STILLS = 100


def run() -> list[Figure]:
    """Time of one still, and how many show the frame that was asked for."""
    with tempfile.TemporaryDirectory() as folder:
        film = camera_like(Path(folder, "heavy.mp4"), seconds=20)
        index = build_index(film)
        times, exact = [], 0
        for frame in np.random.default_rng(3).integers(0, index.n_frames, N_STILLS).tolist():
            begun = time.perf_counter()
            still_jpeg(film, index, frame)
            times.append((time.perf_counter() - begun) * 1000)
            exact += read_number(still(film, index, frame)) == frame
    return [
        Figure("still as JPEG, p50", percentile(times, 0.5), "ms"),
        at_most("still as JPEG, p95", percentile(times, 0.95), "ms", 150),
        at_least(f"exact of {N_STILLS}", exact, "stills", N_STILLS),
    ]
