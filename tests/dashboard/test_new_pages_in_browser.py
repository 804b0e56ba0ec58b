"""The pages of numbers in a real browser: read on three windows, filtered, and clicked into their film."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from dashboard.pages.registry import PAGES
from tests.counts import cases
from tests.dashboard.test_browser import WINDOWS, frame, opened, playing, settled_width
from tests.served import Served

pytestmark = pytest.mark.browser
ADDRESSES = [one.address.format(set="lantern", player="14", game="g1").lstrip("/") for one in PAGES.values()]


@pytest.fixture
def own(built: Path, tmp_path: Path) -> Iterator[Served]:
    """The program serving a season that the test may change."""
    made = Served(Path(shutil.copytree(built, tmp_path / "herons")))
    yield made
    made.stop()


def test_no_page_is_wider_than_its_window(new_page, served):
    page = new_page(390, 844)
    for path in ADDRESSES[:: cases(2, many=1)]:
        opened(page, served, path)
        for width_px, height_px in WINDOWS:
            page.set_viewport_size({"width": width_px, "height": height_px})
            assert settled_width(page, width_px) <= width_px, (path, width_px)


def test_a_question_is_stated_in_the_page_and_stands_first(page, own):
    opened(page, own, "question")
    page.get_by_label("In your words").fill("Does Lantern shoot more on the left?")
    page.get_by_label("How often does it happen that").select_option("shot")
    page.locator("select[name=one_set]").select_option("lantern")
    page.locator("select[name=one_side]").select_option("left")
    page.get_by_role("button", name="State it").click()
    page.wait_for_selector(".answer b")
    assert page.locator("main h1").inner_text() == "Does Lantern shoot more on the left?"
    page.get_by_role("link", name="Week").click()
    page.wait_for_selector(".practice li.question")
    first = page.locator(".practice li").first
    assert "Your question" in first.inner_text() and "Too few to answer" in first.inner_text()
    first.locator(".plays").first.click()
    playing(page, 0)
    assert "The stated question" in page.locator("#dock .what").inner_text()


def test_what_cannot_be_asked_is_said_and_keeps_the_words(page, own):
    opened(page, own, "question")
    page.get_by_label("In your words").fill("Why?")
    page.get_by_role("button", name="State it").click()
    page.wait_for_selector(".fault")
    assert "say which are meant" in page.locator(".fault").inner_text()
    assert page.get_by_label("In your words").input_value() == "Why?"


def test_a_band_of_a_set_plays_its_runs_and_arrows_walk_from_band_to_band(page, served):
    opened(page, served, "sets/lantern")
    bands = page.locator(".flows g.band.plays")
    bands.first.focus()
    page.keyboard.press("ArrowRight")
    assert bands.nth(1).evaluate("one => document.activeElement === one")
    bands.first.click()
    playing(page, 0)
    assert 75 <= frame(page) < 288  # the run that was settled at 4.000 s and shot from at 9.000 s
    page.get_by_text("Way by way").click()
    assert page.locator(".flow tr", has_text="who used it").locator("button.plays").count() == 1


def test_a_screen_s_number_plays_it(page, served):
    opened(page, served, "screens")
    page.locator(".pairs tr", has_text="22").locator("button.plays").click()
    playing(page, 0)
    assert 25 <= frame(page) < 238  # the screen is marked at 7.000 s


def test_the_sentence_narrows_and_keeps_what_else_was_chosen(page, served):
    opened(page, served, "screens")
    page.locator(".choice summary", has_text="anybody").click()
    page.get_by_role("link", name="Millrace", exact=True).click()
    page.wait_for_function("() => document.querySelector('main').textContent.includes('No screen of this kind')")
    page.locator(".choice summary", has_text="any period").click()
    page.get_by_role("link", name="the first period").click()
    page.wait_for_function("() => location.search.includes('period=1')")
    assert "opponent=Millrace" in page.url


def test_no_page_asks_for_what_its_policy_forbids(page, served):
    told = []
    page.on("console", lambda message: told.append(message.text) if message.type == "error" else None)
    for path in ADDRESSES:
        opened(page, served, path)
    assert told == []
