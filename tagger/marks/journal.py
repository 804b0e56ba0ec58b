"""The journal: entries on disk, in the order in which they arrived, never changed.

An entry that arrives again with the same content is a harmless retry; the same id with other content is refused. What
`add` answers as stored is on disk. What comes out has the numbers of `numbering.lifted`, so that everybody who reads a
book sees the same ones.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from tagger.marks.entries import Entry, EntryError, read_entry
from tagger.marks.numbering import ABSURDLY_AHEAD, lifted, reach
from tagger.store.database import Store

STORED = "stored"
AGAIN = "again"
REFUSED = "refused"
OTHER = "another entry has this id; nothing was changed"


@dataclass(frozen=True)
class Added:
    """What became of one entry.

    Attributes
    ----------
    id : str
        The entry's id; empty when it had none.
    state : str
        stored, again (it was there already) or refused.
    why : str
        For refused: what is wrong and what would be right.
    """

    id: str
    state: str
    why: str = ""


@dataclass(frozen=True)
class Book:
    """A book of a game: its name, its number of entries, the highest n, the places of its first and last entry."""

    name: str
    n_entries: int
    last_n: int
    first_seq: int
    seq: int


class _Row(NamedTuple):
    """An entry as it lies on the disk; bytes, since a damaged text may be none."""

    seq: int
    id: str
    n: int
    body: bytes


class _Held(NamedTuple):
    """Where an id stands in the journal, and for what."""

    seq: int
    game: str
    book: str
    body: str


class Journal:
    """The journal of a season.

    Parameters
    ----------
    store : Store
        The season's database.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._read: dict[tuple[str, str], tuple[int, dict[int, str]]] = {}

    def add(self, game: str, book: str, raw_entries: Sequence[Any], *, only_by: str | None = None) -> list[Added]:
        """Take entries in, in one transaction.

        Parameters
        ----------
        game, book : str
            Where they belong; the game must be known.
        raw_entries : sequence of object
            Parsed JSON objects.
        only_by : str, optional
            The only author whose entries are taken, and whose entries may be undone; anybody's when left out.

        Returns
        -------
        list of Added
            One for each, in order. A refused entry does not hold up the others.
        """
        read: list[Entry | Added] = []
        for raw in raw_entries:
            try:
                read.append(read_entry(raw))
            except EntryError as fault:
                own = raw.get("id") if isinstance(raw, dict) else None
                read.append(Added(own if isinstance(own, str) else "", REFUSED, str(fault)))
        made: list[Added] = []
        refused: set[str] = set()
        with self.store.writing() as db:
            if db.execute("SELECT 1 FROM games WHERE id = ?", (game,)).fetchone() is None:
                why = f"the season has no game “{game}”"
                return [Added(one.id, REFUSED, why) for one in read]
            limit = self.reach(game, book, (one.n for one in read if isinstance(one, Entry)))
            for one in read:
                stranger = self._not_his(one, only_by) if isinstance(one, Entry) and only_by is not None else ""
                if stranger:
                    one = Added(one.id, REFUSED, stranger)
                added = one if isinstance(one, Added) else self._put(game, book, one, limit, refused)
                made.append(added)
                if added.state == REFUSED and added.id:
                    refused.add(added.id)
        return made

    def _put(self, game: str, book: str, entry: Entry, limit: int, refused: Container[str]) -> Added:
        """Put one entry in, inside the transaction that is open."""
        there = self.held_as(game, book, entry)
        if there is not None:
            return Added(entry.id, REFUSED, OTHER) if there else Added(entry.id, AGAIN)
        if entry.n > limit:
            return Added(entry.id, REFUSED, f"{too_far(entry.n, limit)}; load the page anew")
        if entry.of in refused:
            return Added(entry.id, REFUSED, "what it belongs to was refused")
        self.store.connection().execute(
            "INSERT INTO journal (game, book, id, n, body) VALUES (?, ?, ?, ?, ?)",
            (game, book, entry.id, entry.n, entry.as_json()),
        )
        return Added(entry.id, STORED)

    def _not_his(self, entry: Entry, name: str) -> str:
        """Why somebody may not enter this under his name; empty when he may."""
        if entry.by != name:
            return f"it says that {entry.by or 'nobody'} entered it; you came in as {name}"
        if entry.does == "undo":
            row = self.store.connection().execute("SELECT body FROM journal WHERE id = ?", (entry.of,)).fetchone()
            author = _author(row["body"]) if row is not None else name
            if author != name:
                return f"{author or 'somebody else'} entered that; you came in as {name} and take back only your own"
        return ""

    def held_as(self, game: str, book: str, entry: Entry) -> str | None:
        """Whether an entry is in the journal already.

        Parameters
        ----------
        game, book : str
            Where it belongs.
        entry : Entry
            As it was written, or as it comes out of the journal.

        Returns
        -------
        str or None
            Empty when it is; where its id stands for another entry, whose that is; None when nothing has its id.
        """
        sql = "SELECT seq, game, book, body FROM journal WHERE id = ?"
        row = self.store.connection().execute(sql, (entry.id,)).fetchone()
        if row is None:
            return None
        held = _Held(*row)
        if (held.game, held.book) == (game, book):
            same = held.body == entry.as_json()
            if same or _renumbered(held.body, self._lifts(game, book).get(held.seq)) == entry.as_json():
                return ""
        return f"game {held.game}, {held.book}’s book"

    def reach(self, game: str, book: str, numbers: Iterable[int]) -> int:
        """The highest of some new numbers that a book can take; see `numbering.reach`.

        Parameters
        ----------
        game, book : str
            Which book.
        numbers : iterable of int
            Of entries to come in together.

        Returns
        -------
        int
            Whatever is above it is too far ahead.
        """
        return reach(self._highest(game, book), numbers)

    def entries(self, game: str, book: str, since: int = 0) -> tuple[list[Entry], int]:
        """A book's entries.

        Parameters
        ----------
        game, book : str
            Which book.
        since : int
            Only what arrived after this place in the journal.

        Returns
        -------
        tuple of list of Entry and int
            In order of arrival, and the place of the last one (`since` when there is none).
        """
        rows, seq = self._rows(game, book, since)
        read = [(row.seq, _read(row)) for row in rows]
        self._note(game, book, since, seq, {place: one for place, one in read if isinstance(one, str)})
        lifts = self._lifts(game, book)
        held = [(place, one) for place, one in read if isinstance(one, Entry)]
        return [replace(one, n=lifts[place]) if place in lifts else one for place, one in held], seq

    def bodies(self, game: str, book: str, since: int = 0) -> tuple[list[str], int]:
        """A book's entries as JSON texts, as they lie on the disk but for absurd numbers.

        Parameters
        ----------
        game, book, since
            As for `entries`.

        Returns
        -------
        tuple of list of str and int
            As `entries`, each entry one JSON object of the version that it was written in.
        """
        rows, seq = self._rows(game, book, since)
        known, _ = self._read.get((game, book), (0, {}))
        found = {row.seq: _read(row) for row in rows if row.seq > known}
        self._note(game, book, since, seq, {place: one for place, one in found.items() if isinstance(one, str)})
        faults = self._read[game, book][1]
        lifts = self._lifts(game, book)
        whole = [(row.seq, row.body.decode()) for row in rows if row.seq not in faults]
        return [_renumbered(body, lifts.get(place)) for place, body in whole], seq

    def damage(self, game: str) -> list[str]:
        """The entries of a game that can't be read, and are read past.

        Parameters
        ----------
        game : str
            Its id.

        Returns
        -------
        list of str
            A line for each, in order of arrival.
        """
        found: dict[int, str] = {}
        for book in self.books(game):
            known, _ = self._read.get((game, book.name), (0, {}))
            if known < book.seq:
                self.bodies(game, book.name, known)
            for place, why in self._read[game, book.name][1].items():
                found[place] = f"game {game}, {book.name}’s book: entry {place} can't be read and is left out: {why}"
        return [line for _, line in sorted(found.items())]

    def _rows(self, game: str, book: str, since: int) -> tuple[list[_Row], int]:
        sql = "SELECT seq, id, n, CAST(body AS BLOB) FROM journal WHERE game = ? AND book = ? AND seq > ? ORDER BY seq"
        rows = [_Row(*row) for row in self.store.connection().execute(sql, (game, book, since))]
        return rows, rows[-1].seq if rows else since

    def _note(self, game: str, book: str, since: int, seq: int, faults: dict[int, str]) -> None:
        """Keep up to where a book was read through, and what of it can't be read."""
        known, held = self._read.get((game, book), (0, {}))
        self._read[game, book] = max(known, seq) if since <= known else known, {**held, **faults}

    def books(self, game: str) -> list[Book]:
        """The books of a game.

        Parameters
        ----------
        game : str
            Its id.

        Returns
        -------
        list of Book
            By name.
        """
        rows = self.store.connection().execute(
            "SELECT book, count(*) AS held, max(n) AS last_n, min(seq) AS first_seq, max(seq) AS seq FROM journal "
            "WHERE game = ? GROUP BY book ORDER BY book",
            (game,),
        )
        found = [Book(*row) for row in rows]
        return [replace(one, last_n=self._highest(game, one.name)) for one in found]

    def head(self, game: str, book: str) -> str:
        """A short name for the exact state of a book.

        Parameters
        ----------
        game, book : str
            Which book.

        Returns
        -------
        str
            Number of entries and a digest of their ids, whatever order they arrived in.
        """
        entries, _ = self.entries(game, book)
        return head_of(entries)

    def _highest(self, game: str, book: str) -> int:
        """The highest number in a book, absurd ones put right."""
        sql = "SELECT coalesce(max(n), 0) FROM journal WHERE game = ? AND book = ?"
        highest = int(self.store.connection().execute(sql, (game, book)).fetchone()[0])
        return highest if highest <= ABSURDLY_AHEAD else max(self._numbers(game, book).values())

    def _lifts(self, game: str, book: str) -> dict[int, int]:
        """Places in the journal of absurd numbers, and what each counts as; mostly none, which is seen at once."""
        sql = "SELECT seq, n FROM journal WHERE game = ? AND book = ? AND n > ?"
        far: list[tuple[int, int]] = self.store.connection().execute(sql, (game, book, ABSURDLY_AHEAD)).fetchall()
        if not far:
            return {}
        numbers = self._numbers(game, book)
        return {seq: numbers[seq] for seq, n in far if numbers[seq] != n}

    def _numbers(self, game: str, book: str) -> dict[int, int]:
        sql = "SELECT seq, n FROM journal WHERE game = ? AND book = ? ORDER BY seq"
        rows: list[tuple[int, int]] = self.store.connection().execute(sql, (game, book)).fetchall()
        return dict(zip((seq for seq, _ in rows), lifted(n for _, n in rows), strict=True))


