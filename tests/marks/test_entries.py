"""Entries as JSON: what is taken in, what is refused and in which words, and journal files."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagger.marks.entries import Entry, EntryError, Header, read_entry, read_lines, write_lines

PUBLISHED = (
    '{"v":1,"id":"e-1","n":41,"by":"anna","wall":"2026-03-15T20:11:02","does":"mark","kind":"shot","film":"f1",'
    '"at_ms":81400,"answers":{"result":"goal","shooter":"14"}}'
)


def test_an_entry_of_version_1_reads_and_writes_to_the_same_text() -> None:
    """Frozen example of entry version 1."""
    assert read_entry(json.loads(PUBLISHED)).as_json() == PUBLISHED


def good(**more: Any) -> dict[str, Any]:
    return {**json.loads(PUBLISHED), **more}


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ([], "JSON object"),
        (good(v=None), "version"),
        (good(v=2), "update floorbook"),
        (good(does="erase"), "one of mark"),
        (good(id=""), "id"),
        (good(id="a b"), "id"),
        (good(n=0), "whole number"),
        (good(n=True), "whole number"),
        (good(at_ms=-1), "whole number"),
        (good(at_ms=1.5), "whole number"),
        (good(answers=[]), "answers"),
        (good(answers={"text": "x" * 5000}), "neither text"),
        (good(answers={"place": [1]}), "neither text"),
        (good(answers={"place": [1, float("nan")]}), "neither text"),
        ({"v": 1, "id": "a", "n": 1, "does": "undo"}, "of"),
        ({"v": 1, "id": "a", "n": 1, "does": "answer", "of": "b", "answers": {}}, "answers nothing"),
    ],
)
def test_what_is_no_entry_is_refused_with_what_is_wrong(raw: Any, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        read_entry(raw)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


@given(
    st.sampled_from(
        ["v", "id", "n", "by", "wall", "does", "kind", "film", "at_ms", "answers", "of", "copied_from", "speed"]
    ),
    json_values,
)
def test_any_value_in_any_field_is_read_or_refused_never_anything_else(name: str, value: Any) -> None:
    try:
        entry = read_entry(good(**{name: value}))
    except EntryError:
        return
    assert read_entry(json.loads(entry.as_json())) == entry


HEADER = Header("saltmarsh", "g1", "anna", ("abc",))


def test_a_journal_file_comes_back_as_it_was_written() -> None:
    entries = [read_entry(json.loads(PUBLISHED)), Entry("u", 42, "anna", "undo", of="e-1")]
    assert read_lines(write_lines(HEADER, entries), "anna.jsonl") == (HEADER, entries)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([], "empty"),
        (["number,name\n"], "line 1: not JSON"),
        (['{"a":1}\n'], "no journal header"),
        ([*write_lines(HEADER, []), PUBLISHED[:50]], "line 2: not JSON; the file may be cut off"),
        ([*write_lines(HEADER, []), '{"v":1}\n'], "line 2"),
    ],
)
def test_a_torn_or_foreign_journal_file_names_its_line(lines: list[str], words: str) -> None:
    with pytest.raises(EntryError, match=words):
        read_lines(lines, "anna.jsonl")
