"""Other cameras: film of the same play from another place, tied to the game's time line by one moment seen in both.

A camera's films follow on each other like the game's own. Where they lie on the game's time line is said by a tie: a
frame of one of them shows the same moment as a frame of the game's own film. Until there is one, they are taken to
begin together. Moving the tie moves the marks that were made on that camera's film with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from tagger.errors import BadGame

if TYPE_CHECKING:
    from tagger.films import Film
    from tagger.shelf import Shelf

LONGEST_NAME = 40


def camera_names(shelf: Shelf, game: str) -> list[str]:
    """The other cameras of a game.

    Parameters
    ----------
    shelf : Shelf
        The season's films.
    game : str
        Its id.

    Returns
    -------
    list of str
        As people call them, in the order in which they came.
    """
    sql = "SELECT camera FROM films WHERE game = ? AND camera <> '' GROUP BY camera ORDER BY min(place)"
    return [row["camera"] for row in shelf.store.connection().execute(sql, (game,))]


def other_films(shelf: Shelf, game: str) -> list[Film]:
    """The films of a game's other cameras.

    Parameters
    ----------
    shelf : Shelf
        The season's films.
    game : str
        Its id.

    Returns
    -------
    list of Film
        Camera by camera, each in order; they lie beside the game's own films and beside each other.
    """
    return [film for camera in camera_names(shelf, game) for film in shelf.films(game, camera)]


def tied(shelf: Shelf, game: str, films: Sequence[Film]) -> list[Film]:
    """Put a camera's films where its tie says that they lie.

    Parameters
    ----------
    shelf : Shelf
        The season's films.
    game : str
        Their game.
    films : sequence of Film
        One camera's, one after the other from 0.

    Returns
    -------
    list of Film
        On the game's time line; they may begin before it (below 0). Without a tie, or when one of its two films is no
        longer in the game, they begin with the game and are not tied.
    """
    if not films:
        return []
    sql = "SELECT * FROM ties WHERE game = ? AND camera = ?"
    tie = shelf.store.connection().execute(sql, (game, films[0].camera)).fetchone()
    here = next((film for film in films if tie is not None and film.id == tie["film"]), None)
    there = next((film for film in shelf.films(game) if tie is not None and film.id == tie["of_film"]), None)
    if here is None or there is None:
        return [replace(film, tied=False) for film in films]
    shift_ms = there.offset_ms + tie["of_ms"] - here.offset_ms - tie["at_ms"]
    return [replace(film, offset_ms=film.offset_ms + shift_ms) for film in films]


def tie(shelf: Shelf, film: str, at_ms: int, of_film: str, of_ms: int) -> None:
    """Say that two frames show the same moment.

    Parameters
    ----------
    shelf : Shelf
        The season's films.
    film : str
        A film of another camera.
    at_ms : int
        Its frame, ms from its first one.
    of_film : str
        A film of the game's own.
    of_ms : int
        That one's frame.

    Raises
    ------
    NoFilm
        The season has no such film.
    BadGame
        The films are of two games, of one camera, or a moment lies outside its film: nothing was changed.
    """
    one, other = shelf.film(film), shelf.film(of_film)
    if one.game != other.game:
        raise BadGame(f"{one.name} is of game {one.game}, {other.name} of {other.game}; nothing was tied")
    if not one.camera or other.camera:
        raise BadGame(f"{one.name} and {other.name}: a tie is between another camera’s film and the game’s own")
    for each, ms in ((one, at_ms), (other, of_ms)):
        if not 0 <= ms <= each.duration_ms:
            raise BadGame(f"{each.name} has no moment {ms} ms; it is {each.duration_ms} ms long; nothing was tied")
    with shelf.store.writing() as db:
        db.execute(
            "INSERT OR REPLACE INTO ties (game, camera, film, at_ms, of_film, of_ms) VALUES (?, ?, ?, ?, ?, ?)",
            (one.game, one.camera, film, at_ms, of_film, of_ms),
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
