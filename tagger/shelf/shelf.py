"""The films of a season, game by game, as they are now; and how they come in."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from tagger.errors import BadGame
from tagger.shelf.cameras import camera_names, tied
from tagger.shelf.copies import Copies
from tagger.shelf.film_row import COLUMNS, OF_FILE, film_row
from tagger.shelf.films import Film, NewFilm, kept_path
from tagger.shelf.indexes import Indexes
from tagger.shelf.whereabouts import Whereabouts
from tagger.store.database import Store


class Shelf:
    """The films of one season.

    Parameters
    ----------
    store : Store
        The season's database.
    folder : Path
        The season's folder.
    """

    def __init__(self, store: Store, folder: Path) -> None:
        self.store = store
        self.folder = folder
        self.indexes = Indexes(store)
        self.whereabouts = Whereabouts(store, folder, self.indexes)
        self.copies = Copies(store, folder, self.whereabouts)

    def films(self, game: str, camera: str = "") -> list[Film]:
        """The films of a game in their order on its time line.

        Parameters
        ----------
        game : str
            Its id.
        camera : str
            Another camera's instead; see `tagger.shelf.cameras`.

        Returns
        -------
        list of Film
            Each begins where the one before ended, and its gap.
        """
        db = self.store.connection()
        found = []
        at_ms = 0
        sql = f"SELECT {COLUMNS} FROM films WHERE game = ? AND camera = ? ORDER BY place"
        for row in map(film_row, db.execute(sql, (game, camera))):
            at_ms += row.gap_ms
            original = self.whereabouts.standing(row)
            found.append(
                Film(
                    row.id,
                    row.game,
                    row.name,
                    offset_ms=at_ms,
                    duration_ms=row.duration_ms,
                    n_frames=row.n_frames,
                    state=self.copies.state(row, original),
                    fingerprint=row.fingerprint,
                    path=row.path,
                    gap_ms=row.gap_ms,
                    gap_from=row.gap_from,
                    original=original,
                    damage=row.damage,
                    camera=camera,
                )
            )
            at_ms += row.duration_ms
        return tied(self.store, found, self.films(game)) if camera else found

    def other_films(self, game: str) -> list[Film]:
        """The films of a game's other cameras, camera by camera, each in order; see `tagger.shelf.cameras`."""
        return [film for camera in camera_names(self.store, game) for film in self.films(game, camera)]

    def film(self, id_: str) -> Film:
        """One film by its id.

        Parameters
        ----------
        id_ : str
            Its id.

        Returns
        -------
        Film
            The film.

        Raises
        ------
        NoFilm
            The season has none such.
        """
        row = self.whereabouts.row(id_)
        return next(film for film in self.films(row.game, row.camera) if film.id == id_)

    def all_films(self) -> list[Film]:
        """Every film of the season.

        Returns
        -------
        list of Film
            Game by game, other cameras' films after the game's own.
        """
        games = self.store.connection().execute("SELECT id FROM games ORDER BY date, id").fetchall()
        return [film for (game,) in games for film in (*self.films(game), *self.other_films(game))]

    def enter(self, game: str, films: list[NewFilm]) -> list[Film]:
        """Enter films as the last ones of a game, all of them or none.

        Parameters
        ----------
        game : str
            Its game.
        films : list of NewFilm
            In their order.

        Returns
        -------
        list of Film
            As entered.

        Raises
        ------
        BadGame
            The season has one of them already. Only a film that has marks and no file gets its file instead.
        """
        with self.store.writing() as db:
            for new in films:
                held = db.execute("SELECT game, path FROM films WHERE id = ?", (new.id,)).fetchone()
                if held is None:
                    sql = "SELECT coalesce(max(place), 0) + 1 FROM films WHERE game = ?"
                    place = db.execute(sql, (game,)).fetchone()[0]
                    sql = f"INSERT INTO films ({COLUMNS}, frame_index) VALUES ({', '.join('?' * 18)})"
                    values, frames = self._values(new), self._frames(new)
                    db.execute(sql, (new.id, game, place, new.name, *values, new.camera, frames))
                elif held["game"] == game and not held["path"] and new.path is not None:
                    sql = f"UPDATE films SET (name, {OF_FILE}, frame_index) = ({', '.join('?' * 14)}) WHERE id = ?"
                    db.execute(sql, (new.name, *self._values(new), self._frames(new), new.id))
                else:
                    raise BadGame(f"{new.name}: this film is in game {held['game']} already; nothing was changed")
        self.indexes.forget({new.id for new in films})
        return [self.film(new.id) for new in films]

    def _values(self, new: NewFilm) -> tuple[Any, ...]:
        return (
            kept_path(self.folder, new.path),
            new.size_bytes,
            _mtime_ns(new.path) if new.path is not None else 0,
            new.fingerprint,
            new.gap_ms,
            new.gap_from,
            new.duration_ms,
            new.index.n_frames if new.index is not None else 0,
            int(new.facts is None or new.facts.as_it_lies),
            new.slow,
            json.dumps(asdict(new.facts)) if new.facts is not None else "",
            json.dumps(list(new.damage)),
        )

    @staticmethod
    def _frames(new: NewFilm) -> bytes | None:
        return new.index.to_bytes() if new.index is not None else None

    def relink(self, id_: str, path: Path) -> None:
        """Say where a film's original lies now. Whoever calls has made sure that it is the same film.

        Parameters
        ----------
        id_ : str
            The film's id.
        path : Path
            The file.
        """
        with self.store.writing() as db:
            db.execute(
                "UPDATE films SET path = ?, mtime_ns = ? WHERE id = ?",
                (kept_path(self.folder, path), _mtime_ns(path), id_),
            )
        self.indexes.forget({id_})

    def set_damage(self, id_: str, damage: list[dict[str, Any]]) -> None:
        """Say what is damaged in a film.

        Parameters
        ----------
        id_ : str
            The film's id.
        damage : list of dict
            As in `Film`.
        """
        with self.store.writing() as db:
            db.execute("UPDATE films SET damage = ? WHERE id = ?", (json.dumps(damage), id_))


def _mtime_ns(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0
