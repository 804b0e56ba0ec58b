"""Figures in a real browser: marks picked at random play exactly what a recount finds for their words."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, Page

from dashboard.pages.shell import place_of
from tagger.floor.rules import floor_rules
from tagger.season import Season
from tests.dashboard.herons import entry
from tests.dashboard.recount.book import Book
from tests.dashboard.recount.reading import Control
from tests.dashboard.recount.recounted import Page as Counted
from tests.dashboard.recount.recounted import wrong
from tests.dashboard.recount.test_recount import rule_of
from tests.dashboard.test_browser import opened, playing, said, settled_width
from tests.served import Served

pytestmark = pytest.mark.browser
SEED = 20261128
NARROW = (360, 780)
PLACE_M = (20.0, 4.0)
"""Of the first of the shots with a place: towards the goal, and to the left as its shooter faces it."""


@pytest.fixture(scope="module")
def book(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """The small season's rows."""
    season = Season.open(shutil.copytree(built, tmp_path_factory.mktemp("book") / "herons"))
    yield Book(season)
    season.close()


class Placed(Served):
    """The small season with some shots at places, served."""

    def __init__(self, folder: Path) -> None:
        season = Season.open(folder)
        film = season.shelf.films("g1")[0].id
        marks = [(34_000, list(PLACE_M), "wide"), (35_000, [22.0, -1.0], "goal"), (36_000, None, "saved")]
        raw = [
            entry("g1", 90 + 2 * at, film, at_ms - 500 * both, "shot" if both == 0 else "possession", answers)
            for at, (at_ms, place, result) in enumerate(marks)
            for both, answers in (
                (1, {"team": "ours"}),
                (0, {"shooter": "14", "result": result, "recovered": "no", **({"place": place} if place else {})}),
            )
        ]
        for number, one in enumerate(raw):
            one |= {"n": 200 + number, "id": f"g1-{200 + number}"}
        season.journal.add("g1", "coach", raw)
        season.close()
        self.folder = folder
        super().__init__(folder)


@pytest.fixture
def placed(built: Path, tmp_path: Path) -> Iterator[Placed]:
    """Of a test's own."""
    made = Placed(Path(shutil.copytree(built, tmp_path / "herons")))
    yield made
    made.stop()


def pressed(page: Page, mark: Locator) -> dict[str, Any]:
    """What a mark asks for when it is pressed."""
    with page.expect_request("**/clips") as asked:
        mark.dispatch_event("click")
    return dict(json.loads(asked.value.post_data or "{}"))


def fault_of(page: Page, book: Book, address: str, mark: Locator, part: str = "") -> str:
    """What a pressed mark plays besides, or instead of, the rows that its words mean."""
    sent = pressed(page, mark)
    what = mark.get_attribute("data-what") or ""
    place = place_of(*address.partition("?")[::2])
    nowhere = dict.fromkeys(("head", "column", "row", "about", "text", "beside"), "")
    control = Control((), what=what, table=sent["table"], ids=tuple(sent["ids"]), **nowhere)
    rule = rule_of(f"{place.page or 'front'} / {part}{what}")
    assert rule is not None, what
    return wrong(rule(Counted(book, place.page, place.of, place.chosen), control), control)


def random_marks(page: Page, which: str, n: int) -> list[Locator]:
    """So many of the marks of a figure, always the same ones."""
    marks = page.locator(which).all()
    return random.Random(SEED).sample(marks, min(n, len(marks)))


def test_a_games_figure_plays_tells_and_is_walked_along(page: Page, served: Served, book: Book) -> None:
    opened(page, served, "games/g1")
    marks = random_marks(page, ".game-figure .mark.plays", 4)
    assert len(marks) == 4
    for mark in marks:
        assert fault_of(page, book, "/games/g1", mark) == ""
    box = page.locator(".period").bounding_box()
    assert box is not None
    page.locator(".period").scroll_into_view_if_needed()
    box = page.locator(".period").bounding_box() or box
    y = box["y"] + box["height"] - 12
    page.mouse.move(box["x"] + box["width"] * 0.35, y)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.8, y, steps=5)
    page.mouse.up()
    said(page, "1st period, 0:14 to 0:31 · 3 of 3 have film.")
    playing(page, 0)
    told = page.locator("#stretch .pos")
    assert told.count() == 3 and "9 shot: goal" in told.first.inner_text()
    page.get_by_role("button", name="Lantern", exact=True).click()
    assert page.locator(".held.lit").count() == 2
    page.get_by_role("button", name="put away").click()
    assert page.locator("#stretch").is_hidden()
    page.locator(".held[tabindex='0']").first.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert page.locator("#stretch .pos").count() == 2
    page.keyboard.press("Enter")
    playing(page, 0)
    page.set_viewport_size({"width": NARROW[0], "height": NARROW[1]})
    assert settled_width(page, NARROW[0]) <= NARROW[0]


