"""How soon the first page is there after the program is started on the sample season, and how soon each page after."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.figure import Figure, at_most
from tests.chromium import find_browser, launch_arguments
from tests.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAME = "page"
ABOUT = "start of the server to the first page read in a browser; then from page to page"
N_RUNS = 5
PAGES = ("sets", "players", "games/g3", "players/14", "playbook")


def run() -> list[Figure]:
    """Start the program five times on the sample season; the browser runs already, as a user's does."""
    from playwright.sync_api import sync_playwright

    from dashboard.demo import make_demo

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        season = Path(folder) / "demo"
        start = time.perf_counter()
        make_demo(season)
        made_s = time.perf_counter() - start
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        firsts, answers, laters = [], [], []
        for _ in range(N_RUNS):
            answered, first, later = _once(season, browser)
            answers.append(answered)
            firsts.append(first)
            laters += later
        browser.close()
    return [
        Figure("making the sample season", made_s, "s"),
        Figure("start to address printed, median", statistics.median(answers), "s"),
        at_most("start to first page, median", statistics.median(firsts), "s", 5),
        at_most("start to first page, slowest", max(firsts), "s", 5),
        Figure("page to page, median", statistics.median(laters) * 1000, "ms"),
        Figure("page to page, slowest", max(laters) * 1000, "ms"),
    ]


def _once(season: Path, browser: Browser) -> tuple[float, float, list[float]]:
    start = time.perf_counter()
    served = Served(season)
    try:
        answered = time.perf_counter() - start
        page = browser.new_page()
        page.goto(served.address)
        page.wait_for_selector("main h1")
        first = time.perf_counter() - start
        later = []
        for path in PAGES:
            began = time.perf_counter()
            page.goto(served.address + path)
            page.wait_for_selector("main h1")
            later.append(time.perf_counter() - began)
        page.close()
        return answered, first, later
    finally:
        served.stop()
