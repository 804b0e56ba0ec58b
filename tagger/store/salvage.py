"""What can be read of a damaged season database, and what can't, named.

Entries are known by themselves: a row of the journal carries its entry as JSON, which must say the same id and n as the
row. So every page is searched for them, wherever it hangs, in every version that the file and its log hold: the journal
only grows, so nothing that is found there was ever taken back. Games and films change; of these the newest row stands.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from tagger.game import is_game_id
from tagger.marks.entries import EntryError, is_book_name, read_entry
from tagger.store.schema import lift
from tagger.store.sqlite_pages import LOST, Pages, Row, frames, sizes

TABLES = ("games", "films", "ties", "about")
"""What is saved beside the journal. Copies of film, strips and work on film can be made anew."""
_JOURNAL_COLUMNS, _KEY_COLUMNS = 6, 5
_OLD_COLUMNS = {"films": 17}  # before version 2
_NEVER_SHARED = ("games", "films", "ties")


@dataclass(frozen=True)
class Kept:
    """A row of the journal: its place, where it belongs, the entry's id and n, and the entry as it was written."""

    seq: int
    game: str
    book: str
    id: str
    n: int
    body: str


@dataclass(frozen=True)
class Salvaged:
    """What was read.

    Attributes
    ----------
    entries : tuple of Kept
        In order of arrival.
    rows : mapping of str to tuple of mapping
        Table → rows by column; only what could be read of each.
    lost : tuple of str
        A line for each thing that could not be read.
    """

    entries: tuple[Kept, ...]
    rows: Mapping[str, tuple[Mapping[str, Any], ...]]
    lost: tuple[str, ...]

    @property
    def is_empty(self) -> bool:
        """Whether there was nothing."""
        return not self.entries and not self.rows["games"] and not self.rows["films"]


def salvage(content: bytes, log: bytes = b"") -> Salvaged:
    """Read all that can be read.

    Parameters
    ----------
    content, log : bytes
        A database file and its write-ahead log, as they lie; either may be empty.

    Returns
    -------
    Salvaged
        Never fails.
    """
    found = [_of(Pages(content, log, size)) for size in sizes(content, log)]
    return max(found, key=lambda one: (len(one.entries), len(one.rows["games"]), len(one.rows["films"])))


def behind_a_break(content: bytes, log: bytes) -> tuple[Kept, ...]:
    """The entries of a log that SQLite does not get to, since a place before them is damaged.

    Parameters
    ----------
    content, log : bytes
        A database file and its write-ahead log, as they lie.

    Returns
    -------
    tuple of Kept
        Empty for a log that is whole, or only torn at its end.
    """
    for size in sizes(content, log):
        held = frames(log, size)
        breaks = [place for place, frame in enumerate(held) if not frame.sound]
        if breaks and any(frame.sound and frame.ends for frame in held[breaks[0] :]):
            return salvage(content, log).entries
    return ()


def _of(pages: Pages) -> Salvaged:
    journal: dict[str, Kept] = {}
    unread: dict[int, str] = {}
    keys: dict[int, tuple[str, str, int, str]] = {}
    loose: dict[str, dict[Any, dict[str, Any]]] = {name: {} for name in TABLES}
    for number, page in pages.versions():
        for row in pages.rows(number, page):
            if row.rowid is not None:
                _take_entry(row, journal, unread)
                continue
            _take_key(row, keys)
            for name in _NEVER_SHARED:
                _take_row(name, row, loose[name])
    rows = {name: _rooted(pages, name) or tuple(loose[name].values()) for name in TABLES}
    entries = sorted(_put_right(journal.values(), keys, rows["games"]), key=lambda one: one.seq)
    return Salvaged(tuple(entries), rows, tuple(_lost(entries, keys, unread, rows)))


def _take_entry(row: Row, journal: dict[str, Kept], unread: dict[int, str]) -> None:
    if len(row.values) != _JOURNAL_COLUMNS or row.values[0] is not None or row.rowid is None:
        return
    _, game, book, id_, n, body = row.values
    if isinstance(id_, str) and id_ in journal:
        return
    try:
        entry = read_entry(json.loads(body if isinstance(body, str) else ""))
    except (EntryError, ValueError, RecursionError) as fault:
        if isinstance(n, int) and (isinstance(id_, str) or isinstance(body, str)):
            where = f"game {game}, {book}’s book: " if isinstance(game, str) and isinstance(book, str) else ""
            why = fault if isinstance(fault, EntryError) else "its text is damaged"
            unread.setdefault(row.rowid, f"{where}entry {row.rowid}: {why}")
        return
    if (entry.id, entry.n) != (id_, n):
        unread.setdefault(row.rowid, f"entry {row.rowid}: stored as {_shown(id_)}, says {entry.id}")
        return
    journal[entry.id] = Kept(
        row.rowid, game if isinstance(game, str) else "", book if isinstance(book, str) else "", entry.id, entry.n, body
    )


