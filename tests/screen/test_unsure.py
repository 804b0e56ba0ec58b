"""Unsure between two: one plain key says “or”, in the log, on the keys, in the second look."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_this_or_that_is_kept_as_unsure_and_asked_again_in_the_second_look(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d 1")
    assert "/\nor, unsure between two" in page.locator("#caps .k").all_inner_texts()
    page.keyboard.press("Slash")
    assert page.inner_text("#hand").endswith("which set? Lantern or …")
    assert page.locator("#caps .k").all_inner_texts()[0] == "2\nKeel", "Lantern is said already"
    press(page, "2 a s 1 4 Slash 2")
    assert page.inner_text("#hand").endswith("who shot? 14 or 2")
    assert any(one.startswith("22") for one in page.locator("#caps .k").all_inner_texts()), "the roster is offered"
    press(page, "2 a h n")
    assert said(page)[-2:] == ["Lantern or Keel, left.", "14 or 22 shot: saved, lost; no feed."]
    page.wait_for_function("() => document.getElementById('unanswered').textContent.startsWith('2')")
    rows = house.season.tagged.folded(game, "coach").rows
    assert [(row["shooter"], row["unsure"]) for row in rows["shots"]] == [("unseen", "14 22")]
    assert [(row["set"], row["between"]) for row in rows["runs"]] == [(None, "lantern keel")]
    press(page, "Escape W")
    assert page.inner_text("#told") == "Lantern or Keel: which set? 2 left"
    assert "now Lantern or Keel" in page.inner_text("#caps") or "keeps Lantern or Keel" in page.inner_text("#caps")
    press(page, "2")
    assert page.inner_text("#told") == "14 or 22: who shot? 1 left"
    press(page, "2 2 Enter")
    assert said(page)[-2:] == ["Keel, left.", "22 shot: saved, lost; no feed."]
