"""The journal on disk: it only grows, a retry is harmless, and what was acknowledged survives a kill."""

from __future__ import annotations

import json
import random
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tagger.marks.entries import read_entry
from tagger.marks.journal import AGAIN, REFUSED, STORED, Journal, head_of
from tagger.marks.numbering import MOST_AHEAD, lifted, reach
from tagger.marks.resolve import resolve
from tagger.store.database import VERSION, NotADatabase, ReadOnly, Store
from tests.counts import cases


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    store = Store(tmp_path / "season.db", make=True)
    with store.writing() as db:
        db.execute("INSERT INTO games (id, date, opponent, home) VALUES ('g1', '2026-03-14', 'Quarry Hill', 1)")
    return Journal(store)


def entry(n: int, **more: Any) -> dict[str, Any]:
    made = {
        "v": 1,
        "id": f"e{n}",
        "n": n,
        "by": "anna",
        "wall": "",
        "does": "mark",
        "kind": "note",
        "film": "f1",
        "at_ms": n,
    }
    return {**made, "answers": {}, **more}


def test_entries_come_back_as_they_were_put_in(journal: Journal) -> None:
    added = journal.add("g1", "anna", [entry(1), entry(2, answers={"text": "Ä “00” #00"})])
    assert [one.state for one in added] == [STORED, STORED]
    entries, seq = journal.entries("g1", "anna")
    assert [one.id for one in entries] == ["e1", "e2"]
    assert entries[1].answers == {"text": "Ä “00” #00"}
    assert journal.entries("g1", "anna", since=seq) == ([], seq)


def test_the_same_entry_again_is_a_harmless_retry(journal: Journal) -> None:
    journal.add("g1", "anna", [entry(1)])
    assert [one.state for one in journal.add("g1", "anna", [entry(1), entry(2)])] == [AGAIN, STORED]
    assert len(journal.entries("g1", "anna")[0]) == 2


def test_the_same_id_with_other_content_is_refused_and_nothing_changes(journal: Journal) -> None:
    journal.add("g1", "anna", [entry(1)])
    assert [one.state for one in journal.add("g1", "anna", [entry(1, at_ms=99)])] == [REFUSED]
    assert [one.state for one in journal.add("g1", "ben", [entry(1)])] == [REFUSED]
    assert journal.entries("g1", "anna")[0][0].at_ms == 1


def test_a_bad_entry_does_not_hold_up_the_others(journal: Journal) -> None:
    added = journal.add("g1", "anna", [entry(1), {"v": 1, "id": "bad"}, 7, entry(2)])
    assert [one.state for one in added] == [STORED, REFUSED, REFUSED, STORED]
    assert all(one.why for one in added if one.state == REFUSED)


def test_what_belongs_to_a_refused_entry_is_refused_with_it(journal: Journal) -> None:
    acts = entry(2, does="answer", of="e1", answers={"text": "x"})
    added = journal.add("g1", "anna", [entry(1, at_ms=-1), acts, entry(3, does="undo", of="e2"), entry(4)])
    assert [one.state for one in added] == [REFUSED, REFUSED, REFUSED, STORED]


def test_entries_of_a_game_nobody_knows_are_refused(journal: Journal) -> None:
    assert [one.state for one in journal.add("g9", "anna", [entry(1)])] == [REFUSED]


@pytest.mark.parametrize("statement", ["UPDATE journal SET body = '{}'", "DELETE FROM journal"])
def test_the_database_itself_refuses_to_change_the_journal(journal: Journal, statement: str) -> None:
    journal.add("g1", "anna", [entry(1)])
    with pytest.raises(sqlite3.IntegrityError, match="only grows"):
        journal.store.connection().execute(statement)
    assert len(journal.entries("g1", "anna")[0]) == 1


def test_the_head_is_the_same_whatever_order_entries_arrived_in(journal: Journal) -> None:
    journal.add("g1", "anna", [entry(2), entry(1), entry(3)])
    entries, _ = journal.entries("g1", "anna")
    assert journal.head("g1", "anna") == head_of(sorted(entries, key=lambda one: one.id, reverse=True))


def test_a_newer_database_is_opened_to_look_at_and_not_to_write(tmp_path: Path) -> None:
    Store(tmp_path / "season.db", make=True).close()
    with sqlite3.connect(tmp_path / "season.db") as db:
        db.execute(f"PRAGMA user_version = {VERSION + 1}")
    db.close()
    store = Store(tmp_path / "season.db")
    assert store.connection().execute("SELECT count(*) FROM journal").fetchone()[0] == 0
    with pytest.raises(ReadOnly, match="newer floorbook"):
        Journal(store).add("g1", "anna", [entry(1)])
    store.close()


@pytest.mark.parametrize("content", [b"not a database at all, but long enough to be one" * 40, b"\x00" * 5000])
def test_a_file_that_is_no_database_is_named_in_one_line(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "season.db").write_bytes(content)
    with pytest.raises(NotADatabase, match=r"season\.db"):
        Store(tmp_path / "season.db")