def _take_key(row: Row, keys: dict[int, tuple[str, str, int, str]]) -> None:
    """A key of the journal's index by game, book, n and id: says that an entry was there, and where it belongs."""
    if len(row.values) != _KEY_COLUMNS:
        return
    game, book, n, id_, seq = row.values
    if all(isinstance(one, str) for one in (game, book, id_)) and isinstance(n, int) and isinstance(seq, int):
        keys.setdefault(seq, (game, book, n, id_))


def _put_right(
    found: Any, keys: dict[int, tuple[str, str, int, str]], games: tuple[Mapping[str, Any], ...]
) -> Iterator[Kept]:
    """Where an entry belongs is said twice, by the row and by the index: a game that is known is the right one."""
    known = {row["id"] for row in games}
    taken: set[int] = set()
    for one in sorted(found, key=lambda one: one.seq):
        game, book, n, id_ = keys.get(one.seq, (one.game, one.book, one.n, one.id))
        if (n, id_) == (one.n, one.id):
            game = one.game if one.game in known or (one.game and game not in known) else game
            book = one.book if is_book_name(one.book) else book
        else:
            game, book = one.game, one.book
        if one.seq in taken or not one.seq > 0:  # a place that is damaged: after all others
            one = Kept(max(taken) + 1, one.game, one.book, one.id, one.n, one.body)
        taken.add(one.seq)
        yield Kept(one.seq, game or "unknown", book if is_book_name(book) else "rescued", one.id, one.n, one.body)


def _lost(
    entries: list[Kept],
    keys: dict[int, tuple[str, str, int, str]],
    unread: dict[int, str],
    rows: Mapping[str, tuple[Mapping[str, Any], ...]],
) -> Iterator[str]:
    held, ids = {one.seq for one in entries}, {one.id for one in entries}
    for seq in sorted({*keys, *unread} - held):
        game, book, _, id_ = keys.get(seq, ("", "", 0, ""))
        if id_ not in ids:
            yield unread.get(seq) or f"game {game}, {book}’s book: entry {seq} ({id_}): it lies on a damaged page"
    games, films = {row["id"] for row in rows["games"]}, {row["id"] for row in rows["films"]}
    for game in sorted({one.game for one in entries} - games):
        yield f"game {game}: its date and opponent can't be read; its marks are there"
    tagged = {film for one in entries if (film := json.loads(one.body).get("film"))}
    for film in sorted(tagged - films):
        yield f"film {film}: what was known of it can't be read; bring it in again, its marks will be on it"
    for row in rows["films"]:
        if row.get("path") and not isinstance(row.get("frame_index"), bytes):
            yield f"film {row['id']} ({row.get('name', '')}): its frames can't be read; bring it in again"


def _rooted(pages: Pages, name: str) -> tuple[dict[str, Any], ...]:
    """The rows of a table that can be reached from its root, all of it; empty when any of it can't."""
    root = next((row.values[3] for row in _schema(pages) if row.values[:2] == ("table", name)), None)
    if not isinstance(root, int) or not 1 < root <= pages.n_pages:
        return ()
    found: dict[Any, dict[str, Any]] = {}
    for number in pages.below(root):
        page = pages.page(number)
        if len(page) < pages.size or page[0] not in (2, 10):
            return ()
        n_cells = int.from_bytes(page[3:5], "big")
        rows = list(pages.rows(number, page))
        if len(rows) != n_cells or not all(_take_row(name, row, found) for row in rows):
            return ()
    return tuple(found.values())


def _schema(pages: Pages) -> Iterator[Row]:
    for number in pages.below(1):
        for row in pages.rows(number, pages.page(number)):
            if len(row.values) == 5:
                yield row


def _take_row(name: str, row: Row, found: dict[Any, dict[str, Any]]) -> bool:
    columns, n_key = _columns(name)
    least = _OLD_COLUMNS.get(name, len(columns))
    if not least <= len(row.values) <= len(columns):
        return False
    made = {}
    for (column, kind, needed), value in zip(columns, row.values, strict=False):
        if value is LOST or (value is None and not needed):
            continue
        if not isinstance(value, {"TEXT": str, "INTEGER": int, "BLOB": bytes}[kind]):
            return False
        made[column] = value
    key = tuple(made.get(column) for column, _, _ in columns[:n_key])
    if None in key or not _likely(name, made):
        return False
    found.setdefault(key, made)
    return True


def _likely(name: str, made: Mapping[str, Any]) -> bool:
    if name == "games":
        return is_game_id(made["id"]) and made.get("home", 0) in (0, 1)
    return name != "films" or (isinstance(made.get("game"), str) and isinstance(made.get("duration_ms"), int))


@cache
def _columns(name: str) -> tuple[tuple[tuple[str, str, bool], ...], int]:
    """A table's columns as its rows have them, the key first: name, kind, whether needed; and how many are the key."""
    db = sqlite3.connect(":memory:")
    try:
        lift(db, 0)
        told = db.execute(f"PRAGMA table_info({name})").fetchall()
    finally:
        db.close()
    key = sorted((row for row in told if row[5]), key=lambda row: row[5])
    rest = [row for row in told if not row[5]]
    return tuple((row[1], row[2], bool(row[3] or row[5])) for row in (*key, *rest)), len(key)


def _shown(value: Any) -> str:
    return value if isinstance(value, str) else "something unreadable"
