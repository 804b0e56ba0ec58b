"""Keys while eight other tabs hold a film each: paused players keep asking for film, and must not hold up the marks."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import camera_like, percentile
from tests.bench.keys import timed
from tests.chromium import find_browser, launch_arguments
from tests.screen.house import House, opened
from tests.served import Served

NAME = "open-films"
ABOUT = "key press → on disk in the program itself, with eight heavy films open and paused in eight other tabs"
N_TABS = 8


def run() -> list[Figure]:
    """Time presses with no other tab, then with eight; each tab has played its film a little and holds it."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        film = camera_like(Path(folder, "heavy.mp4"), seconds=40, size=(1280, 720), bit_rate=16_000_000)
        house = House(Path(folder) / "herons", film)
        games = [house.game() for _ in range(N_TABS + 2)]
        served = Served(house.folder)
        house.port = int(served.address.rstrip("/").rpartition(":")[2])
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            tab = {"viewport": {"width": 1366, "height": 768}}
            alone = timed(opened(browser.new_page(**tab), house, games[0]), playing=False)
            waiting = [_held(browser.new_page(**tab), house, game) for game in games[1 : N_TABS + 1]]
            crowded = timed(opened(browser.new_page(**tab), house, games[-1]), playing=False)
            n_open = sum(page.evaluate("() => document.getElementById('video').readyState >= 2") for page in waiting)
        finally:
            browser.close()
            served.stop()
            house.close()
    return [
        at_least("films open and paused", n_open, "films", N_TABS),
        Figure("alone: on disk, p95", percentile(alone["acknowledged"], 0.95), "ms"),
        Figure("with them: page changed, p95", percentile(crowded["changed"], 0.95), "ms"),
        Figure("with them: on disk, p50", percentile(crowded["acknowledged"], 0.5), "ms"),
        at_most("with them: on disk, p95", percentile(crowded["acknowledged"], 0.95), "ms", 25),
    ]


def _held(page: Any, house: House, game: str) -> Any:
    opened(page, house, game)
    page.keyboard.press("l")
    page.wait_for_function("() => document.getElementById('video').currentTime > 0.5")
    page.keyboard.press("k")
    return page
