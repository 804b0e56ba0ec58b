"""Rows read from pages without SQLite: what is whole comes back whatever is damaged beside it; the rest is named."""

from __future__ import annotations

import json
import random
import sqlite3
from pathlib import Path

import pytest

from tagger.season import Season
from tagger.shelf.films import NewFilm
from tagger.store.past_damage import open_past_damage
from tagger.store.salvage import salvage
from tagger.store.snapshot import raw
from tagger.store.sqlite_pages import Pages, sizes
from tests.counts import cases
from tests.season.test_season import mark

N = 400


@pytest.fixture(scope="module")
def herons(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season of two games and two books with 400 entries, the last ones in the log only."""
    home = tmp_path_factory.mktemp("herons")
    (home / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    season = Season.open(home, make=True)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    season.games.add("g2", "2026-03-21", "Millrace", False, "in the rain")
    season.shelf.enter("g1", [NewFilm("fa", "a.mp4", 3_600_000, fingerprint="aa")])
    season.shelf.enter("g2", [NewFilm("fb", "b.mp4", 3_600_000, fingerprint="bb")])
    for n in range(1, N + 1):
        game, film = ("g1", "fa") if n % 3 else ("g2", "fb")
        text = "x" * (3990 if n % 50 == 0 else n % 90)
        season.journal.add(game, "anna" if n % 2 else "coach", [mark(n, "note", n, film, text=text or "-")])
        if n == N - 60:
            season.store.connection().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    (home / "kept").mkdir()
    for name, part in zip(("season.db", "season.db-wal"), raw(home / "season.db"), strict=True):
        (home / "kept" / name).write_bytes(part)
    season.close()
    return home / "kept"


@pytest.fixture(scope="module")
def lying(herons: Path) -> tuple[bytes, bytes]:
    """The database and its log, as bytes."""
    content, log = raw(herons / "season.db")
    assert len(log) > 50 * 4096
    return content, log


def by_sqlite(content: bytes, log: bytes, folder: Path) -> dict[str, tuple[int, str, str, str]]:
    """What SQLite itself reads."""
    (folder / "x.db").write_bytes(content)
    (folder / "x.db-wal").write_bytes(log)
    db = sqlite3.connect(folder / "x.db")
    try:
        return {
            row[3]: (row[0], row[1], row[2], row[4])
            for row in db.execute("SELECT seq, game, book, id, body FROM journal")
        }
    finally:
        db.close()


def test_all_of_a_whole_database_and_its_log_is_read_as_sqlite_reads_it(
    lying: tuple[bytes, bytes], tmp_path: Path
) -> None:
    found = salvage(*lying)
    assert found.lost == () and len(found.entries) == N
    assert {one.id: (one.seq, one.game, one.book, one.body) for one in found.entries} == by_sqlite(*lying, tmp_path)
    assert [row["opponent"] for row in found.rows["games"]] == ["Quarry Hill", "Millrace"]
    assert {row["id"]: row["fingerprint"] for row in found.rows["films"]} == {"fa": "aa", "fb": "bb"}


@pytest.mark.parametrize(
    "spoiled", [range(100), range(100, 4096), range(16, 18)], ids=["header", "schema", "page size"]
)
def test_a_first_page_that_is_gone_costs_no_entry(lying: tuple[bytes, bytes], spoiled: range) -> None:
    content, log = bytearray(lying[0]), lying[1]
    for at in spoiled:
        content[at] ^= 0x15
    for its_log, n in ((log, N), (b"", N - 60)):
        found = salvage(bytes(content), its_log)
        assert len(found.entries) == n and len(found.rows["games"]) == 2 and len(found.rows["films"]) == 2


def test_one_damaged_frame_of_the_log_costs_nothing_that_stands_elsewhere(
    lying: tuple[bytes, bytes], tmp_path: Path
) -> None:
    """SQLite reads no further than the first frame whose checksum is wrong: what was acknowledged later is gone."""
    content, log = lying[0], bytearray(lying[1])
    log[32 + 24 + 5 * 4120 + 900] ^= 0xFF
    before = by_sqlite(content, bytes(log), tmp_path)
    found = {one.id for one in salvage(content, bytes(log)).entries}
    assert len(before) < N - 40 and len(found) >= N - 1 and set(before) <= found


def test_a_log_that_is_damaged_in_the_middle_is_mended_when_it_is_opened(herons: Path, tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    content, log = raw(herons / "season.db")
    (tmp_path / "season.db").write_bytes(content)
    (tmp_path / "season.db-wal").write_bytes(log[:60_000] + bytes([log[60_000] ^ 1]) + log[60_001:])
    held_before = False
    for how in ({"read_only": True}, {}, {}):
        season = Season.open(tmp_path, **how)
        held = season.store.connection().execute("SELECT count(*) FROM journal").fetchone()[0]
        assert held >= N - 1 and ("put back" in season.store.mended) is (how == {"read_only": True} or not held_before)
        held_before = "read_only" not in how
        season.close()


def test_a_log_torn_anywhere_opens_with_a_clean_beginning_of_the_entries(herons: Path, tmp_path: Path) -> None:
    content, log = raw(herons / "season.db")
    chance = random.Random(3)
    (tmp_path / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    for at in (0, 31, 5000, *(chance.randrange(len(log)) for _ in range(6))):
        (tmp_path / "season.db").write_bytes(content)
        (tmp_path / "season.db-wal").write_bytes(log[:at])
        season = Season.open(tmp_path)
        ids = [row["id"] for row in season.store.connection().execute("SELECT id FROM journal ORDER BY seq")]
        assert ids == [f"e{n}" for n in range(1, len(ids) + 1)] and len(ids) >= N - 60
        assert season.damage == () and not season.store.mended
        season.close()


def test_what_lies_on_a_lost_page_is_named(lying: tuple[bytes, bytes]) -> None:
    content = bytearray(lying[0])
    pages = Pages(bytes(content))
    leaf = next(
        n
        for n in range(2, pages.n_pages)
        if len([r for r in pages.rows(n, pages.page(n)) if len(r.values) == 6 and r.rowid]) > 5
    )
    gone = {row.values[3] for row in pages.rows(leaf, pages.page(leaf))}
    content[(leaf - 1) * 4096 : leaf * 4096] = bytes(4096)
    found = salvage(bytes(content))
    held = {one.id for one in found.entries}
    assert len(held) + len(gone - held) == N - 60 and gone - held
    assert {line.rpartition("(")[2].partition(")")[0] for line in found.lost} == gone - held


def test_nothing_makes_the_reader_fail(lying: tuple[bytes, bytes]) -> None:
    chance = random.Random(7)
    for _ in range(cases(10, many=30)):
        content, log = bytearray(lying[0]), bytearray(lying[1])
        for _ in range(chance.choice([1, 40, 4000])):
            which = chance.choice([content, log])
            which[chance.randrange(len(which))] = chance.randrange(256)
        for one in salvage(bytes(content[: chance.randrange(len(content))]), bytes(log)).entries:
            assert json.loads(one.body)["id"] == one.id
    assert salvage(b"").is_empty and salvage(b"a letter" * 4000).is_empty and sizes(b"", b"") == [4096]


@pytest.mark.parametrize("of", ["sqlite_master", "journal", "sqlite_autoindex_journal_1", "games", "films"])
def test_a_damaged_database_is_looked_at_past_its_damage(herons: Path, tmp_path: Path, of: str) -> None:
    (tmp_path / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    content = bytearray((herons / "season.db").read_bytes())
    (tmp_path / "season.db").write_bytes(content)
    db = sqlite3.connect(f"{(tmp_path / 'season.db').as_uri()}?immutable=1", uri=True)
    page = db.execute("SELECT coalesce(max(rootpage), 1) FROM sqlite_master WHERE name = ?", (of,)).fetchone()[0]
    db.close()
    content[(page - 1) * 4096 : (page - 1) * 4096 + 12] = bytes(12)
    (tmp_path / "season.db").write_bytes(content)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    season = Season.open(tmp_path, past_damage=True)
    assert season.damage and "damaged" in season.damage[0] and "floorbook rescue" in season.damage[0]
    assert (
        len(season.games.all()) == 2
        and sum(book.n_entries for game in season.games.all() for book in season.journal.books(game.id)) > 200
    )
    assert len(season.tagged.tables()["notes"]) == 170
    season.close()
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_an_entry_that_reads_wrong_is_left_out_and_named(tmp_path: Path) -> None:
    (tmp_path / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    season = Season.open(tmp_path, make=True)
    season.games.add("g1", "2026-03-14", "Quarry Hill", True)
    season.journal.add("g1", "coach", [mark(n, "note", n, text=f"word-{n}") for n in range(1, 6)])
    season.close()
    content = (tmp_path / "season.db").read_bytes()
    content = (
        content.replace(b"word-2", b"word\xff2")
        .replace(b'"id":"e4"', b'"id":"e5"')
        .replace(b"2026-03-14", b"2026-0x-14")
    )
    (tmp_path / "season.db").write_bytes(content)
    store, faults = open_past_damage(tmp_path / "season.db")
    assert faults == ()
    store.close()
    season = Season.open(tmp_path)
    assert [entry.id for entry in season.journal.entries("g1", "coach")[0]] == ["e1", "e3", "e5"]
    assert [json.loads(body)["id"] for body in season.journal.bodies("g1", "coach")[0]] == ["e1", "e3", "e5"]
    assert json.loads(season.journal.bodies("g1", "coach", since=3)[0][-1])["id"] == "e5"
    date, two, four = season.damage
    assert "its date is damaged" in date and "entry 2" in two and "entry 4" in four
    assert season.journal.add("g1", "coach", [mark(6, "note", 9)])[0].state == "stored"
    season.close()
