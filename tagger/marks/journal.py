"""The journal: entries on disk, in the order in which they arrived, never changed.

An entry that arrives again with the same content is a harmless retry; the same id with other content is refused. What
`add` answers as stored is on disk.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tagger.marks.entries import Entry, EntryError, read_entry
from tagger.store import Store

STORED = "stored"
AGAIN = "again"
REFUSED = "refused"


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


class Journal:
    """The journal of a season.

    Parameters
    ----------
    store : Store
        The season's database.
    """

    def __init__(self, store: Store) -> None:
        self.store = store

    def add(self, game: str, book: str, raw_entries: Sequence[Any]) -> list[Added]:
        """Take entries in, in one transaction.

        Parameters
        ----------
        game, book : str
            Where they belong; the game must be known.
        raw_entries : sequence of object
            Parsed JSON objects.

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
        with self.store.writing() as db:
            if db.execute("SELECT 1 FROM games WHERE id = ?", (game,)).fetchone() is None:
                why = f"the season has no game “{game}”"
                return [Added(one.id, REFUSED, why) for one in read]
            for one in read:
                if isinstance(one, Added):
                    made.append(one)
                    continue
                body = one.as_json()
                held = db.execute("SELECT game, book, body FROM journal WHERE id = ?", (one.id,)).fetchone()
                if held is None:
                    db.execute(
                        "INSERT INTO journal (game, book, id, n, body) VALUES (?, ?, ?, ?, ?)",
                        (game, book, one.id, one.n, body),
                    )
                    made.append(Added(one.id, STORED))
                elif (held["game"], held["book"], held["body"]) == (game, book, body):
                    made.append(Added(one.id, AGAIN))
                else:
                    made.append(Added(one.id, REFUSED, "another entry has this id; nothing was changed"))
        return made

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
        bodies, seq = self.bodies(game, book, since)
        return [read_entry(json.loads(body)) for body in bodies], seq

    def bodies(self, game: str, book: str, since: int = 0) -> tuple[list[str], int]:
        """A book's entries as JSON texts, as they lie on the disk.

        Parameters
        ----------
        game, book, since
            As for `entries`.

        Returns
        -------
        tuple of list of str and int
            As `entries`, each entry one JSON object of the version that it was written in.
        """
        rows = self.store.connection().execute(
            "SELECT seq, body FROM journal WHERE game = ? AND book = ? AND seq > ? ORDER BY seq", (game, book, since)
        )
        found = [(row["seq"], row["body"]) for row in rows]
        return [body for _, body in found], (found[-1][0] if found else since)

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
        return [Book(row["book"], row["held"], row["last_n"], row["first_seq"], row["seq"]) for row in rows]

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