def too_far(n: int, highest: int) -> str:
    """Why an entry is refused whose number is too far ahead.

    Parameters
    ----------
    n : int
        The number.
    highest : int
        The highest that its book has or takes.

    Returns
    -------
    str
        What is wrong.
    """
    return f'"n" is {n}, far beyond {highest}, the last of this book'


def _renumbered(body: str, n: int | None) -> str:
    return body if n is None else replace(read_entry(json.loads(body)), n=n).as_json()


def _author(body: str) -> str:
    try:
        return str(json.loads(body).get("by", ""))
    except (ValueError, AttributeError, RecursionError):  # damaged: nobody's, so that nobody but the laptop undoes it
        return ""


def _read(row: _Row) -> Entry | str:
    """A row's entry, or why it is none."""
    try:
        entry = read_entry(json.loads(row.body.decode()))
    except EntryError as fault:
        return str(fault)
    except (ValueError, RecursionError, AttributeError):
        return "its text is damaged"
    if (entry.id, entry.n) != (row.id, row.n):
        return f"stored as {row.id}, it says {entry.id}"
    return entry


def head_of(entries: Iterable[Entry]) -> str:
    """A short name for a set of entries, the same in any order.

    Parameters
    ----------
    entries : iterable of Entry
        Of one book.

    Returns
    -------
    str
        `count-digest`.
    """
    ordered = sorted(entries, key=lambda entry: entry.place)
    digest = hashlib.sha256("\n".join(entry.as_json() for entry in ordered).encode()).hexdigest()
    return f"{len(ordered)}-{digest[:12]}"
