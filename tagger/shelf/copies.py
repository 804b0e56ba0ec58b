"""Copies of films in the season's film folder, what is played for a film, and what its clips are cut from.

A copy has the same frames at the same times as its original: one made playable, or a light one for viewing.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.errors import NoFilm
from tagger.shelf.film_row import FilmRow
from tagger.shelf.films import CHANGED, FILM_FOLDER, NONE, ORIGINAL, PLAYABLE, READY, VIEWING, WAITING, size_of
from tagger.shelf.whereabouts import Whereabouts

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.store.database import Store

PARTLY = "part"


@dataclass(frozen=True)
class Showing:
    """What is played for a film.

    Attributes
    ----------
    path : Path
        The file; it exists.
    index : FrameIndex
        That file's frames. Interlaced film made playable has two pictures a frame.
    version : str
        A word for this file among those that can be played for the film.
    whole : bool
        Whether all of the film is in it; else its beginning.
    """

    path: Path
    index: FrameIndex
    version: str
    whole: bool = True


@dataclass(frozen=True)
class ClipSource:
    """What clips of a film are cut from: file, its frames, and a line when it is not the original (else empty)."""

    path: Path
    index: FrameIndex
    said: str = ""


class Copies:
    """The copies of one season's films.

    Parameters
    ----------
    store : Store
        The season's database.
    folder : Path
        The season's folder.
    originals : Whereabouts
        What the copies are of.
    """

    def __init__(self, store: Store, folder: Path, originals: Whereabouts) -> None:
        self.store = store
        self.folder = folder
        self.originals = originals
        self.indexes = originals.indexes

    def copy_target(self, id_: str, kind: str) -> Path:
        """Where a copy of a film stands, or is to be made.

        Parameters
        ----------
        id_ : str
            The film's id.
        kind : str
            "playable" or "viewing".

        Returns
        -------
        Path
            In the season's film folder.
        """
        return self.folder / FILM_FOLDER / f"{id_}-{kind}.mp4"

    def add_copy(self, id_: str, kind: str, index: FrameIndex, per_frame: int) -> None:
        """Enter a copy that stands whole at its place.

        Parameters
        ----------
        id_, kind : str
            As in `copy_target`.
        index : FrameIndex
            The copy's own frames.
        per_frame : int
            Pictures for each frame of the original.
        """
        size = self.copy_target(id_, kind).stat().st_size
        with self.store.writing() as db:
            db.execute(
                "INSERT OR REPLACE INTO copies (film, kind, size_bytes, per_frame, frame_index) VALUES (?, ?, ?, ?, ?)",
                (id_, kind, size, per_frame, index.to_bytes()),
            )
        self.indexes.forget({id_})

    def has_copy(self, id_: str, kind: str) -> bool:
        """Whether a whole copy is there.

        Parameters
        ----------
        id_, kind : str
            As in `copy_target`.

        Returns
        -------
        bool
            Entered, and its file as large as it was.
        """
        sql = "SELECT size_bytes FROM copies WHERE film = ? AND kind = ?"
        row = self.store.connection().execute(sql, (id_, kind)).fetchone()
        entered_bytes: int | None = row["size_bytes"] if row is not None else None
        return entered_bytes is not None and size_of(self.copy_target(id_, kind)) == entered_bytes

    # What is played, what is cut ----------------------------------------------------------------------------------

    def showing(self, id_: str, version: str = "") -> Showing:
        """What is played for a film: the viewing copy, else the one made playable, else the original, else the part
        of a copy that is done.

        Parameters
        ----------
        id_ : str
            The film's id.
        version : str
            This one, as long as it is there.

        Returns
        -------
        Showing
            Its file exists.

        Raises
        ------
        NoFilm
            Nothing can be played, with the reason.
        """
        path, played = self.played(id_, version)
        if played == ORIGINAL or self.has_copy(id_, played):
            return Showing(path, self.indexes.of(id_, played), played)
        facts = self.originals.facts(id_)
        per_frame = 2 if facts is not None and facts.interlaced else 1
        index = self.indexes.of(id_)
        end_frame = int(played.rpartition("-")[2]) if played.startswith(PARTLY) else index.n_frames
        return Showing(path, beginning_of(index, end_frame, per_frame), played, whole=not played.startswith(PARTLY))

    def played(self, id_: str, version: str = "") -> tuple[Path, str]:
        """The file that is played for a film, and its version; otherwise as `showing`."""
        row = self.originals.row(id_)
        for kind in _asked_first(version, (VIEWING, PLAYABLE)):
            if self.has_copy(id_, kind):
                return self.copy_target(id_, kind), kind
        if row.plays and self.originals.standing(row) == READY:
            return self.folder / row.path, ORIGINAL
        part = self.part(id_)
        if part is not None:
            return part, f"{PARTLY}-{part.stem.rpartition('-')[2]}"
        if self.copy_target(id_, VIEWING).is_file():  # whole this very moment, and not entered yet
            return self.copy_target(id_, VIEWING), VIEWING
        if self.originals.standing(row) == READY:
            raise NoFilm(f"{row.name}: being made playable; the page of film says how far it is")
        raise self.originals.gone(row)

    def clip_source(self, id_: str) -> ClipSource:
        """What clips and stills of a film are taken from: the original; a whole copy when that is away.

        Parameters
        ----------
        id_ : str
            The film's id.

        Returns
        -------
        ClipSource
            `said` is empty for the original.

        Raises
        ------
        NoFilm
            Neither is there.
        """
        row = self.originals.row(id_)
        if self.originals.standing(row) == READY:
            return ClipSource(self.folder / row.path, self.indexes.of(id_))
        for kind in (PLAYABLE, VIEWING):
            if self.has_copy(id_, kind):
                why = "is another file now" if self.originals.standing(row) == CHANGED else "is away"
                copy = "the viewing copy, a smaller picture" if kind == VIEWING else "its playable copy"
                return ClipSource(
                    self.copy_target(id_, kind),
                    self.indexes.of(id_, kind),
                    f"{row.name}: the original {why}; cut from {copy}",
                )
        raise self.originals.gone(row)

    def state(self, row: FilmRow, original: str) -> str:
        """Whether a film can be played.

        Parameters
        ----------
        row : FilmRow
            The film's.
        original : str
            How the original stands.

        Returns
        -------
        str
            As `Film.state`.
        """
        if self.has_copy(row.id, VIEWING) or self.has_copy(row.id, PLAYABLE):
            return READY
        if row.plays or original == NONE:
            return original
        if self.part(row.id) is not None or self.copy_target(row.id, VIEWING).is_file():
            return READY
        return WAITING if original == READY else original

    def part(self, id_: str) -> Path | None:
        """The part of a viewing copy that is done.

        Parameters
        ----------
        id_ : str
            The film's id.

        Returns
        -------
        Path or None
            From the film's beginning; none when nothing is done, or all.
        """
        if not (self.folder / FILM_FOLDER).is_dir():
            return None
        from tagger.film.viewing import playable_so_far

        return playable_so_far(self.copy_target(id_, VIEWING))


def beginning_of(index: FrameIndex, end_frame: int, per_frame: int) -> FrameIndex:
    """The frame index of a copy's beginning, worked out from the original's.

    Parameters
    ----------
    index : FrameIndex
        The original's.
    end_frame : int
        The first frame that is not in it.
    per_frame : int
        1, or 2 where every frame became two pictures, the second half-way to the next.

    Returns
    -------
    FrameIndex
        Its times are the original's.
    """
    import numpy as np

    from tagger.film.index import FrameIndex

    end_pts = int(index.pts[end_frame]) if end_frame < index.n_frames else index.end_pts
    pts, key = index.pts[:end_frame], index.key[:end_frame]
    if per_frame == 1:
        return FrameIndex(pts, key, index.time_base, end_pts)
    halves = np.empty(2 * len(pts), dtype=np.int64)
    halves[0::2] = 2 * pts
    halves[1::2] = pts + np.append(pts[1:], end_pts)
    keys = np.zeros(2 * len(pts), dtype=bool)
    keys[0::2] = key
    return FrameIndex(halves, keys, index.time_base / 2, 2 * end_pts)


def _asked_first(version: str, kinds: tuple[str, ...]) -> tuple[str, ...]:
    if version == ORIGINAL:
        return ()
    return (version,) if version in kinds else kinds
