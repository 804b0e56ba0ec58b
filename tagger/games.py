"""A game of a season."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from tagger.dates import EXAMPLE, day
from tagger.errors import BadGame, NoGame

_ID = re.compile(r"[A-Za-z0-9._-]{1,60}\Z")


@dataclass(frozen=True)
class Game:
    """A game: id, date as YYYY-MM-DD, the opponent, whether at home, a word about it, the book the tables are from."""

    id: str
    date: str
    opponent: str
    home: bool
    about: str = ""
    chosen_book: str = ""


def game_of(row: Any) -> Game:
    """A game from its row in the database.

    Parameters
    ----------
    row : sqlite3.Row
        Of the table `games`.

    Returns
    -------
    Game
        The game.
    """
    return Game(row["id"], row["date"], row["opponent"], bool(row["home"]), row["about"], row["chosen_book"])


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
