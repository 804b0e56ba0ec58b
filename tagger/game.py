"""A game of a season."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tagger.dates import EXAMPLE, day
from tagger.errors import BadGame, NoGame

_ID = re.compile(r"[A-Za-z0-9._-]{1,60}\Z")
_WRITTEN = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
NO_DATE = "1970-01-01"
"""Stands where a game's date can't be read."""


@dataclass(frozen=True)
class Game:
    """A game: id, date as YYYY-MM-DD, the opponent, whether at home, a word about it, the book the tables are from."""

    id: str
    date: str
    opponent: str
    home: bool
    about: str = ""
    chosen_book: str = ""


def game_of(row: sqlite3.Row) -> Game:
    """A game from its row in the database.

    Parameters
    ----------
    row : sqlite3.Row
        Of the table `games`.

    Returns
    -------
    Game
        The game. A date that is none any more is NO_DATE; `faults_of` names it.
    """
    date = str(row["date"])
    home, texts = bool(row["home"]), [str(row[name]) for name in ("opponent", "about", "chosen_book")]
    return Game(str(row["id"]), date if is_date(date) else NO_DATE, texts[0], home, *texts[1:])


def faults_of(row: sqlite3.Row) -> Iterator[str]:
    """What of a game's row can't be read.

    Parameters
    ----------
    row : sqlite3.Row
        Of the table `games`.

    Yields
    ------
    str
        A line each.
    """
    if not is_game_id(row["id"]):
        yield f"game “{row['id']}”: its id is damaged"
    if not is_date(row["date"]):
        yield f"game {row['id']}: its date is damaged (“{row['date']}”)"
    if not isinstance(row["opponent"], str) or "\ufffd" in row["opponent"]:
        yield f"game {row['id']}: its opponent’s name is damaged (“{row['opponent']}”)"


def is_game_id(text: object) -> bool:
    """Whether something can be a game's id.

    Parameters
    ----------
    text : object
        Anything.

    Returns
    -------
    bool
        Letters, digits and . _ - only.
    """
    return isinstance(text, str) and _ID.match(text) is not None


def is_date(text: object) -> bool:
    """Whether something is written as a date; one that no calendar has may stand in an older season.

    Parameters
    ----------
    text : object
        Anything.

    Returns
    -------
    bool
        YYYY-MM-DD only.
    """
    return isinstance(text, str) and _WRITTEN.match(text) is not None


def listed(games: Iterable[Game]) -> str:
    """Games in a line for people.

    Parameters
    ----------
    games : iterable of Game
        Any.

    Returns
    -------
    str
        Ids with their opponents; "none yet" when there are none.
    """
    return ", ".join(f"{game.id} ({game.opponent})" for game in games) or "none yet"


def the_one(games: list[Game], words: str) -> Game:
    """The only game that some words fit.

    Parameters
    ----------
    games : list of Game
        All of them.
    words : str
        Id, date, or part of the opponent's name.

    Returns
    -------
    Game
        It.

    Raises
    ------
    NoGame
        None fits, or several do.
    """
    exact = [game for game in games if words in (game.id, game.date)]
    found = exact or [game for game in games if words.lower() in game.opponent.lower()]
    if len(found) == 1:
        return found[0]
    if found:
        raise NoGame(f"“{words}” fits {listed(found)}; say the id")
    raise NoGame(f"no game “{words}” in this season; it has {listed(games)}. --new makes one")


def check_new(id_: str, date: str, opponent: str) -> None:
    """Refuse a game that cannot be.

    Parameters
    ----------
    id_, date, opponent : str
        As told.

    Raises
    ------
    BadGame
        The id is no id, the date is none, or the opponent has no name.
    """
    if not _ID.match(id_):
        raise BadGame(f"a game's id is letters, digits and . _ -; “{id_}” is not")
    if day(date) is None:
        raise BadGame(f"“{date}” is not a date: a day of the calendar, written like {EXAMPLE}")
    if not opponent.strip():
        raise BadGame("the opponent has no name; say --opponent NAME")