def test_a_possession_without_film_is_told_by_mouse_and_keys(page: Page, served: Served) -> None:
    opened(page, served, "games/g2")
    page.locator(".held").first.focus()
    page.keyboard.press("Enter")
    assert "14 shot: goal" in page.locator("#stretch").inner_text()
    assert "No film of it." in page.locator("#stretch").inner_text()


def test_every_kind_of_mark_of_the_half_floor_plays_what_it_stands_for(page: Page, placed: Placed) -> None:
    address = "/shots?strength="
    season = Season.open(placed.folder)
    try:
        book = Book(season)
        opened(page, placed, address[1:])
        shots = random_marks(page, ".half-floor .shot.plays", 2)
        for mark in (
            *shots,
            *random_marks(page, ".half-floor .field.plays", 2),
            *random_marks(page, ".pack .plays", 1),
        ):
            assert fault_of(page, book, address, mark) == ""
        unknown = page.locator(".unplaced button.plays")
        assert fault_of(page, book, address, unknown) == ""
    finally:
        season.close()
    where = page.locator(".half-floor .shot.plays").first.bounding_box()
    floor = page.locator(".half-floor").bounding_box()
    assert where is not None and floor is not None
    x, y = where["x"] + where["width"] / 2 - floor["x"], where["y"] + where["height"] / 2 - floor["y"]
    metres = floor_rules("canadian").width_m / floor["width"]
    assert x * metres == pytest.approx(floor_rules("canadian").width_m / 2 - PLACE_M[1], abs=0.2)
    assert y * metres == pytest.approx(floor_rules("canadian").length_m / 2 - PLACE_M[0], abs=0.2)
    page.set_viewport_size({"width": NARROW[0], "height": NARROW[1]})
    assert settled_width(page, NARROW[0]) <= NARROW[0]
    page.set_viewport_size({"width": 1440, "height": 900})
    page.locator(".half-floor .shot.plays").first.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    playing(page, 0)


def test_the_week_says_the_last_game_and_each_games_goals_play(page: Page, served: Served, book: Book) -> None:
    opened(page, served)
    assert page.locator("main h1").inner_text().endswith("1–0 against Millrace.")
    row = page.locator(".courses li", has_text="Quarry Hill")
    part = "How did each game go? / "
    for mark in (*row.locator(".course .mark.plays").all(), *row.locator("button.plays").all()):
        assert fault_of(page, book, "/", mark, part) == ""
    assert row.locator(".plays").count() == 2, "the goal, and the side that has one"
    assert page.locator("main table").count() == 0, "the table of games stands on the games' page alone"
    page.set_viewport_size({"width": NARROW[0], "height": NARROW[1]})
    assert settled_width(page, NARROW[0]) <= NARROW[0]
    row.get_by_role("link", name="Quarry Hill").click()
    page.wait_for_selector(".game-figure")


def test_a_players_marks_are_walked_along_and_his_reel_is_a_command_to_copy(page: Page, served: Served) -> None:
    opened(page, served, "players/14")
    rows = page.locator(".his-games [data-marks]:has(button.plays)")
    rows.first.locator("button.plays").first.focus()
    page.keyboard.press("ArrowDown")
    on = page.evaluate("document.activeElement.closest('[data-marks]')?.ariaLabel")
    assert on == rows.nth(1).get_attribute("aria-label")
    page.keyboard.press("Enter")
    playing(page, 0)
    page.get_by_role("link", name="A reel of them").click()
    top = "document.querySelector('#reel').getBoundingClientRect().top"
    page.wait_for_function(f"() => {top} > 0 && {top} < innerHeight - 40")
    copy = page.get_by_role("button", name="copy it")
    assert "--player 14" in (copy.get_attribute("data-copy") or "")
    copy.click()
    page.wait_for_function("/^copied|^selected/.test(document.querySelector('main .copy').textContent)")
    assert page.evaluate("document.activeElement !== document.body")
    page.set_viewport_size({"width": NARROW[0], "height": NARROW[1]})
    assert settled_width(page, NARROW[0]) <= NARROW[0]
