"""The vocabulary says what it means by its words; the page shows it beside the open question and on the key sheet."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tagger.marks.plain import plain_vocabulary

KINDS = {kind["code"]: kind for kind in plain_vocabulary()["kinds"]}
ABOUTS = [
    *((code, kind.get("about", "")) for code, kind in KINDS.items()),
    *(
        (f"{code}.{question['code']}", question["about"])
        for code, kind in KINDS.items()
        for question in kind["questions"]
        if "about" in question
    ),
]


@pytest.mark.parametrize(("name", "about"), ABOUTS, ids=[name for name, _ in ABOUTS])
def test_every_kind_is_defined_in_a_line(name: str, about: str) -> None:
    assert about.endswith(".") and about[0].isupper() and len(about) <= 130, name


def test_what_somebody_new_to_it_asked_is_said() -> None:
    free = next(question for question in KINDS["screen"]["questions"] if question["code"] == "free")
    assert "one second after contact, never from the shot" in free["about"]
    assert "not a new run" in KINDS["screen"]["about"] and "second one" in KINDS["pull_out"]["about"]
    assert "backwards" in KINDS["set"]["about"]


def test_no_code_asks_which_kind_a_mark_is() -> None:
    """A new kind would be in none of such lists: what a kind does is said in the vocabulary."""
    asked = re.compile(
        r"""(?:mark\.kind|\.kinds\.get\(|\.kinds\[|(?<![.\w])kind\.code) *(?:[!=]==?|in|\[)? *\(?["'](\w+)["']"""
    )
    root = Path(__file__).resolve().parents[2]
    found = []
    for folder in ("tagger", "dashboard"):
        for path in [*(root / folder).rglob("*.py"), *(root / folder).rglob("*.js")]:
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                found += [f"{path}:{number}: {code}" for code in asked.findall(line) if code in KINDS]
    assert found == []
