"""Three coaches on a long season: forty games, their first page, from page to page, ten readers at once."""

from __future__ import annotations

import json
import os
import shutil
import statistics
import tempfile
import threading
import time
import urllib.request
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import percentile
from tests.chromium import find_browser, launch_arguments
from tests.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Page

NAME = "evening"
ABOUT = "a season of 40 games: its first page, filter to page repainted, ten readers at once, the server's memory"
N_GAMES = 40
N_STARTS = 3
CLONE = Path(__file__).resolve().parents[2]
FILTERS = (
    ("sets", "?side=left"),
    ("sets", "?strength=up"),
    ("sets", "?fact=goal"),
    ("screens", "?period=2"),
    ("shots", "?games=last"),
    ("players", "?games=last"),
    ("opponents", "?opponent=Larkspur"),
    ("goals", "?period=3"),
)
PAINTED = """() => new Promise((done) => requestAnimationFrame(() => setTimeout(() => done(performance.now()), 0)))"""
PRESS = """(href) => new Promise((done) => {
  const began = performance.now();
  const link = document.createElement('a');
  link.href = href; link.dataset.way = '';
  const painted = () => requestAnimationFrame(() => setTimeout(() => done(performance.now() - began), 0));
  document.addEventListener('floorbook:page', painted, {once: true});
  document.querySelector('header').append(link);
  link.click();
})"""


def run() -> list[Figure]:
    """Make the season, start the program on it, read it as coaches do."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        season = Path(folder) / "season"
        n_marks = long_season(Path(folder) / "source", season)
        browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
        colds = []
        for _ in range(N_STARTS):
            began = time.perf_counter()
            served = Served(season)
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            _opened(page, served.address)
            colds.append(time.perf_counter() - began)
            page.close()
            if len(colds) < N_STARTS:
                served.stop()
        try:
            warm = []
            for _ in range(5):
                page = browser.new_page(viewport={"width": 1440, "height": 900})
                began = time.perf_counter()
                _opened(page, served.address)
                warm.append(time.perf_counter() - began)
                page.close()
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            first, again = [], []
            for path, search in FILTERS:
                _opened(page, served.address + path)
                first.append(float(page.evaluate(PRESS, f"/{path}{search}")))
                page.evaluate(PRESS, f"/{path}")
                again.append(float(page.evaluate(PRESS, f"/{path}{search}")))
            page.close()
            asked = _asked(browser.new_page(), served.address)
            alone, beside = _readers(asked, 1), _readers(asked, 10)
            memory = _memory_mb(served.process.pid)
        finally:
            browser.close()
            served.stop()
    return [
        at_least("marks in the season", n_marks, "", 10_000),
        at_most("start of the program to its first page, median", statistics.median(colds), "s", 2),
        at_most("first page of a program that runs, median", statistics.median(warm), "s", 0.7),
        Figure("another part of the season asked for the first time, p50", percentile(first, 0.5), "ms"),
        at_most("another part of the season asked for the first time, p95", percentile(first, 0.95), "ms", 300),
        at_most("the same once more, p95", percentile(again, 0.95), "ms", 300),
        at_most("ten readers at once against one, p95", percentile(beside, 0.95) / percentile(alone, 0.95), "×", 3),
        at_most("the server's memory", memory, "MB", 400),
    ]


def long_season(source: Path, folder: Path) -> int:
    """The sample season with games made up for it, forty in all; gives how many marks it has."""
    from dashboard.demo import make_demo
    from sample_data.journals import SampleGame, games
    from sample_data.sim import simulate_game

    for name in ("season", "journals", "film"):
        shutil.copytree(CLONE / "sample_data" / name, source / name)
    listed: list[dict[str, Any]] = games()
    names = [game["opponent"] for game in listed]
    day = date.fromisoformat(max(game["date"] for game in listed))
    for number in range(len(listed) + 1, N_GAMES + 1):
        about = {
            "id": f"m{number:02d}",
            "date": str(day + timedelta(days=7 * number)),
            "opponent": names[number % len(names)],
            "home": number % 2 == 0,
        }
        listed.append(about)
        made = SampleGame(about, simulate_game(1000 + number, about["opponent"]).truth, None, None)
        (source / "journals" / f"m{number:02d}.jsonl").write_text(made.lines(), encoding="utf-8")
    (source / "season" / "games.json").write_text(json.dumps({"games": listed}), encoding="utf-8")
    make_demo(folder, source=source)
    return sum(len(path.read_text(encoding="utf-8").splitlines()) - 1 for path in (source / "journals").glob("*.jsonl"))


def _opened(page: Page, address: str) -> None:
    page.goto(address)
    page.wait_for_selector("main h1")
    page.evaluate(PAINTED)


def _asked(page: Page, address: str) -> list[Any]:
    """What a browser asks the server for each of four pages."""
    asked: list[Any] = []
    page.on("request", lambda request: asked.append(request) if "_dash-update-component" in request.url else None)
    for path in ("", "sets", "players", "shots"):
        _opened(page, address + path)
    found = [(one.url, one.post_data_buffer, dict(one.all_headers())) for one in asked]
    page.close()
    return found


def _readers(asked: list[Any], n: int) -> list[float]:
    """How long each of several readers waits for a page, all asking over and over at once."""
    took: list[float] = []

    def read() -> None:
        for url, body, headers in asked * 3:
            kept = {name: value for name, value in headers.items() if name not in ("content-length", "accept-encoding")}
            began = time.perf_counter()
            with urllib.request.urlopen(urllib.request.Request(url, body, kept), timeout=60) as answer:
                answer.read()
            took.append((time.perf_counter() - began) * 1000)

    readers = [threading.Thread(target=read) for _ in range(n)]
    for each in readers:
        each.start()
    for each in readers:
        each.join()
    return took


def _memory_mb(pid: int) -> float:
    status = Path(f"/proc/{pid}/status")
    if os.name != "posix" or not status.is_file():
        return float("nan")
    kept = next(line for line in status.read_text(encoding="utf-8").splitlines() if line.startswith("VmRSS"))
    return int(kept.split()[1]) / 1024
