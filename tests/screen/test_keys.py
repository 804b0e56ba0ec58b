"""Every key that the sheet names, pressed on the real page: with nothing at hand, at a line, in questions."""

from __future__ import annotations

from typing import Any

import pytest

from tests.screen.house import House, opened, press, said

pytestmark = pytest.mark.browser

NAMED = "[...document.querySelectorAll('#sheet p[data-key]:not(.key)')].map((one) => one.dataset.key)"
REST = "new Promise((done) => setTimeout(done, 40))"


@pytest.mark.parametrize(("keys", "state"), [("", "nothing at hand"), ("ArrowUp", "a line"), ("s", "a question")])
def test_every_key_of_the_sheet_is_taken_by_the_page_and_none_breaks_it(
    page: Any, house: House, keys: str, state: str
) -> None:
    broken: list[str] = []
    page.on("pageerror", lambda fault: broken.append(str(fault)))
    game = house.game()
    opened(page, house, game)
    page.wait_for_function("document.querySelector('#sheet p[data-key]')")
    named = page.evaluate(NAMED)
    assert len(named) > 30 and len(set(named)) >= 30, named
    page.evaluate(
        "addEventListener('keydown', (event) => event.key !== 'Shift' && (window.taken = event.defaultPrevented))"
    )
    for key in dict.fromkeys(named):
        press(page, "Escape Escape")
        press(page, " ".join(filter(None, ("B d", keys) if not said(page) else ("d", keys))))
        page.keyboard.press({" ": "Space", "?": "Shift+?"}.get(key, f"Shift+{key}" if key.isupper() else key))
        page.evaluate(REST)
        assert page.evaluate("window.taken"), f"{key} at {state} was left to the browser"
        page.evaluate("document.querySelectorAll('dialog[open]').forEach((one) => one.close())")
        page.evaluate("document.activeElement.blur()")
    assert broken == [], state


def test_the_keys_that_can_be_tapped_show_their_caps(page: Any, house: House) -> None:
    opened(page, house, house.game())
    assert page.locator(".always kbd").all_inner_texts()[:1] == ["⇧O"]
    assert page.locator(".always kbd").all_text_contents() == ["⇧O", "⇧A", "z", "⌫", "?"]
    assert "(⇧↵)" in (page.locator('#whose [data-key="Shift+Enter"]').text_content() or "")
