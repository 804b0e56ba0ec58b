"""For everyone: names for screen readers, visible focus, a laptop at 200 %, a tablet tapped with a finger.

What is asked of names, focus and reflow follows WCAG 2.2 (https://www.w3.org/TR/WCAG22/), 4.1.2, 2.4.7 and 1.4.10.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser


def test_everything_that_can_be_used_has_a_name(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B F u d 1 a s 1 4")
    tree = page.locator("body").aria_snapshot()
    for name in (
        'complementary "What happened"',
        'region "Film and keys"',
        "heading",
        'button "The period begins."',
        "status",
    ):
        assert name in tree, tree
    nameless = page.evaluate(
        """() => [...document.querySelectorAll("button, a, input, canvas, video, dialog, [role=button]")]
          .filter((one) => !one.hidden && !one.labels?.length)
          .filter((one) => !(one.textContent.trim() || one.getAttribute("aria-label")))
          .map((one) => one.outerHTML)"""
    )
    assert nameless == []


def test_focus_is_seen_wherever_tab_leads(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B d")
    seen = []
    for _ in range(12):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => { const one = document.activeElement; const style = getComputedStyle(one);
              return [one.id || one.textContent.trim(), style.outlineStyle, parseFloat(style.outlineWidth)]; }"""
        )
        if at[0] in [name for name, *_ in seen] or at[1] == "none":
            break
        seen.append(at)
    assert seen and all(style == "solid" and width >= 2 for _, style, width in seen), seen
    page.keyboard.press("x")  # wherever the focus is, keys still mark
    assert said(page)[-1] == "Someone lost the ball."


def test_at_200_percent_nothing_lies_outside_and_keys_still_mark(new_page: Callable[..., Any], house: House) -> None:
    page = new_page(683, 384)  # a 1366 × 768 laptop at 200 %
    opened(page, house, house.game())
    press(page, "B d 1 a e u 2 2 Enter 1 4 s")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert said(page)[-1] == "Someone shot."


def test_on_a_tablet_the_strip_is_tapped_digits_too(new_page: Callable[..., Any], house: House) -> None:
    page = new_page(1024, 768, has_touch=True, is_mobile=True)
    game = house.game()
    opened(page, house, game)
    for key in ("B", "d", "s", "1", "4", "g"):
        page.tap(f'#caps [data-key="{key}"]')
    assert said(page)[-1] == "14 shot: goal."
    size = page.locator("#caps .k").first.bounding_box()
    assert size["height"] >= 24 and size["width"] >= 24  # WCAG 2.2, 2.5.8
    house.wait_for(game, 5)


def test_a_screen_reader_hears_the_question_and_the_refusal(page: Any, house: House) -> None:
    opened(page, house, house.game())
    press(page, "B s")
    assert page.get_attribute("#told", "role") == "status"
    press(page, "d e")
    assert page.get_attribute("#hand", "aria-live") == "polite" and "who came free?" in page.inner_text("#hand")
