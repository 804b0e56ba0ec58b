"""Other cameras: film of the same play from another place, tied to the game's time line by one moment seen in both.

A camera's films follow on each other like the game's own. Where they lie on the game's time line is said by a tie: a
frame of one of them shows the same moment as a frame of the game's own film. Until there is one, they are taken to
begin together. Moving the tie moves the marks that were made on that camera's film with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from tagger.errors import BadGame

if TYPE_CHECKING:
    from tagger.shelf.films import Film
    from tagger.store.database import Store

LONGEST_NAME = 40


class _Tie(NamedTuple):
    """Two frames that show the same moment, ms from the first frame of each film."""

    film: str
    at_ms: int
    of_film: str
    of_ms: int


def camera_names(store: Store, game: str) -> list[str]:
    """The other cameras of a game.

    Parameters
    ----------
    store : Store
        The season's database.
    game : str
        Its id.

    Returns
    -------
    list of str
        As people call them, in the order in which they came.
    """
    sql = "SELECT camera FROM films WHERE game = ? AND camera <> '' GROUP BY camera ORDER BY min(place)"
    return [str(camera) for (camera,) in store.connection().execute(sql, (game,))]


def tied(store: Store, films: Sequence[Film], own: Sequence[Film]) -> list[Film]:
    """Put a camera's films where its tie says that they lie.

    Parameters
    ----------
    store : Store
        The season's database.
    films : sequence of Film
        One camera's, one after the other from 0.
    own : sequence of Film
        The game's own.

    Returns
    -------
    list of Film
        On the game's time line; they may begin before it (below 0). Without a tie, or when one of its two films is no
        longer in the game, they begin with the game and are not tied.
    """
    if not films:
        return []
    held = _tie_of(store, films[0].game, films[0].camera)
    here = next((film for film in films if held is not None and film.id == held.film), None)
    there = next((film for film in own if held is not None and film.id == held.of_film), None)
    if held is None or here is None or there is None:
        return [replace(film, tied=False) for film in films]
    shift_ms = there.offset_ms + held.of_ms - here.offset_ms - held.at_ms
    return [replace(film, offset_ms=film.offset_ms + shift_ms) for film in films]


def _tie_of(store: Store, game: str, camera: str) -> _Tie | None:
    sql = "SELECT film, at_ms, of_film, of_ms FROM ties WHERE game = ? AND camera = ?"
    row = store.connection().execute(sql, (game, camera)).fetchone()
    return _Tie(*row) if row is not None else None


def tie(store: Store, film: Film, at_ms: int, own: Film, own_ms: int) -> None:
    """Say that two frames show the same moment.

    Parameters
    ----------
    store : Store
        The season's database.
    film : Film
        Of another camera.
    at_ms : int
        Its frame, ms from its first one.
    own : Film
        One of the game's own.
    own_ms : int
        That one's frame.

    Raises
    ------
    BadGame
        The films are of two games, of one camera, or a moment lies outside its film: nothing was changed.
    """
    if film.game != own.game:
        raise BadGame(f"{film.name} is of game {film.game}, {own.name} of {own.game}; nothing was tied")
    if not film.camera or own.camera:
        raise BadGame(f"{film.name} and {own.name}: a tie is between another camera’s film and the game’s own")
    for each, ms in ((film, at_ms), (own, own_ms)):
        if not 0 <= ms <= each.duration_ms:
            raise BadGame(f"{each.name} has no moment {ms} ms; it is {each.duration_ms} ms long; nothing was tied")
    with store.writing() as db:
        db.execute(
            "INSERT OR REPLACE INTO ties (game, camera, film, at_ms, of_film, of_ms) VALUES (?, ?, ?, ?, ?, ?)",
            (film.game, film.camera, film.id, at_ms, own.id, own_ms),
        )


def check_name(camera: str) -> str:
    """A camera's name as it is entered.

    Parameters
    ----------
    camera : str
        As told.

    Returns
    -------
    str
        Without spaces around it.

    Raises
    ------
    BadGame
        It is empty, too long, or has a line break in it.
    """
    name = camera.strip()
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise BadGame(f"a camera’s name is 1 to {LONGEST_NAME} letters, as “behind the goal”; “{camera}” is not")
    return name
