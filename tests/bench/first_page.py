"""How soon the program is there: from the command to the first page drawn in a browser."""

import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.bench.figure import Figure, at_most
from tests.chromium import find_browser, launch_arguments

NAME = "first-page"
ABOUT = "`floorbook demo`, made new and again: to the printed address, and to the first page drawn in the browser"
CLONE = Path(__file__).resolve().parents[2]
N_RUNS = 5


def run() -> list[Figure]:
    """Make the sample season once, then start on it several times; the slowest start is held to the goal."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        folder = Path(place) / "season"
        with _served(folder) as (_, made_s):
            pass
        starts, drawn = [], []
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=find_browser(), args=launch_arguments())
            for _ in range(N_RUNS):
                begun = time.perf_counter()
                with _served(folder) as (address, start_s):
                    page = browser.new_page()
                    page.goto(address)
                    page.locator("h1").first.wait_for()
                    drawn.append(time.perf_counter() - begun)
                    starts.append(start_s)
                    page.close()
            browser.close()
    return [
        Figure("sample season made, address printed", made_s, "s"),
        Figure("started again, address printed, slowest", max(starts), "s"),
        at_most("started again, first page drawn, slowest", max(drawn), "s", 5),
    ]


@contextmanager
def _served(folder: Path) -> Iterator[tuple[str, float]]:
    """A running `floorbook demo`: its address, and how many seconds it took to print it."""
    command = [sys.executable, "-m", "dashboard.cli", "demo", str(folder), "--no-browser", "--port", "0"]
    begun = time.perf_counter()
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8") as told,
        subprocess.Popen(
            command, cwd=CLONE, stdout=subprocess.PIPE, stderr=told, text=True, encoding="utf-8"
        ) as server,
    ):
        assert server.stdout is not None
        for line in server.stdout:
            if found := re.search(r"http://\S+", line):
                break
        else:
            told.seek(0)
            raise RuntimeError(f"no address was printed; exit code {server.wait()}: {told.read()}")
        try:
            yield found[0], time.perf_counter() - begun
        finally:
            server.terminate()
