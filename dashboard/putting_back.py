"""A book put back to an earlier moment, from the command line or a game's page: by entries, nothing is lost."""

from __future__ import annotations

import datetime
import re
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Blueprint, Response, redirect, request

from dashboard.errors import WrongBook
from tagger.errors import SeasonError
from tagger.marks.putback import Earlier, moment_at, moments, place_at, to_take_back
from tagger.screen.answers import Refused, error_answer
from tagger.screen.visitor import visitor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dashboard.loading import Present
    from tagger.marks.entries import Entry
    from tagger.season import Season

_PLACE = re.compile(r"#?(\d{1,9})\Z")
_TIME = re.compile(r"(\d{4}-\d{2}-\d{2})[ T](\d{1,2}:\d{2})(:\d{2})?\Z")
_AGAIN = 5


@dataclass(frozen=True)
class PutBack:
    """What was done: the book, the moment it is at now, entries it held before, and how many were taken back."""

    book: str
    moment: Earlier
    n_before: int
    n_taken_back: int


def put_back(season: Season, game: str, book: str, place: int, now: datetime.datetime) -> PutBack:
    """Put a book back to what its first entries say.

    Parameters
    ----------
    season : Season
        The open season.
    game, book : str
        Which book.
    place : int
        How many entries had arrived at the moment meant.
    now : datetime
        The wall time that the new entries say; with a time zone.

    Returns
    -------
    PutBack
        Nothing was taken back when the book was so already.

    Raises
    ------
    WrongBook
        The book has no such place, or takes no more entries.
    """
    from tagger.marks.entries import PUT_BACK, VERSION
    from tagger.marks.journal import STORED

    entries = arrived(season, game, book)
    if not 0 <= place <= len(entries):
        raise WrongBook(f"{book}’s book of game {game} has {len(entries)} entries, so no place #{place}")
    n_before, n_taken = len(entries), 0
    wall = now.astimezone(datetime.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    for _ in range(_AGAIN):  # what somebody entered meanwhile came later too
        wanted = to_take_back(entries, place)
        if not wanted:
            break
        n, name = 1 + max(entry.n for entry in entries), f"back-{secrets.token_hex(6)}"
        raw = [
            {"v": VERSION, "id": f"{name}-{at}", "n": n, "by": PUT_BACK, "wall": wall, "does": "undo", "of": id_}
            for at, id_ in enumerate(wanted)
        ]
        added = season.journal.add(game, book, raw)
        refused = next((one for one in added if one.state != STORED), None)
        if refused is not None:
            raise WrongBook(f"{book}’s book of game {game} takes no more entries: {refused.why}")
        n_taken += len(raw)
        entries = arrived(season, game, book)
    return PutBack(book, moment_at(entries, place), n_before, n_taken)


def arrived(season: Season, game: str, book: str) -> list[Entry]:
    """A book's entries in the order in which they arrived.

    Parameters
    ----------
    season : Season
        The open season.
    game, book : str
        Which book.

    Returns
    -------
    list of Entry
        At least one.

    Raises
    ------
    WrongBook
        The game has no such book.
    """
    entries, _ = season.journal.entries(game, book)
    if not entries:
        there = ", ".join(f"“{one.name}”" for one in season.journal.books(game)) or "no book yet"
        raise WrongBook(f"game {game} has no book “{book}”; it has {there}")
    return entries


def place_said(words: str, entries: Sequence[Entry]) -> int:
    """The place that somebody means.

    Parameters
    ----------
    words : str
        A time of this computer's clock, as "2026-11-27 21:40" (to the end of that minute), or a place, as "#412".

    entries : sequence of Entry
        The book in the order of arrival.

    Returns
    -------
    int
        How many entries had arrived.

    Raises
    ------
    WrongBook
        The words are neither, or the clocks of those who tagged disagree about that moment.
    """
    said = words.strip()
    if found := _PLACE.match(said):
        return int(found[1])
    time = _TIME.match(said)
    try:
        if time is None:
            raise ValueError
        when = datetime.datetime.fromisoformat(f"{time[1]} {time[2]:0>5}{time[3] or ':59.999999'}").astimezone()
    except (ValueError, OverflowError):
        raise WrongBook(
            f"“{words}” is no moment; say a time, as 2026-11-27 21:40, or a place, as #412 (--moments lists them)"
        ) from None
    first, last = place_at(entries, when)
    if first != last:
        raise WrongBook(
            f"the clocks of those who tagged disagree about {said}: a later time follows #{first}, an earlier one "
            f"still stands before #{last}; say the place, #{first} or #{last} (--moments lists them)"
        )
    return first


def said_of(moment: Earlier) -> str:
    """A moment in words.

    Parameters
    ----------
    moment : Earlier
        Any.

    Returns
    -------
    str
        When, by this computer's clock; which place; how many marks stood.
    """
    when = f"{moment.wall.astimezone():%Y-%m-%d %H:%M:%S}" if moment.wall is not None else "no time known"
    return f"{when}, #{moment.place}: {moment.n_marks} {'mark' if moment.n_marks == 1 else 'marks'}"


def earlier(season: Season, game: str, book: str) -> list[Earlier]:
    """The moments that a book may be put back to.

    Parameters
    ----------
    season : Season
        The open season.
    game, book : str
        Which book.

    Returns
    -------
    list of Earlier
        The latest first; none for a book without entries.
    """
    entries, _ = season.journal.entries(game, book)
    return moments(entries)


def create_putting_back(present: Present) -> Blueprint:
    """The answer to "put it back to then", which the laptop alone may ask for.

    Parameters
    ----------
    present : Present
        The season.

    Returns
    -------
    Blueprint
        POST /games/GAME/put-back?book=BOOK with the field `place`; back to the game's page.
    """
    putting = Blueprint("putting_back", __name__)

    @putting.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @putting.post("/games/<game>/put-back")
    def back(game: str) -> Response:
        if not visitor().at_laptop:
            raise Refused(403, "laptop_only", "a book is put back on the laptop that serves it")
        place = _PLACE.match(request.form.get("place", ""))
        if place is None:
            raise Refused(400, "no_place", "a place is the number of entries that had arrived")
        try:
            found = present.season.games.game(game)
            now = datetime.datetime.now(datetime.UTC)
            put_back(present.season, found.id, request.args.get("book", ""), int(place[1]), now)
        except SeasonError as fault:
            raise Refused(404, "no_game", str(fault)) from fault
        except WrongBook as fault:
            raise Refused(400, "no_place", str(fault)) from fault
        return redirect(f"/games/{found.id}", 303)  # type: ignore[return-value]

    return putting
