"""A book of marks as a JSON Lines file: written whole, taken in whole, and only where it belongs."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.errors import WrongBook
from tagger.marks.numbering import lifted

if TYPE_CHECKING:
    from tagger.marks.entries import Entry, Header
    from tagger.season import Season


@dataclass(frozen=True)
class Taken:
    """What came in: the book, new entries, and those that were there already."""

    book: str
    n_new: int
    n_known: int


def write_out(season: Season, game: str, book: str | None, target: Path) -> tuple[str, int]:
    """Write a book to a file; the file appears only when it is whole.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of the game.
    book : str or None
        The book; the game's chosen one when None.
    target : Path
        The file.

    Returns
    -------
    tuple of str and int
        The book's name and how many entries were written.

    Raises
    ------
    WrongBook
        The game has no such book.
    """
    from tagger.written import write_whole

    name, lines = lines_of(season, game, book)
    write_whole(target, "".join(lines))
    return name, len(lines) - 1


def lines_of(season: Season, game: str, book: str | None) -> tuple[str, list[str]]:
    """A book as the lines of its file.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of the game.
    book : str or None
        The book; the game's chosen one when None.

    Returns
    -------
    tuple of str and list of str
        The book's name, and the header's line with those of the entries, each ended.

    Raises
    ------
    WrongBook
        The game has no such book.
    """
    from tagger.marks.entries import Header, write_lines

    name = book or season.tagged.chosen_book(game)
    books = [one.name for one in season.journal.books(game)]
    if name not in books:
        there = ", ".join(f"“{one}”" for one in books) or "no book yet"
        raise WrongBook(f"game {game} has no book “{name}”; it has {there}")
    entries, _ = season.journal.entries(game, name)
    header = Header(season.texts.settings.id, game, name, fingerprints(season, game))
    return name, list(write_lines(header, entries))


def take_in(season: Season, game: str, book: str | None, source: Path) -> Taken:
    """Take a file's entries into the journal, all of them or none.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of the game that the file must be of.
    book : str or None
        Into this book instead of the one that the file names.
    source : Path
        The file.

    Returns
    -------
    Taken
        What came of it.

    Raises
    ------
    WrongBook
        The file is of another season, game or film, or an id in it stands for something else here.
    EntryError
        A line is no entry.
    """
    return take_bytes(season, game, book, source.read_bytes(), source.name)


def take_bytes(season: Season, game: str, book: str | None, content: bytes, name: str) -> Taken:
    """Take the content of a book's file into the journal, all of it or nothing.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of the game that the file must be of.
    book : str or None
        Into this book instead of the one that the file names.
    content : bytes
        What is in the file.
    name : str
        What the file is called, for messages.

    Returns
    -------
    Taken
        What came of it.

    Raises
    ------
    WrongBook
        As for `take_in`.
    EntryError
        A line is no entry.
    """
    from tagger.marks.entries import BOOK_RULE, is_book_name, read_lines
    from tagger.marks.journal import REFUSED, STORED

    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise WrongBook(f"{name}: not UTF-8 text, so no file that floorbook wrote; nothing was taken in") from None
    header, entries = read_lines(io.StringIO(text, newline=None), name)
    _belongs(season, game, header, name)
    into = book or header.book
    if not is_book_name(into):
        raise WrongBook(f"{name}: no book can be called “{into}”: {BOOK_RULE}; nothing was taken in")
    entries = _put_right(season, game, into, entries)
    _no_other_content(season, game, into, entries, name)
    added = season.journal.add(game, into, [_raw(entry) for entry in entries])
    refused = next((one for one in added if one.state == REFUSED), None)
    if refused is not None:
        raise WrongBook(f"{name}: entry {refused.id}: {refused.why}; the others were taken in")
    n_new = sum(one.state == STORED for one in added)
    return Taken(into, n_new, len(added) - n_new)


def fingerprints(season: Season, game: str) -> tuple[str, ...]:
    """What a game's films are known by.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Its id.

    Returns
    -------
    tuple of str
        In the order of the films.
    """
    return tuple(film.fingerprint for film in season.shelf.films(game) if film.fingerprint)


def _belongs(season: Season, game: str, header: Header, name: str) -> None:
    if header.season != season.texts.settings.id:
        raise WrongBook(
            f"{name}: marks of the season “{header.season}”, this one is “{season.texts.settings.id}”; "
            "nothing was taken in"
        )
    if header.game != game:
        raise WrongBook(f"{name}: marks of game {header.game}, not of {game}; nothing was taken in")
    strange = [film for film in header.films if film not in fingerprints(season, game)]
    if strange:
        raise WrongBook(
            f"{name}: marks of a film ({strange[0]}) that game {game} does not have; bring that film in first, "
            "nothing was taken in"
        )


def _put_right(season: Season, game: str, book: str, entries: list[Entry]) -> list[Entry]:
    """Entries with absurd numbers, written before such were refused, as the journal they come from shows them now."""
    numbered = zip(entries, lifted(entry.n for entry in entries), strict=True)
    return [
        entry if n == entry.n or season.journal.held_as(game, book, entry) == "" else replace(entry, n=n)
        for entry, n in numbered
    ]


def _no_other_content(season: Season, game: str, book: str, entries: list[Entry], name: str) -> None:
    """Nothing may be refused half-way: an id of the file that stands for something else here refuses all of it."""
    from tagger.marks.journal import too_far

    seen: dict[str, str] = {}
    limit = season.journal.reach(game, book, (entry.n for entry in entries))
    for entry in entries:
        body = entry.as_json()
        if seen.setdefault(entry.id, body) != body:
            raise WrongBook(f"{name}: two different entries have the id {entry.id}; nothing was taken in")
        where = season.journal.held_as(game, book, entry)
        if where:
            raise WrongBook(f"{name}: the id {entry.id} is another entry’s already ({where}); nothing was taken in")
        if where is None and entry.n > limit:
            raise WrongBook(f"{name}: entry {entry.id}: {too_far(entry.n, limit)}; nothing was taken in")


def _raw(entry: Entry) -> dict[str, object]:
    import json

    return json.loads(entry.as_json())
