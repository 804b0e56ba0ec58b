"""Seeking in viewing copies in a real browser."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from playwright.sync_api import sync_playwright

from tagger.film.index import FrameIndex, build_index
from tagger.film.viewing import make_viewing_copy
from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import camera_like, percentile
from tests.chromium import find_browser, launch_arguments
from tests.film.maker import read_number
from tests.film.player import Player, media_s, seek_s, served

NAME = "film-seek"
ABOUT = "seeking in Chromium: viewing copies of constant and variable rate, and the original for comparison"
N_SEEKS = 200


def run() -> list[Figure]:
    """Times of random seeks and single steps (ms), and how many showed the frame that was asked for."""
    figures: list[Figure] = []
    program = find_browser()
    if program is None:
        raise SystemExit("this bench needs Chrome, Chromium or Edge")
    with tempfile.TemporaryDirectory() as folder:
        films: dict[str, Path] = {}
        indexes: dict[str, FrameIndex] = {}
        for name, variable in (("constant", False), ("variable", True)):
            source = camera_like(
                Path(folder, f"{name}.mp4"), seconds=30, gop=250, bit_rate=17_000_000, variable=variable
            )
            films[f"{name}-original"] = source
            indexes[f"{name}-original"] = build_index(source)
            copy = make_viewing_copy(source, Path(folder, f"{name}-copy.mp4"))
            films[name], indexes[name] = copy.path, copy.index
        with sync_playwright() as playwright, served(films) as address:
            browser = playwright.chromium.launch(executable_path=program, args=launch_arguments())
            for name in ("constant", "variable"):
                figures += _figures(Player(browser.new_page(), address), name, indexes[name])
            player = Player(browser.new_page(), address)
            player.load("constant-original")
            times, _ = _seek(player, indexes["constant-original"], N_SEEKS // 10)
            figures.append(Figure("random seek in the 17 Mb/s original, p50", percentile(times, 0.5), "ms"))
            browser.close()
    return figures


def _figures(player: Player, name: str, index: FrameIndex) -> list[Figure]:
    player.load(name)
    random = np.random.default_rng(9)
    times, exact = _seek(player, index, N_SEEKS)
    steps = []
    frame = index.n_frames // 2
    for _ in range(N_SEEKS // 2):
        frame += int(random.choice([-1, 1]))
        _, took_ms, _ = player.frame_at(seek_s(index, frame), media_s(index, frame))
        steps.append(took_ms)
    return [
        Figure(f"{name}: random seek, p50", percentile(times, 0.5), "ms"),
        at_most(f"{name}: random seek, p95", percentile(times, 0.95), "ms", 60),
        at_most(f"{name}: one frame on or back, p95", percentile(steps, 0.95), "ms", 60),
        at_least(f"{name}: exact of {N_SEEKS}", exact, "frames", N_SEEKS),
    ]


def _seek(player: Player, index: FrameIndex, n: int) -> tuple[list[float], int]:
    times, exact, last = [], 0, -1
    for frame in np.random.default_rng(4).integers(0, index.n_frames, n).tolist():
        if frame == last:
            frame = (frame + 1) % index.n_frames
        last = frame
        _, took_ms, strip = player.frame_at(seek_s(index, frame), media_s(index, frame))
        times.append(took_ms)
        upper = np.concatenate([strip, np.zeros((strip.shape[0] * 7, *strip.shape[1:]), np.uint8)])
        exact += read_number(upper) == frame
    return times, exact
