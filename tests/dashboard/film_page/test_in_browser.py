"""The page where film is brought in, and the tagging page changing over, as a person sees them in a browser."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tagger.season import Season
from tagger.work.bring import bring_film
from tagger.work.queue import Queue
from tests.film.maker import Recipe, make

if TYPE_CHECKING:
    from playwright.sync_api import Page
from tests.dashboard.film_page.conftest import SOURCE, wait_for


@pytest.mark.browser
def test_a_coach_brings_film_in_and_watches_the_work(page: Page, served: str, season: Season) -> None:
    page.set_default_timeout(60_000)
    queue = Queue(season)
    try:
        page.goto(f"{served}/films")
        page.wait_for_selector('body[data-ready="yes"]')
        assert "films of young people" in page.inner_text(".lede")
        page.get_by_role("button", name="Videos").click()
        page.get_by_role("button", name="<b>card").click()
        assert page.get_by_role("button", name="Bring it in").is_disabled()
        for name in ("old.avi", "broken.mp4"):
            page.get_by_role("checkbox", name=name).check()
        page.wait_for_selector("#files .bad")
        wait_for(lambda: "MPEG-4" in page.inner_text("#files"))
        page.fill("#opponent", "Millrace")
        page.fill("#date", "2026-03-21")
        assert page.get_by_role("button", name="Bring it in").is_disabled(), "one of them is no film"
        page.get_by_role("button", name="broken.mp4: leave out").click()
        assert not page.get_by_role("checkbox", name="broken.mp4").is_checked()
        assert "Copies take up to" in page.inner_text("#room") and "free" in page.inner_text("#room")
        page.get_by_role("button", name="Bring it in").click()
        page.wait_for_selector("#jobs li")
        assert "old.avi, Millrace" in page.inner_text("#jobs")
        page.get_by_role("button", name="Pause", exact=False).first.click()
        page.wait_for_selector("#jobs li.resting")
        queue.start()
        time.sleep(1.5)
        assert season.games.all() == [], "what is paused rests"
        page.get_by_role("button", name="Go on", exact=False).first.click()
        wait_for(lambda: "plays" in page.inner_text("#games"))
        page.wait_for_selector("#work", state="hidden")
        (game,) = season.games.all()
        assert [film.state for film in season.shelf.films(game.id)] == ["ready"]
        assert page.get_by_role("link", name="tag it").get_attribute("href") == f"/tag/{game.id}"
        assert page.locator("#game").input_value() == "", "the next film makes the next game"
    finally:
        queue.close()


@pytest.mark.browser
def test_names_of_files_are_text(page: Page, served: str) -> None:
    page.goto(f"{served}/films")
    page.wait_for_selector('body[data-ready="yes"]')
    page.get_by_role("button", name="Videos").click()
    page.wait_for_selector("#listing button:has-text('card')")
    assert page.inner_text("#listing button .name") == "<b>card"
    assert page.locator("#listing b").count() == 0


@pytest.mark.browser
def test_the_tagging_page_changes_over_to_the_light_copy_on_the_same_frame(
    page: Page, served: str, season: Season, tmp_path: Path
) -> None:
    page.set_default_timeout(60_000)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    path = make(Recipe("long groups", n_frames=300, gop=300, size=(640, 360)), tmp_path)
    (film,) = bring_film(season, "g1", [path])
    page.goto(f"{served}/tag/g1?at=4000")
    page.wait_for_selector('body[data-ready="film"]')
    assert page.evaluate(SOURCE).endswith(f"/film/{film.id}?v=original")
    wait_for(lambda: number_on_screen(page) == 100, 20)
    queue = Queue(season)
    try:
        assert queue.run([film.id]) == []
    finally:
        queue.close()
    wait_for(lambda: page.evaluate(SOURCE).endswith("?v=viewing"))
    wait_for(lambda: number_on_screen(page) == 100, 20)
    page.wait_for_selector(".frozen", state="detached")
    page.keyboard.press(".")
    wait_for(lambda: number_on_screen(page) == 101, 20)


CHANGES = """async ([version, rate, fails]) => {
  const { ChangeOver } = await import("/screen/film/changeover.js");
  const film = (version) => ({ id: "f", state: "ready", version });
  const first = film(version);
  const gone = [];
  const deck = {
    onScreen: { film: first, aim: null }, films: [first], frames: new Map([["f", 1]]), rate, again: null, loop: null,
    goal: null, gameMs: 500, video: {},
    goTo: async (ms) => {
      gone.push(ms);
      deck.onScreen.film = deck.films[0];
      if (fails-- > 0) { deck.gameMs = 0; throw new Error("gone"); }
    },
  };
  let frozen = 0;
  const change = new ChangeOver(deck, () => (frozen++, () => frozen--));
  const rest = () => new Promise((resolve) => setTimeout(resolve, 30));
  const steps = [];
  const step = async (does) => { does(); await rest(); steps.push([...gone]); };
  await step(() => change.take([film("viewing")]));
  await step(() => { deck.rate = 0; change.ifDue(); });
  await step(() => change.take([film("viewing")]));
  await step(() => change.take([film("viewing")]));
  return { steps, frozen, frames: deck.frames.size, plays: deck.onScreen.film.version };
}"""


@pytest.mark.browser
@pytest.mark.parametrize(
    ("version", "rate", "fails", "steps"),
    [
        ("original", 0, 0, [[500], [500], [500], [500]]),
        ("original", 1, 0, [[], [500], [500], [500]]),
        ("part-50", 1, 0, [[500], [500], [500], [500]]),
        ("viewing", 0, 0, [[], [], [], []]),
        ("original", 0, 1, [[500], [500, 500], [500, 500], [500, 500]]),
    ],
    ids=["held", "playing", "playing a part", "nothing new", "tried again"],
)
def test_film_changes_over_when_it_may(
    page: Page, served: str, version: str, rate: int, fails: int, steps: list[list[int]]
) -> None:
    page.goto(f"{served}/screen/tokens.css")
    found = page.evaluate(CHANGES, [version, rate, fails])
    assert found["steps"] == steps
    assert found["frozen"] == 0 and found["plays"] == "viewing"
    assert found["frames"] == (1 if version == "viewing" else 0)


@pytest.mark.browser
def test_the_tagging_page_begins_with_the_part_that_is_done(
    page: Page, served: str, season: Season, tmp_path: Path
) -> None:
    page.set_default_timeout(90_000)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    from fractions import Fraction

    slow = Recipe("slow", suffix=".avi", codec="mpeg4", sound=None, n_frames=900, rate=Fraction(10))
    (film,) = bring_film(season, "g1", [make(slow, tmp_path)])
    page.goto(f"{served}/tag/g1")
    page.wait_for_selector("#blank:not([hidden])")
    assert page.inner_text("#blank").startswith("slow.avi is being made playable")
    queue = Queue(season)
    try:
        queue.start()
        wait_for(lambda: "?v=" in page.evaluate(SOURCE))
        wait_for(lambda: page.evaluate(SOURCE).endswith("?v=viewing"))
        wait_for(lambda: number_on_screen(page) == 0, 20)
        assert page.locator("#blank").is_hidden()
    finally:
        queue.close()
    assert (
        json.loads(page.request.get(f"{served}/tag/g1/films.json").text())["films"][0]["until_ms"] == film.duration_ms
    )


def number_on_screen(page: Page) -> int:
    """The number drawn into the picture that the tagging page's video shows; -1 while there is none."""
    from tests.screen.house import frame_on_screen

    if not page.evaluate("document.getElementById('video').videoWidth"):
        return -1
    try:
        return frame_on_screen(page)
    except ValueError:
        return -1
