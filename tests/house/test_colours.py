"""Text on every ground of both rooms can be read.

Contrast is WCAG 2.2's: relative luminance by its definition, ratio (L1 + 0.05) / (L2 + 0.05), at least 4.5 : 1 for text
of ordinary size (success criterion 1.4.3), https://www.w3.org/TR/WCAG22/#contrast-minimum.
"""

import re

import pytest

from tests.house.tree import CLONE

TOKENS = (CLONE / "tagger" / "screen" / "static" / "tokens.css").read_text(encoding="utf-8")


@pytest.mark.parametrize("room", [".room", ".paper", ':root[data-theme="dark"] .paper'])
@pytest.mark.parametrize("text", ["ink", "soft", "faint", "accent"])
@pytest.mark.parametrize("ground", ["ground", "panel", "raised"])
def test_text_can_be_read(room, text, ground):
    colours = tokens(room)
    assert contrast(colours[text], colours[ground]) >= 4.5


def test_dark_is_the_same_by_hand_and_by_the_system_s_wish():
    system = re.search(
        r'\(prefers-color-scheme: dark\) {\s*:root:not\(\[data-theme="light"\]\) \.paper {(.*?)}', TOKENS, re.DOTALL
    )
    assert system
    wished = dict(re.findall(r"--([\w-]+):\s*(#[0-9A-F]{6})", system[1]))
    assert wished == tokens(':root[data-theme="dark"] .paper') and wished


def test_contrast_against_known_pairs():
    """21 : 1 for black on white is the definition's own maximum; #767676 is the well-known edge, 4.54 (from memory)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#FFFFFF", "#767676") == pytest.approx(4.54, abs=0.01)


def tokens(selector: str) -> dict[str, str]:
    """The colours that the rule of one selector sets, by name."""
    rule = re.search(rf"^{re.escape(selector)}\s*{{(.*?)}}", TOKENS, flags=re.MULTILINE | re.DOTALL)
    assert rule, selector
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9A-F]{6})", rule[1]))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours written as #RRGGBB."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour written as #RRGGBB."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
