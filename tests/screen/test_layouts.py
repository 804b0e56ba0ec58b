"""German and French keyboards: letters go by the character, digits and the two frame keys by their place.

Places are named as in the W3C's UI Events KeyboardEvent code Values (https://www.w3.org/TR/uievents-code/). What a
layout writes there: the German and French layouts of Windows as published in the keyboard tables of microsoft/vscode
(keyboardLayouts/de.win.ts and fr.win.ts).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import pytest

from tests.screen.house import NEXT_PICTURE, House, frame_on_screen, opened, said

pytestmark = pytest.mark.browser
SHIFT = 8  # the browser protocol's bit


@dataclass(frozen=True)
class Layout:
    """What differs from a US keyboard: stroke → (character, place, with Shift)."""

    name: str
    keys: dict[str, tuple[str, str, bool]]

    def key(self, stroke: str) -> tuple[str, str, bool]:
        """What the keyboard sends for a stroke."""
        if stroke in self.keys:
            return self.keys[stroke]
        if stroke.isdigit():
            return stroke, f"Digit{stroke}", False
        if len(stroke) > 1:
            return stroke, stroke, False
        place = self.keys.get(stroke.lower(), ("", f"Key{stroke.upper()}", False))[1]
        return stroke, place, stroke.isupper()


FRENCH_DIGITS = dict(zip("1234567890", "&é\"'(-è_çà", strict=True))
GERMAN = Layout(
    "German",
    {"z": ("z", "KeyY", False), "y": ("y", "KeyZ", False), "?": ("?", "Minus", True)}
    | {",": (",", "Comma", False), ".": (".", "Period", False)},
)
FRENCH = Layout(
    "French",
    {"a": ("a", "KeyQ", False), "q": ("q", "KeyA", False), "z": ("z", "KeyW", False), "w": ("w", "KeyZ", False)}
    | {
        "m": ("m", "Semicolon", False),
        "?": ("?", "KeyM", True),
        ",": (";", "Comma", False),
        ".": (":", "Period", False),
    }
    | {digit: (sign, f"Digit{digit}", False) for digit, sign in FRENCH_DIGITS.items()},
)
SHIFTED = Layout(
    "French, digits with Shift", FRENCH.keys | {digit: (digit, f"Digit{digit}", True) for digit in "1234567890"}
)
LAYOUTS = [GERMAN, FRENCH, SHIFTED]
each = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def strike(page: Any, layout: Layout, strokes: str) -> None:
    """Press keys as that keyboard sends them."""
    browser = page.context.new_cdp_session(page)
    for stroke in strokes.split():
        key, code, shift = layout.key(stroke)
        for kind in ("rawKeyDown", "keyUp"):
            event = {"type": kind, "key": key, "code": code, "modifiers": SHIFT if shift else 0}
            browser.send("Input.dispatchKeyEvent", event)
    page.evaluate(NEXT_PICTURE)


@each
def test_the_same_strokes_are_the_same_marks(page: Any, house: House, layout: Layout) -> None:
    game = house.game()
    opened(page, house, game)
    strike(page, layout, "B d y 1 a e u s 1 4 w")
    assert said(page)[1:] == [
        "Ours.",
        "Settled.",
        "Lantern, left.",
        "Someone set a screen; the user came free.",
        "14 shot: wide.",
    ]
    strike(page, layout, "Escape q")
    assert said(page)[-1].startswith("Whistle")
    house.wait_for(game, 11)


@each
def test_z_replays_where_the_keyboard_writes_z(page: Any, house: House, layout: Layout) -> None:
    opened(page, house, house.game(), "?at=8000")
    strike(page, layout, "z")
    assert page.inner_text("#speed") == "again, at half speed"


@each
def test_the_two_keys_right_of_the_letters_step_frames(page: Any, house: House, layout: Layout) -> None:
    opened(page, house, house.game(), "?at=8000")
    began = frame_on_screen(page)
    strike(page, layout, ". . .")
    page.wait_for_function("() => document.getElementById('part').innerText === '.12'")
    assert frame_on_screen(page) == began + 3
    strike(page, layout, ",")
    page.wait_for_function("() => document.getElementById('part').innerText === '.08'")
    assert frame_on_screen(page) == began + 2


@each
def test_the_sheet_opens_where_the_keyboard_writes_a_question_mark_and_writes_its_signs(
    page: Any, house: House, layout: Layout
) -> None:
    opened(page, house, house.game(), "?at=8000")
    strike(page, layout, ", . ?")
    assert page.is_visible("#sheet")
    frame_keys = page.locator('#sheet p:has-text("one frame back"), #sheet p:has-text("one frame on")')
    caps = [re.sub(r"\s*one frame.*", "", text) for text in frame_keys.all_inner_texts()]
    assert caps == [layout.key(",")[0], layout.key(".")[0]]


@pytest.mark.parametrize("layout", [GERMAN, FRENCH], ids=lambda layout: layout.name)
def test_shift_is_another_key_and_caps_lock_none(page: Any, house: House, layout: Layout) -> None:
    opened(page, house, house.game())
    strike(page, layout, "B d Y")
    assert said(page)[-1] == "In transition."
    browser = page.context.new_cdp_session(page)
    browser.send(
        "Input.dispatchKeyEvent", {"type": "rawKeyDown", "key": "F", "code": "KeyF", "modifiers": 0}
    )  # Caps Lock on
    page.evaluate(NEXT_PICTURE)
    assert said(page)[-1] == "Theirs."
