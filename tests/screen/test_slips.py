"""What is typed wrongly is seen on the page before it becomes a row."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_keys_typed_ahead_wait_in_sight_and_answer_nothing(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "B d s 1 4 a 2 2 Enter n")
    assert page.inner_text("#means .waits").startswith("2 2 ↵ n wait: this question does not take 2. Esc lets go")
    assert page.locator("#caps .k").all_inner_texts() == ["Esc\nlet go of what waits", "⌫\nof the last one"]
    assert "who has it now?" in page.inner_text("#hand")
    press(page, "Escape h")
    assert said(page)[-1] == "14 shot: saved, lost."


def test_the_log_says_who_filled_the_roles(page: Any, house: House) -> None:
    game = house.game()
    opened(page, house, game)
    press(page, "D w B Enter d 1 a 8 Enter 5 Enter 2 7 Enter")
    assert said(page)[-1] == "Lantern, left, Wick 8, Glass 5, Post 27."
