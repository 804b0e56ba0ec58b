"""Two sets' runs on two films beside each other: both reach the screen on the same frame, and stay together."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from dashboard.loading import Present
from dashboard.pages.two_sets import TITLE
from dashboard.play import playlist
from tagger.season import Season
from tagger.work.bring import bring_film
from tests.dashboard.conftest import FPS
from tests.dashboard.herons import tag, texts
from tests.dashboard.test_browser import NUMBER
from tests.dashboard.test_pages import page as page_of
from tests.dashboard.test_pages import words
from tests.film.maker import strip_bits
from tests.served import Served

if TYPE_CHECKING:
    from playwright.sync_api import Page

SCREENS_MS = {"lantern": (7000, 17_000), "keel": (27_400,)}
MARKS: tuple[tuple[int, str, dict[str, Any]], ...] = (
    (0, "period_start", {"number": "1"}),
    (1000, "possession", {"team": "ours"}),
    (4000, "settled", {}),
    (6000, "set", {"set": "lantern", "side": "left"}),
    (7000, "screen", {"setter": "22", "user": "14", "free": "user"}),
    (9000, "shot", {"shooter": "14", "result": "saved", "recovered": "no"}),
    (12_000, "possession", {"team": "ours"}),
    (14_000, "settled", {}),
    (15_000, "set", {"set": "lantern", "side": "left"}),
    (17_000, "screen", {"setter": "22", "user": "14", "free": "nobody"}),
    (20_000, "turnover", {"player": "14", "kind": "bad_pass"}),
    (22_000, "possession", {"team": "ours"}),
    (23_000, "settled", {}),
    (24_000, "set", {"set": "keel", "side": "left"}),
    (27_400, "screen", {"setter": "5", "user": "31", "free": "user"}),
    (30_000, "shot", {"shooter": "31", "result": "goal"}),
    (38_000, "period_end", {}),
)
ANYWHERE = NUMBER.replace("() =>", "video =>", 1).replace("const video = document.querySelector('#dock video.on');", "")


@pytest.fixture
def two(numbered_film: Path, tmp_path: Path) -> Iterator[Season]:
    season = Season.open(texts(tmp_path / "two"), make=True)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    [held] = bring_film(season, "g1", [numbered_film])
    tag(season, "g1", held.id, MARKS)
    yield season
    season.close()


def test_a_run_s_clip_says_where_its_first_screen_is_and_one_without_says_nothing(two: Season) -> None:
    present = Present(two)
    rows = present.now().rows("runs")
    told = {}
    for id_, row in rows.items():
        for clip in playlist(present, "runs", [id_])["clips"]:
            told.setdefault(str(row["set"]), []).append((clip.get("screen") or {}).get("at_s"))
    assert told["lantern"] == [7.0, 17.0] and told["keel"] == [27.4]
    assert [
        clip for clip in playlist(present, "shots", list(present.now().rows("shots")))["clips"] if "screen" in clip
    ] == []


def test_a_set_without_film_is_named_in_place_of_the_button(present: Present) -> None:
    made = page_of(present, "/sets?one=lantern&other=keel")
    assert TITLE in words(made) and "No run of Keel has film: nothing to watch side by side." in words(made)


@pytest.mark.browser
def test_both_films_reach_the_screen_on_the_same_frame_and_what_is_pressed_elsewhere_holds_them(
    two: Season, new_page: Callable[..., Page]
) -> None:
    folder = two.folder
    two.close()
    served = Served(folder)
    try:
        page = new_page(1440, 900)
        page.goto(f"{served.address}sets?one=lantern&other=keel")
        page.locator("[data-both-films]").click()
        page.wait_for_selector('.two-sets[data-aligned="true"]')
        page.wait_for_function("() => document.querySelectorAll('.pane video.on')[1]?.currentTime > 26")
        page.keyboard.press(" ")  # the keys are at the films
        page.wait_for_function("() => [...document.querySelectorAll('.pane video.on')].every(one => one.paused)")
        assert abs(apart(page, SCREENS_MS["lantern"][0])) <= 1
        page.keyboard.press(".")
        page.keyboard.press(".")
        page.wait_for_function("() => [...document.querySelectorAll('.pane video.on')].every(one => !one.seeking)")
        page.keyboard.press("ArrowDown")  # the other run of Lantern, Keel's only one again
        page.get_by_text("2 of 2: Quarry Hill").wait_for()
        page.wait_for_function("() => document.querySelectorAll('.pane video.on')[0]?.currentTime > 16")
        page.keyboard.press(" ")
        page.wait_for_function("() => [...document.querySelectorAll('.pane video.on')].every(one => one.paused)")
        assert abs(apart(page, SCREENS_MS["lantern"][1])) <= 1
        page.keyboard.press(" ")
        page.wait_for_function("() => [...document.querySelectorAll('.pane video.on')].every(one => !one.paused)")
        page.locator("main h1 .plays, main .lede .plays, main .plays").first.click()
        page.wait_for_function("() => [...document.querySelectorAll('.pane video.on')].every(one => one.paused)")
    finally:
        served.stop()


def apart(page: Page, screen_ms: int) -> int:
    """By how many frames one film is nearer to its screen than the other, by the numbers in their pictures."""
    numbers = []
    for pane in page.locator(".pane video.on").all():
        bits = pane.evaluate(ANYWHERE)
        number = int("".join(map(str, bits[2:18])), 2)
        assert strip_bits(number) == bits, bits
        numbers.append(number)
    to_screen = (screen_ms * FPS / 1000 - numbers[0], SCREENS_MS["keel"][0] * FPS / 1000 - numbers[1])
    return round(to_screen[0] - to_screen[1])
