"""Where the season's films stand, and whether what stands there is still the film that was brought in.

An original is played and cut where it lies. It is known by what is in it: a file that is not where it was, or is
another one now, is never used.
"""

from __future__ import annotations

import json
import stat
import threading
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.errors import BadGame, NoFilm
from tagger.shelf.cameras import camera_names, tied
from tagger.shelf.copies import Copies
from tagger.shelf.films import AWAY, CHANGED, NONE, ORIGINAL, READY, Film, NewFilm, damage_in, kept_path, size_of, whole
from tagger.store.database import Store

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.film.probe import FilmFacts

_MOST_INDEXES = 8
_OF_FILE = (
    "path, size_bytes, mtime_ns, fingerprint, gap_ms, gap_from, duration_ms, n_frames, plays, slow, facts, damage"
)
_COLUMNS = f"id, game, place, name, {_OF_FILE}"


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
        self.copies = Copies(store, folder, self)
        self._guard = threading.Lock()
        self._indexes: dict[tuple[str, str], FrameIndex] = {}
        self._verified: dict[tuple[str, str, int, int], bool] = {}

    # Films --------------------------------------------------------------------------------------------------------

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
        sql = f"SELECT {_COLUMNS} FROM films WHERE game = ? AND camera = ? ORDER BY place"
        for row in db.execute(sql, (game, camera)):
            gap_ms, duration_ms, n_frames = (whole(row[name]) for name in ("gap_ms", "duration_ms", "n_frames"))
            at_ms += gap_ms
            original = self.standing(row)
            found.append(
                Film(
                    row["id"],
                    row["game"],
                    row["name"],
                    at_ms,
                    duration_ms,
                    n_frames,
                    self.copies.state(row, original),
                    row["fingerprint"],
                    row["path"],
                    gap_ms,
                    row["gap_from"],
                    original,
                    damage_in(row["damage"]) or (),
                    camera,
                )
            )
            at_ms += duration_ms
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
        row = self.row(id_)
        return next(film for film in self.films(row["game"], row["camera"]) if film.id == id_)

    def all_films(self) -> list[Film]:
        """Every film of the season.

        Returns
        -------
        list of Film
            Game by game, other cameras' films after the game's own.
        """
        games = self.store.connection().execute("SELECT id FROM games ORDER BY date, id").fetchall()
        return [film for row in games for film in (*self.films(row["id"]), *self.other_films(row["id"]))]

    def facts(self, id_: str) -> FilmFacts | None:
        """What a film's file is.

        Parameters
        ----------
        id_ : str
            The film's id.

        Returns
        -------
        FilmFacts or None
            As found when it was brought in.
        """
        text = self.row(id_)["facts"]
        if not text:
            return None
        from tagger.film.probe import FilmFacts

        try:
            return FilmFacts(**json.loads(text))
        except (ValueError, TypeError):  # damaged: as of a film of which nothing is known
            return None

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
                    sql = f"INSERT INTO films ({_COLUMNS}, frame_index) VALUES ({', '.join('?' * 17)})"
                    db.execute(sql, (new.id, game, place, new.name, *self._values(new)))
                    db.execute("UPDATE films SET camera = ? WHERE id = ?", (new.camera, new.id))
                elif held["game"] == game and not held["path"] and new.path is not None:
                    sql = f"UPDATE films SET (name, {_OF_FILE}, frame_index) = ({', '.join('?' * 14)}) WHERE id = ?"
                    db.execute(sql, (new.name, *self._values(new), new.id))
                else:
                    raise BadGame(f"{new.name}: this film is in game {held['game']} already; nothing was changed")
        self.forget({new.id for new in films})
        return [self.film(new.id) for new in films]

    def _values(self, new: NewFilm) -> tuple[Any, ...]:
        index = new.index
        return (
            kept_path(self.folder, new.path),
            new.size_bytes,
            _mtime_ns(new.path) if new.path is not None else 0,
            new.fingerprint,
            new.gap_ms,
            new.gap_from,
            new.duration_ms,
            index.n_frames if index is not None else 0,
            int(new.facts is None or new.facts.as_it_lies),
            new.slow,
            json.dumps(asdict(new.facts)) if new.facts is not None else "",
            json.dumps(list(new.damage)),
            index.to_bytes() if index is not None else None,
        )

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
        self.forget({id_})

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

    def original(self, id_: str) -> Path:
        """A film's original file.

        Parameters
        ----------
        id_ : str
            The film's id.

        Returns
        -------
        Path
            Exists, and is the film that was brought in.

        Raises
        ------
        NoFilm
            It is not there, or another file is.
        """
        row = self.row(id_)
        if self.standing(row) != READY:
            raise self.gone(row)
        return self.folder / row["path"]

    def index(self, id_: str, kind: str = ORIGINAL) -> FrameIndex:
        """A film's frames.

        Parameters
        ----------
        id_ : str
            The film's id.
        kind : str
            "original", or a copy's kind for that copy's own frames.

        Returns
        -------
        FrameIndex
            As made when the file was.

        Raises
        ------
        NoFilm
            There is no film, only marks; or no such copy.
        """
        held = self._indexes.get((id_, kind))
        if held is None:
            sql = "SELECT name, frame_index FROM films WHERE id = ?"
            if kind != ORIGINAL:
                sql = "SELECT film AS name, frame_index FROM copies WHERE film = ? AND kind = ?"
            row = self.store.connection().execute(sql, (id_,) if kind == ORIGINAL else (id_, kind)).fetchone()
            if row is None:
                raise NoFilm(f"no film “{id_}” in this season")
            if row["frame_index"] is None:
                raise NoFilm(f"{row['name']}: marks without film; there are no frames")
            from tagger.film.index import FrameIndex

            held = FrameIndex.from_bytes(row["frame_index"])
            with self._guard:
                while len(self._indexes) >= _MOST_INDEXES:
                    del self._indexes[next(iter(self._indexes))]
                self._indexes[(id_, kind)] = held
        return held

    # Files --------------------------------------------------------------------------------------------------------

    def row(self, id_: str) -> Any:
        """A film's row in the database, without its frames.

        Parameters
        ----------
        id_ : str
            Its id.

        Returns
        -------
        sqlite3.Row
            As stored.

        Raises
        ------
        NoFilm
            The season has none such.
        """
        row = self.store.connection().execute(f"SELECT {_COLUMNS}, camera FROM films WHERE id = ?", (id_,)).fetchone()
        if row is None:
            raise NoFilm(f"no film “{id_}” in this season")
        return row

    def standing(self, row: Any) -> str:
        """How a film's original stands.

        Parameters
        ----------
        row : sqlite3.Row
            The film's.

        Returns
        -------
        str
            "ready", "away", "changed" or "none".
        """
        if not row["path"]:
            return NONE
        path = self.folder / row["path"]
        try:
            found = path.stat()
        except (OSError, ValueError):  # ValueError: what stands there is no path any more
            return AWAY
        if not stat.S_ISREG(found.st_mode):
            return AWAY
        if found.st_size != row["size_bytes"]:
            return CHANGED
        if found.st_mtime_ns == row["mtime_ns"]:
            return READY
        key = (row["id"], row["path"], found.st_size, found.st_mtime_ns)
        if key not in self._verified:
            same = self.is_film(row["id"], path)
            self._verified[key] = same
            if same and not self.store.read_only:
                with self.store.writing() as db:
                    db.execute("UPDATE films SET mtime_ns = ? WHERE id = ?", (found.st_mtime_ns, row["id"]))
        return READY if self._verified[key] else CHANGED

    def is_film(self, id_: str, path: Path) -> bool:
        """Whether a file is the film that was brought in, whatever its name: by size and content.

        Parameters
        ----------
        id_ : str
            The film's id.
        path : Path
            The file.

        Returns
        -------
        bool
            False also when it can't be read.
        """
        sql = "SELECT size_bytes, fingerprint, frame_index FROM films WHERE id = ?"
        row = self.store.connection().execute(sql, (id_,)).fetchone()
        if row is None or size_of(path) != row["size_bytes"]:
            return False
        if not row["fingerprint"] or row["frame_index"] is None:
            return True
        from tagger.film.errors import FilmError
        from tagger.film.fingerprint import fingerprint

        try:
            return fingerprint(path, self.index(id_)) == row["fingerprint"]
        except FilmError:
            return False

    def gone(self, row: Any) -> NoFilm:
        """What to say of a film that can't be used.

        Parameters
        ----------
        row : sqlite3.Row
            The film's.

        Returns
        -------
        NoFilm
            To be raised.
        """
        if not row["path"]:
            return NoFilm(f"{row['name']}: marks without film; bring the film in to watch them")
        path = self.folder / row["path"]
        if self.standing(row) == CHANGED:
            return NoFilm(f"{row['name']}: another file lies at {path} now; put the tagged one back, or find it again")
        return NoFilm(f"{row['name']}: not at {path}; put the card or disk in, move it back, or find it again")

    def forget(self, ids: set[str]) -> None:
        """Read the frames of some films anew when they are asked for next.

        Parameters
        ----------
        ids : set of str
            Films.
        """
        with self._guard:
            for held in [key for key in self._indexes if key[0] in ids]:
                del self._indexes[held]


def _mtime_ns(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0
