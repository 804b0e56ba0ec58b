"""Two people at one game: a book each, or one book between them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_in_a_shared_book_each_sees_the_others_marks_and_takes_back_only_his_own(
    new_page: Callable[..., Any], house: House
) -> None:
    game = house.game()
    anna, ben = new_page(), new_page()
    opened(anna, house, game, "?book=both&by=anna")
    opened(ben, house, game, "?book=both&by=ben")
    press(anna, "B d")
    ben.wait_for_function("() => document.querySelectorAll('#log .m').length === 2")
    assert said(ben) == ["The period begins. anna", "Ours. anna"]
    press(ben, "f Backspace Backspace")
    assert ben.inner_text("#told") == "nothing of yours to take back"
    press(ben, "x 2 3 c")
    anna.wait_for_function("() => document.querySelectorAll('#log .m').length === 3")
    assert said(anna)[-1] == "23 was stripped. ben"
    entries = house.wait_for(game, 7, "both")
    assert [entry["by"] for entry in entries] == ["anna"] * 2 + ["ben"] * 5
    assert house.entries(game) == []


def test_a_book_of_ones_own_holds_only_ones_own_marks(new_page: Callable[..., Any], house: House) -> None:
    game = house.game()
    page = new_page()
    opened(page, house, game)
    press(page, "B d")
    house.wait_for(game, 2)
    page.click("header button")
    page.fill("#whose [name=book]", "ben")
    page.fill("#whose [name=by]", "ben")
    page.click("#whose button")
    page.wait_for_url("**/tag/*?book=ben&by=ben")
    page.wait_for_selector('body[data-ready="film"]')
    assert said(page) == []
    press(page, "B")
    house.wait_for(game, 1, "ben")
    assert len(house.entries(game)) == 2
