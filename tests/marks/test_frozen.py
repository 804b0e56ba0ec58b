"""What was tagged with an older vocabulary keeps its meaning: frozen books, read by the vocabulary of today.

`frozen/vocabulary-1.json` has every code of version 1; `frozen/journal-1.jsonl` is a book that uses every one of them,
`frozen/journal-1.rows.json` the rows that floorbook made of it then. None of the three is ever written anew.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tagger.marks.entries import read_lines
from tagger.marks.fold import FilmSpan, GameFacts, fold
from tagger.marks.vocabulary import language
from tagger.texts.playbook import read_playbook
from tests.marks.test_cases import FILE

FROZEN = Path(__file__).with_name("frozen")
TABLES = Path(__file__).parents[1] / "season" / "frozen" / "tables-1"
CODES: dict[str, dict[str, list[str]]] = json.loads((FROZEN / "vocabulary-1.json").read_text(encoding="utf-8"))
ROWS: dict[str, list[dict[str, Any]]] = json.loads((FROZEN / "journal-1.rows.json").read_text(encoding="utf-8"))
LANGUAGE = language(read_playbook(FILE["playbook"])[0])


def test_no_code_was_ever_taken_away() -> None:
    for kind, questions in CODES.items():
        for question, choices in questions.items():
            held = LANGUAGE.question(kind, question)
            assert held is not None, f"{kind}.{question}"
            assert set(choices) <= {choice["code"] for choice in held.get("choices", [])}, f"{kind}.{question}"


def test_the_frozen_book_uses_every_code() -> None:
    _, entries = read_lines((FROZEN / "journal-1.jsonl").read_text(encoding="utf-8").splitlines(), "journal-1.jsonl")
    used = {
        (entry.kind, name, value) for entry in entries for name, value in entry.answers.items() if value != [20.5, -3]
    }
    for kind, questions in CODES.items():
        assert kind in {entry.kind for entry in entries}
        for question, choices in questions.items():
            assert {(kind, question, choice) for choice in choices} <= used


@pytest.mark.parametrize("table", ROWS)
def test_a_book_of_version_1_gives_the_rows_it_gave(table: str) -> None:
    _, entries = read_lines((FROZEN / "journal-1.jsonl").read_text(encoding="utf-8").splitlines(), "journal-1.jsonl")
    facts = GameFacts("g1", "anna", LANGUAGE, (FilmSpan("f1", 0, 10_000_000),))
    found = fold(entries, facts).rows[table]
    then = (TABLES / f"{table}.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    if table == "detail":  # what is looked for only grows
        for row, old in zip(found, ROWS[table], strict=True):
            assert set(old["looks_for"].split()) <= set(row["looks_for"].split())
            row["looks_for"] = old["looks_for"]
    told = [{name: value for name, value in row.items() if name in then and value is not None} for row in found]
    assert [{**row, "marks": list(row["marks"])} for row in told] == ROWS[table]
