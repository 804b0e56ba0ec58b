"""Where the season's originals lie, and whether what lies there is still the film that was brought in.

An original is played and cut where it lies. It is known by what is in it: a file that is not where it was, or is
another one now, is never used. Asking never writes; what was found out and is worth keeping is kept by `keep_dates`.
"""

from __future__ import annotations

import json
import stat
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.errors import NoFilm
from tagger.shelf.film_row import COLUMNS, FilmRow, film_row
from tagger.shelf.films import AWAY, CHANGED, NONE, READY, size_of
from tagger.shelf.indexes import Indexes
from tagger.store.database import Store

if TYPE_CHECKING:
    from tagger.film.probe import FilmFacts


class Whereabouts:
    """The originals of one season's films.

    Parameters
    ----------
    store : Store
        The season's database.
    folder : Path
        The season's folder.
    indexes : Indexes
        The films' frames.
    """

    def __init__(self, store: Store, folder: Path, indexes: Indexes) -> None:
        self.store = store
        self.folder = folder
        self.indexes = indexes
        self._verified: dict[tuple[str, str, int, int], bool] = {}
        self._redated: set[tuple[str, str, int, int]] = set()

    def row(self, id_: str) -> FilmRow:
        """A film's row in the database, without its frames.

        Parameters
        ----------
        id_ : str
            Its id.

        Returns
        -------
        FilmRow
            As stored.

        Raises
        ------
        NoFilm
            The season has none such.
        """
        row = self.store.connection().execute(f"SELECT {COLUMNS} FROM films WHERE id = ?", (id_,)).fetchone()
        if row is None:
            raise NoFilm(f"no film “{id_}” in this season")
        return film_row(row)

    def standing(self, row: FilmRow) -> str:
        """How a film's original stands.

        Parameters
        ----------
        row : FilmRow
            The film's.

        Returns
        -------
        str
            "ready", "away", "changed" or "none".
        """
        if not row.path:
            return NONE
        path = self.folder / row.path
        try:
            found = path.stat()
        except (OSError, ValueError):  # ValueError: what stands there is no path any more
            return AWAY
        if not stat.S_ISREG(found.st_mode):
            return AWAY
        if found.st_size != row.size_bytes:
            return CHANGED
        if found.st_mtime_ns == row.mtime_ns:
            return READY
        key = (row.id, row.path, found.st_size, found.st_mtime_ns)
        if key not in self._verified:
            same = self.is_film(row.id, path)
            self._verified[key] = same
            if same:
                self._redated.add(key)
        return READY if self._verified[key] else CHANGED

    def keep_dates(self) -> None:
        """Write down the dates of files that were found to be the same film under another date.

        So they are not read through again by who opens the season next.
        """
        while self._redated and not self.store.read_only:
            id_, path, size_bytes, mtime_ns = self._redated.pop()
            with self.store.writing() as db:
                db.execute(
                    "UPDATE films SET mtime_ns = ? WHERE id = ? AND path = ? AND size_bytes = ?",
                    (mtime_ns, id_, path, size_bytes),
                )

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
        sql = "SELECT size_bytes, fingerprint, frame_index IS NOT NULL AS has_frames FROM films WHERE id = ?"
        row = self.store.connection().execute(sql, (id_,)).fetchone()
        if row is None:
            return False
        size_bytes: int = row["size_bytes"]
        known_by: str = row["fingerprint"]
        has_frames = bool(row["has_frames"])
        if size_of(path) != size_bytes:
            return False
        if not known_by or not has_frames:
            return True
        from tagger.film.errors import FilmError
        from tagger.film.fingerprint import fingerprint

        try:
            return fingerprint(path, self.indexes.of(id_)) == known_by
        except FilmError:
            return False

    def gone(self, row: FilmRow) -> NoFilm:
        """What to say of a film that can't be used.

        Parameters
        ----------
        row : FilmRow
            The film's.

        Returns
        -------
        NoFilm
            To be raised.
        """
        if not row.path:
            return NoFilm(f"{row.name}: marks without film; bring the film in to watch them")
        path = self.folder / row.path
        if self.standing(row) == CHANGED:
            return NoFilm(f"{row.name}: another file lies at {path} now; put the tagged one back, or find it again")
        return NoFilm(f"{row.name}: not at {path}; put the card or disk in, move it back, or find it again")

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
        text = self.row(id_).facts
        if not text:
            return None
        from tagger.film.probe import FilmFacts

        try:
            return FilmFacts(**json.loads(text))
        except (ValueError, TypeError):  # damaged: as of a film of which nothing is known
            return None

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
        return self.folder / row.path
