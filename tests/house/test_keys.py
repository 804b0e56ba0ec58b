"""A key is named from the season's keys or the page's own, never by a letter written in a text."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest

from tests.house.tree import CLONE

SCREEN = CLONE / "tagger" / "screen"
OWN = SCREEN / "static" / "keys" / "own.js"
DOES = "marks?|says?|asks?|opens?|closes?|ties?|shows?|restores?|begins?|takes?|changes?|goes|enters?|skips?|leaves?"
WRITTEN = re.compile(
    rf"⇧(?=[^\s{{$])|[↵⌫]|<kbd>\s*[^<{{\s]|(?<![\w’'-])(?![aAI] )[A-Za-z] (?:{DOES})\b|\b(?:press|key) [b-zB-Z]\b(?!’)"
)


def own_keys() -> dict[str, str]:
    """What each of the page's own keys is called, and its stroke."""
    block = OWN.read_text(encoding="utf-8").split("KEY = Object.freeze({")[1].split("});")[0]
    return dict(re.findall(r'(\w+): "([^"]+)",', block))


def texts_of(path: Path) -> list[str]:
    """What a source may show to people: the strings of Python without docstrings, the rest without its comments."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".py":
        return [re.sub(r"/\*.*?\*/|(?<!:)//[^\n]*|<!--.*?-->", "", text, flags=re.DOTALL)]
    tree = ast.parse(text)
    prose = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    found = (node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in prose)
    return [node.value for node in found if isinstance(node.value, str)]


def sources() -> list[Path]:
    """Everything that is served, and what a page or a command says."""
    tops = (CLONE / "tagger", CLONE / "dashboard")
    found = [path for top in tops for kind in ("*.py", "*.js", "*.html") for path in top.rglob(kind)]
    return sorted(path for path in found if path != OWN)


@pytest.mark.parametrize("path", sources(), ids=lambda path: path.relative_to(CLONE).as_posix())
def test_no_text_names_a_key_by_its_letter(path: Path) -> None:
    written = [
        text[max(0, hit.start() - 30) : hit.end() + 20] for text in texts_of(path) for hit in WRITTEN.finditer(text)
    ]
    assert written == [], "take it from key_of, keys/own.js or the language"


def test_the_search_finds_what_it_is_for() -> None:
    for text in ("then l marks which", "s marks one", "⇧K restores it", "<kbd>z</kbd>", "↵ goes on", "press k to hold"):
        assert WRITTEN.search(text), text
    for text in ("${cap} marks one", "<kbd></kbd>", "a takes it", "I see", "⇧${key}", "⇧{key}", "their marks"):
        assert not WRITTEN.search(text), text


def test_the_pages_own_keys_are_those_that_the_vocabulary_keeps_free() -> None:
    kept = json.loads((CLONE / "tagger" / "marks" / "vocabulary.json").read_text(encoding="utf-8"))
    own = own_keys()
    assert len(own) > 30 and sorted(own.values()) == sorted({*kept["film_keys"], *kept["hand_keys"]})


def test_what_can_be_tapped_is_a_key_of_the_pages_own() -> None:
    page = (SCREEN / "templates" / "tag.html").read_text(encoding="utf-8")
    tapped = re.findall(r'data-key="([^"]+)"', page)
    assert len(tapped) > 10 and set(tapped) <= set(own_keys().values())