WRITER = """
import sys
from pathlib import Path
from tagger.marks.journal import Journal
from tagger.store.database import Store
journal = Journal(Store(Path(sys.argv[1])))
n = int(sys.argv[2])
print("ready", flush=True)
while True:
    n += 1
    made = {"v": 1, "id": f"e{n}", "n": n, "by": "a", "does": "mark", "kind": "note", "film": "f", "at_ms": n}
    for added in journal.add("g1", "anna", [made]):
        print(added.id, flush=True)
"""


N_KILLS = cases(15, many=50)


def test_no_acknowledged_entry_is_missing_after_kills(journal: Journal) -> None:
    """The process that writes is killed at a random moment, many times over one database."""
    chance = random.Random(50)
    path = journal.store.path
    journal.store.close()
    acknowledged: set[str] = set()
    n = 0
    for _ in range(N_KILLS):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path), str(n)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == "ready\n"
            time.sleep(chance.uniform(0.005, 0.08))
            writer.kill()
            told = [line.strip() for line in writer.stdout if line.endswith("\n")]
        acknowledged.update(told)
        store = Store(path)
        held = {row["id"] for row in store.connection().execute("SELECT id FROM journal")}
        n = store.connection().execute("SELECT coalesce(max(n), 0) FROM journal").fetchone()[0]
        assert store.connection().execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        store.close()
        assert acknowledged <= held
    assert len(acknowledged) > 2 * N_KILLS


LAST = 2**53 - 1


def ended(journal: Journal) -> None:
    """A book as it could come to be before: its last entry has the last number there is."""
    journal.add("g1", "anna", [entry(n) for n in (1, 2, 3)])
    far = read_entry(entry(LAST, id="far", at_ms=9))
    with journal.store.writing() as db:
        db.execute(
            "INSERT INTO journal (game, book, id, n, body) VALUES ('g1', 'anna', 'far', ?, ?)", (LAST, far.as_json())
        )


def test_an_entry_far_beyond_the_others_is_refused_and_the_book_goes_on(journal: Journal) -> None:
    journal.add("g1", "anna", [entry(1)])
    (far,) = journal.add("g1", "anna", [entry(LAST, at_ms=0)])
    assert far.state == REFUSED and str(LAST) in far.why and "load the page anew" in far.why
    assert [one.state for one in journal.add("g1", "anna", [entry(1 + MOST_AHEAD + 2), entry(2)])] == [REFUSED, STORED]
    assert journal.books("g1")[0].last_n == 2


def test_entries_that_lead_on_to_one_another_may_come_in_any_order(journal: Journal) -> None:
    numbers = [MOST_AHEAD * 3, MOST_AHEAD * 2, MOST_AHEAD, 5, MOST_AHEAD * 5]
    added = journal.add("g1", "anna", [entry(n) for n in numbers])
    assert [one.state for one in added] == [STORED, STORED, STORED, STORED, REFUSED]
    assert journal.add("g1", "anna", [entry(MOST_AHEAD * 4)])[0].state == STORED


def test_a_book_that_was_ended_goes_on_after_the_entry_that_ended_it(journal: Journal) -> None:
    ended(journal)
    assert [one.n for one in journal.entries("g1", "anna")[0]] == [1, 2, 3, 4]
    assert journal.add("g1", "anna", [entry(5), entry(6, does="answer", of="far", answers={"text": "x"})])[1].why == ""
    assert [one.n for one in journal.entries("g1", "anna")[0]] == [1, 2, 3, 4, 5, 6]
    marks, problems = resolve(journal.entries("g1", "anna")[0])
    assert problems == [] and marks[3].answers == {"text": "x"}
    assert journal.books("g1")[0].last_n == 6
    assert json.loads(journal.bodies("g1", "anna", since=3)[0][0])["n"] == 4
    held = journal.store.connection().execute("SELECT n FROM journal WHERE id = 'far'").fetchone()
    assert held["n"] == LAST  # the journal itself is as it was


def test_an_entry_that_ended_a_book_is_known_again_as_it_was_and_as_it_is_shown(journal: Journal) -> None:
    ended(journal)
    for n in (LAST, 4):
        assert [one.state for one in journal.add("g1", "anna", [entry(n, id="far", at_ms=9)])] == [AGAIN]
    assert [one.state for one in journal.add("g1", "anna", [entry(5, id="far", at_ms=9)])] == [REFUSED]


def test_ordinary_books_keep_every_number(journal: Journal) -> None:
    for numbers in ([1, 2, 3], [3, 1, 2], [5, 900_000, 1_800_000], []):
        assert lifted(numbers) == numbers
    assert lifted([1, LAST, LAST, 2, LAST - 1, 6]) == [1, 2, 3, 2, 4, 6]
    assert reach(0, []) == 0 and reach(7, [LAST]) == 7
