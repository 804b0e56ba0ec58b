"""Fixtures that any test may use: a real browser and its pages."""

from __future__ import annotations

import signal
from collections.abc import Callable, Generator, Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.camera import camera_film  # noqa: F401 - a fixture for any test
from tests.chromium import find_browser, launch_arguments
from tests.counts import cases

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

WAIT_MS = 60_000  # longest wait for anything in a page: a test that hangs says where; a busy machine is no failure
LONG = (
    "test_queue.py",
    "test_queue_cut_off.py",
    "test_filmed.py",
    "test_mutants.py",
)  # beside what waits for a browser
MOST_SHOWN = 1500
FAILED = pytest.StashKey[bool]()
settings.register_profile("floorbook", max_examples=cases(30, many=100))
settings.load_profile("floorbook")

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # a shell's background job ignores the interrupt, and so would every child that a test is to interrupt
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The installed Chrome, Chromium or Edge, started once for each test process."""
    from playwright.sync_api import sync_playwright

    program = find_browser()
    if program is None:
        pytest.fail("no Chrome, Chromium or Edge found: install one, or name it in FLOORBOOK_BROWSER", pytrace=False)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=launch_arguments())
        yield browser
        browser.close()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Let fixtures know whether their test failed."""
    report = yield
    if report.when == "call":
        item.stash[FAILED] = report.failed
    return report


@pytest.fixture
def new_page(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Callable[..., Page]]:
    """Makes pages with nothing stored: ``new_page(width_px=1366, height_px=768, **context_options)``.

    A script error that a page does not handle fails the test when it ends, as a warning does in Python. Of a test that
    failed, what its pages showed is printed.
    """
    contexts = []
    errors: list[str] = []

    def make(width_px: int = 1366, height_px: int = 768, **context_options: object) -> Page:
        context = chromium.new_context(
            viewport={"width": width_px, "height": height_px},
            **context_options,
        )
        contexts.append(context)
        context.set_default_timeout(WAIT_MS)
        context.on("weberror", lambda web_error: errors.append(str(web_error.error)))
        return context.new_page()

    yield make
    for context in contexts:
        if request.node.stash.get(FAILED, False):
            for shown in context.pages:
                print(f"{shown.url} showed:\n{_text_of(shown)}\n")
        context.close()
    assert not errors, "script errors in the page:\n" + "\n".join(errors)


@pytest.fixture
def page(new_page: Callable[..., Page]) -> Page:
    """A fresh page of a small laptop's size, 1366 × 768."""
    return new_page()


def _text_of(page: Page) -> str:
    from playwright.sync_api import Error

    try:
        return str(page.evaluate("document.body.innerText"))[:MOST_SHOWN]
    except Error as fault:
        return f"nothing that could be read: {fault}"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files that take long come first, whole evenings before all: begun last, one core would run alone."""
    items.sort(
        key=lambda item: (
            "whole" not in item.path.parts,
            item.path.name not in LONG and item.get_closest_marker("browser") is None,
        )
    )
