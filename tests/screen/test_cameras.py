"""Another camera: looked through at the moment on screen, tied by one moment of both, marked on like any film."""

from __future__ import annotations

from typing import Any

import pytest

from tagger.shelf.films import NewFilm
from tests.screen.house import House, frame_on_screen, opened, press
from tests.screen.test_film import FRAME_MS, settled

pytestmark = pytest.mark.browser
BEHIND = "behind the goal"


def filmed_twice(house: House) -> str:
    """A game whose second camera has the same film: then every frame number says which moment of which film is seen."""
    game = house.game()
    size = house.film.stat().st_size
    ms = house.index.duration_ms
    new = NewFilm(
        f"{game}.behind", "behind.mp4", ms, house.film, size, f"{house.print}.{game}", index=house.index, camera=BEHIND
    )
    house.season.shelf.enter(game, [new])
    return game


def words(page: Any) -> str:
    text: str = page.locator("#camera").inner_text()
    return text


def looking(page: Any, frame: int) -> None:
    page.wait_for_function("() => !document.getElementById('camera').hidden")
    for _ in range(100):
        if frame_on_screen(page) == frame:
            return
        page.wait_for_timeout(20)
    assert frame_on_screen(page) == frame


def tied_by_hand(page: Any) -> None:
    """Frame 125 of the game's own film and frame 50 of the other one show the same moment."""
    press(page, "ArrowRight")
    settled(page, 125)
    press(page, "A")
    looking(page, 125)
    press(page, "ArrowLeft")
    looking(page, 0)
    press(page, " ".join(["."] * 50))
    looking(page, 50)
    with page.expect_navigation():
        page.keyboard.press("Shift+Q")
    page.wait_for_selector('body[data-ready="film"]')


def test_two_cameras_are_tied_by_one_moment_and_then_show_the_same_play(page: Any, house: House) -> None:
    game = filmed_twice(house)
    opened(page, house, game)
    press(page, "ArrowRight")
    settled(page, 125)
    press(page, "A")
    looking(page, 125)
    assert words(page) == f"{BEHIND}, not tied yet: find what the game’s film showed at 0:05.00, then ⇧Q"
    press(page, "A")
    page.wait_for_function("() => document.getElementById('camera').hidden")
    press(page, "ArrowLeft")
    settled(page, 0)
    tied_by_hand(page)
    settled(page, 125)
    assert frame_on_screen(page) == 125, "the page comes back to the game's own film at that moment"
    press(page, "A")
    looking(page, 50)
    assert words(page) == BEHIND
    press(page, ". . .")
    looking(page, 53)
    settled(page, 128)
    press(page, "A")
    page.wait_for_function("() => document.getElementById('camera').hidden")
    settled(page, 128)
    assert frame_on_screen(page) == 128


def test_a_mark_made_on_another_camera_stands_at_its_moment_of_the_game(page: Any, house: House) -> None:
    game = filmed_twice(house)
    opened(page, house, game)
    press(page, "B d A")
    looking(page, 0)
    press(page, "s")
    assert "not tied" in page.locator("#told").inner_text()
    press(page, "A")
    page.wait_for_function("() => document.getElementById('camera').hidden")
    tied_by_hand(page)
    press(page, "A")
    looking(page, 50)
    press(page, "s 1 4 g")
    entries = house.wait_for(game, 5)
    shot = next(one for one in entries if one.get("kind") == "shot")
    assert (shot["film"], shot["at_ms"]) == (f"{game}.behind", 50 * FRAME_MS)
    assert house.season.tagged.tables([game])["shots"]["at_ms"].tolist() == [125 * FRAME_MS]


def test_a_moment_that_the_other_camera_did_not_film_is_said(page: Any, house: House) -> None:
    game = filmed_twice(house)
    opened(page, house, game)
    tied_by_hand(page)
    press(page, "ArrowLeft")
    settled(page, 0)
    press(page, "A")
    page.wait_for_function("() => document.getElementById('told').innerText.includes('does not show this moment')")
    assert page.locator("#camera").is_hidden()


def test_with_one_camera_the_key_says_so(page: Any, house: House) -> None:
    opened(page, house, house.game())
    assert page.locator("#other-camera").is_hidden()
    press(page, "A")
    assert "one camera" in page.locator("#told").inner_text()


def test_a_tie_that_is_none_is_refused(page: Any, house: House) -> None:
    game = filmed_twice(house)
    other = house.game()
    opened(page, house, game)
    ask = """async ([game, body]) => {
        const headers = { "Content-Type": "application/json" };
        const answer = await fetch(`/tag/${game}/tie`, { method: "POST", headers, body: JSON.stringify(body) });
        return [answer.status, (await answer.json()).error?.code ?? ""];
    }"""
    whole = {"film": f"{game}.behind", "at_ms": 0, "of_film": f"{game}.1", "of_ms": 0}
    assert page.evaluate(ask, [game, {**whole, "at_ms": "0"}]) == [400, "no_tie"]
    assert page.evaluate(ask, [other, whole]) == [404, "no_film"]
    assert page.evaluate(ask, [game, {**whole, "of_ms": 10**9}])[0] == 404
    assert page.evaluate(ask, [game, whole]) == [200, ""]
