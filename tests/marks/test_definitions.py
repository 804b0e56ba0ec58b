"""The vocabulary says what it means by its words; the page shows it beside the open question and on the key sheet."""

from __future__ import annotations

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
