"""How many pages the sample season's reports take on paper: a game two, and a sheet for each part of the season."""

from __future__ import annotations

import re
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.figure import Figure, at_most
from tests.chromium import find_browser, launch_arguments

if TYPE_CHECKING:
    from playwright.sync_api import Page

NAME = "report"
ABOUT = "pages of every game's report and of the season's sheets, A4 and Letter, and how long they take to write"
PAPERS = ("A4", "Letter")


def run() -> list[Figure]:
    """Print each report of the sample season as a browser prints it."""
    from playwright.sync_api import sync_playwright

    from dashboard.demo import make_demo
    from dashboard.report import report
    from tagger.season import Season

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        make_demo(Path(folder) / "demo")
        season = Season.open(Path(folder) / "demo")
        began = time.perf_counter()
        whole = report(season).text
        took_s = time.perf_counter() - began
        games = [report(season, game).text for game in season.games.all()]
        season.close()
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        page = browser.new_page()
        figures = [Figure("writing the season's report", took_s, "s")]
        for paper in PAPERS:
            most = max(_pages(page, text, paper) for text in games)
            figures.append(at_most(f"pages of a game, {paper}, at most", most, "pages", 2))
            n_sheets = whole.count('<section class="sheet')
            more = _pages(page, whole, paper) - n_sheets
            figures.append(at_most(f"pages beyond one for each of {n_sheets} sheets, {paper}", more, "pages", 0))
        browser.close()
    return figures


def _pages(page: Page, text: str, paper: str) -> int:
    """How many page objects the printed document has; Chromium leaves them uncompressed."""
    page.set_content(text)
    page.evaluate("document.fonts.ready.then(() => 0)")
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))
