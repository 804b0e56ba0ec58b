"""How soon film moves after a number is pressed, and after the next clip is asked for, on the sample season."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.figure import Figure, at_most
from tests.bench.heavy import percentile
from tests.chromium import find_browser, launch_arguments
from tests.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Page

NAME = "next-clip"
ABOUT = "a number to its film moving, and from clip to clip, within a film and between films"
PAGES = ("sets", "goals", "screens")
N_NUMBERS = 12
N_NEXT = 20
WATCHED_MS = 700
"""How long a clip is looked at before the next is asked for."""

MOVING = """([does, clip]) => new Promise((done, failed) => {
  const dock = document.querySelector('#dock');
  const shown = () => dock.querySelector('video.on') ?? dock.querySelector('video');
  delete dock.dataset.clip;
  const began = performance.now();
  let last = null;
  if (does.press !== undefined) // a figure's mark is of an SVG, and has no click() of its own
    document.querySelectorAll('main .plays')[does.press].dispatchEvent(new MouseEvent('click', {bubbles: true}));
  else dock.querySelectorAll('li [data-clip]')[clip].click();
  const look = () => {
    const video = shown();
    const runs = dock.dataset.clip === String(clip) && !video.paused && !video.seeking && video.readyState > 2;
    if (runs && last?.video === video && video.currentTime > last.at && video.currentTime - last.at < 1)
      return done([performance.now() - began, video.currentSrc]);
    last = runs ? {video, at: video.currentTime} : null;
    if (performance.now() - began > 20000) return failed(new Error('no film moved'));
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
})"""


def run() -> list[Figure]:
    """Press numbers on fresh pages, then go through the clips of a set that has them in two films."""
    from playwright.sync_api import sync_playwright

    from dashboard.demo import make_demo

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        season = Path(folder) / "demo"
        make_demo(season)
        served = Served(season)
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        try:
            numbers = [took for path in PAGES for took in _numbers(browser.new_page(), served.address + path)]
            within, between = _clips(browser.new_page(), served.address + "games/g1")
            _, across = _clips(browser.new_page(), served.address + "sets")
        finally:
            browser.close()
            served.stop()
    return [
        Figure("number to film moving, p50", percentile(numbers, 0.5), "ms"),
        at_most("number to film moving, p95", percentile(numbers, 0.95), "ms", 500),
        at_most("next clip of the same film, p95", percentile(within, 0.95), "ms", 300),
        at_most("next clip in another film, p95", percentile([*between, *across], 0.95), "ms", 300),
    ]


def _opened(page: Page, address: str) -> None:
    page.goto(address)
    page.wait_for_selector("main h1")
    page.wait_for_selector("#dock .card")
    page.wait_for_timeout(WATCHED_MS)


def _numbers(page: Page, address: str) -> list[float]:
    found = []
    _opened(page, address)
    for place in range(min(N_NUMBERS, page.locator("main .plays").count())):
        took, _ = page.evaluate(MOVING, [{"press": place}, 0])
        found.append(float(took))
        page.wait_for_timeout(WATCHED_MS)
    page.close()
    return found


def _clips(page: Page, address: str) -> tuple[list[float], list[float]]:
    """Times from clip to clip of the page's longest list: within one film, and between two."""
    within: list[float] = []
    between: list[float] = []
    _opened(page, address)
    counts = page.evaluate(
        "[...document.querySelectorAll('main .plays')].map(one => (one.dataset.ids ?? '').split(' ').length)"
    )
    _, film = page.evaluate(MOVING, [{"press": counts.index(max(counts))}, 0])
    n_clips = page.locator("#dock li").count()
    for step in range(1, min(N_NEXT, 2 * n_clips)):
        page.wait_for_timeout(WATCHED_MS)
        took, now = page.evaluate(MOVING, [{}, step % n_clips])
        (within if now == film else between).append(float(took))
        film = now
    page.close()
    return within, between
