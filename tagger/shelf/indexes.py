"""The frames of the season's films and of their copies, the last few of them kept."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from tagger.errors import NoFilm
from tagger.shelf.films import ORIGINAL
from tagger.store.database import Store

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex

_MOST_KEPT = 8


class Indexes:
    """The frame indexes of one season's films.

    Parameters
    ----------
    store : Store
        The season's database.
    """

    def __init__(self, store: Store) -> None:
        self.store = store
        self._guard = threading.Lock()
        self._indexes: dict[tuple[str, str], FrameIndex] = {}

    def of(self, id_: str, kind: str = ORIGINAL) -> FrameIndex:
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
            frames: bytes | None = row["frame_index"]
            if frames is None:
                raise NoFilm(f"{row['name']}: marks without film; there are no frames")
            from tagger.film.index import FrameIndex

            held = FrameIndex.from_bytes(frames)
            with self._guard:
                while len(self._indexes) >= _MOST_KEPT:
                    del self._indexes[next(iter(self._indexes))]
                self._indexes[(id_, kind)] = held
        return held

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
