"""Keys, lines and reaction on the real page: the season's own keys and lines, and how fast the film ran at a mark."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser

KEYS = '[marks]\nshot = "e"\nscreen.new = "s"\n\n[answers]\nscreen.free.user = "g"\n'


@pytest.fixture
def own_keys(house: House) -> Iterator[House]:
    """The season while it has keys of its own."""
    path = house.folder / "keys.toml"
    path.write_text(KEYS, encoding="utf-8")
    yield house
    path.unlink()


def test_the_strip_the_sheet_and_the_keyboard_speak_the_seasons_own_keys(page: Any, own_keys: House) -> None:
    game = own_keys.game()
    opened(page, own_keys, game)
    press(page, "B d s")
    assert "used it" in page.inner_text("#caps")
    assert page.locator("#caps kbd").all_inner_texts()[:2] == ["g", "m"]
    press(page, "g Escape e 1 4 g")
    assert said(page)[2:] == ["Someone set a screen; the user came free.", "14 shot: goal."]
    page.keyboard.press("?")
    heads = page.locator("#sheet h4").all_inner_texts()
    assert any(head.split("\n")[0] == "e" and "shot" in head.lower() for head in heads), heads
    assert not any(head.split("\n")[0] == "s" and "shot" in head.lower() for head in heads)


def test_a_line_of_the_seasons_own_goes_out_with_its_letter(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter H")
    assert "Reeds" in page.inner_text("#caps") and "Gulls" in page.inner_text("#caps")
    press(page, "a n H u 1 4 Enter 7 m")
    assert said(page)[2:] == [
        "Line change, Reeds; clean.",
        "Line change, ours, 14 off, 7 on; bad change.",
    ]
    house.wait_for(game, 11)
    rows = house.season.tagged.folded(game).rows["lines"]
    assert [row["players"] for row in rows] == ["14 22 9 31 00", "22 9 31 00 7"]


def test_a_mark_says_how_fast_the_film_ran_and_one_on_held_film_says_nothing(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B")
    page.keyboard.press("Space")
    page.wait_for_function("() => !document.getElementById('video').paused")
    press(page, "d")
    page.keyboard.press("Space")
    page.wait_for_function("() => document.getElementById('video').paused")
    press(page, "x Escape")
    marks = [entry for entry in house.wait_for(game, 3) if entry["does"] == "mark"]
    assert [entry.get("speed") for entry in marks] == [None, 1, None]
