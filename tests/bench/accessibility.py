"""Whether everybody can reach every page: the rules that axe-core knows, at two sizes, light and dark.

axe-core (Deque Systems, Mozilla Public License 2.0) checks what a program can of WCAG 2.2, A and AA, and of good
practice: names, roles, contrast, order, focus. What it does not find may still be wrong; what it finds is.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.bench.figure import Figure, at_most
from tests.chromium import find_browser, launch_arguments
from tests.house.tree import CLONE
from tests.served import Served

NAME = "accessibility"
ABOUT = "every page of the sample season, laptop and phone, light and dark: what axe-core finds"
AXE = CLONE / ".setup" / "node_modules" / "axe-core" / "axe.min.js"
SIZES = ((1440, 900), (390, 844))
SCHEMES = ("light", "dark")


def addresses() -> list[str]:
    """One page of every kind, the page of film and the tagging page among them."""
    from dashboard.pages.registry import PAGES

    ours = [page.address.format(set="lantern", player="14", game="g1").lstrip("/") for page in PAGES.values()]
    return [*ours, "films", "tag/g1"]


def faults(page: Any) -> list[str]:
    """What is found on the page as it stands.

    Parameters
    ----------
    page : playwright Page

    Returns
    -------
    list of str
        Rule, how many places, the first of them.
    """
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    return [f"{one['id']}, {len(one['nodes'])}: {one['nodes'][0]['html'][:160]}" for one in found]


def run() -> Iterator[Figure]:
    """Places at fault by page, over sizes and schemes."""
    found: dict[str, list[str]] = {path: [] for path in addresses()}
    with _sample() as served, _browser() as browser:
        for scheme in SCHEMES:
            for width_px, height_px in SIZES:
                context = browser.new_context(viewport={"width": width_px, "height": height_px}, color_scheme=scheme)
                page = context.new_page()
                for path, told in found.items():
                    opened(page, served, path)
                    told += [f"{width_px} {scheme}, {fault}" for fault in faults(page)]
                context.close()
    for path, told in found.items():
        print("".join(f"/{path} at {fault}\n" for fault in told), end="")
        yield at_most(f"/{path}: rules broken", len(told), "", 0)


def opened(page: Any, served: Served, path: str) -> None:
    """Go to a page and wait until it is drawn."""
    page.goto(served.address + path)
    page.wait_for_selector('body[data-ready="film"]' if path.startswith("tag") else "h1")
    page.wait_for_timeout(400)  # figures and film come after the words


@contextmanager
def _sample() -> Iterator[Served]:
    from dashboard.demo import make_demo

    with TemporaryDirectory() as place:
        folder = Path(place) / "herons"
        make_demo(folder)
        served = Served(folder)
        try:
            yield served
        finally:
            served.stop()


@contextmanager
def _browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    program = find_browser()
    if program is None:
        raise RuntimeError("no Chrome, Chromium or Edge found: install one, or name it in FLOORBOOK_BROWSER")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=launch_arguments())
        yield browser
        browser.close()
