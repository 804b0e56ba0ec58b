"""What the erasure of a game comes to, or of its film alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.erasing.copies import reached_by
from dashboard.erasing.found import Found
from dashboard.erasing.player import outside_of
from dashboard.errors import NotErased
from tagger.shelf.films import FILM_FOLDER

if TYPE_CHECKING:
    from tagger.season import Season

_NO_FILM: Mapping[str, Any] = {
    "path": "",
    "size_bytes": 0,
    "mtime_ns": 0,
    "n_frames": 0,
    "plays": 1,
    "slow": "",
    "facts": "",
    "damage": "[]",
    "frame_index": None,
}
_LEAST_ID = 10


@dataclass(frozen=True)
class GamePlan:
    """Everything that goes with a game.

    Attributes
    ----------
    game : str
        Its id.
    film_only : bool
        Its film goes, its marks and their tables stay.
    films : tuple of str
        Ids of its films.
    called : str
        The game in words.
    n_entries, n_books : int
        What was entered, in how many books; 0 where that stays.
    files : tuple of Path
        Film in the folder: copies, originals, half copies.
    found : Found
        What else in the folder is reached.
    outside : tuple of str
        Where originals lie outside the folder; they stay.
    """

    game: str
    film_only: bool
    films: tuple[str, ...] = ()
    called: str = ""
    n_entries: int = 0
    n_books: int = 0
    files: tuple[Path, ...] = ()
    found: Found = field(default_factory=Found)
    outside: tuple[str, ...] = ()

    def change(self, table: str, row: Mapping[str, Any]) -> Mapping[str, Any] | None:
        """What becomes of a row of the database; see `dashboard.erasing.database`."""
        if row.get("film") in self.films and table in ("copies", "strips", "jobs"):
            return None
        if self.film_only:
            if table == "jobs" and row["game"] == self.game:
                return None
            return {**row, **_NO_FILM} if table == "films" and row["id"] in self.films else row
        gone = row["id"] == self.game if table == "games" else row.get("game") == self.game
        return None if gone else row

    @property
    def search_for(self) -> tuple[str, ...]:
        """Words that must be found nowhere afterwards: ids that can be nothing else."""
        return () if self.film_only else tuple(id_ for id_ in self.films if len(id_) >= _LEAST_ID)


def plan_game(season: Season, words: str, *, film_only: bool = False) -> GamePlan:
    """Work out what goes with a game.

    Parameters
    ----------
    season : Season
        Open; nothing is changed.
    words : str
        Its id.
    film_only : bool
        Its film alone.

    Returns
    -------
    GamePlan
        Everything.

    Raises
    ------
    NotErased
        It has no film to erase.
    tagger.errors.NoGame
        The season has no such game.
    """
    game = season.games.game(words)
    films = [film for film in season.shelf.all_films() if film.game == game.id]
    files = _files(season, [film.id for film in films], [film.path for film in films])
    if film_only and not files and not any(film.path for film in films):
        raise NotErased(f"game {game.id} has no film; nothing was erased")
    books = [] if film_only else season.journal.books(game.id)
    return GamePlan(
        game.id,
        film_only,
        tuple(film.id for film in films),
        called=f"{game.date}, {'home' if game.home else 'away'} against {game.opponent}",
        n_entries=sum(book.n_entries for book in books),
        n_books=len(books),
        files=files,
        found=reached_by(season),
        outside=outside_of(season, game.id),
    )


def _files(season: Season, ids: list[str], paths: list[str]) -> tuple[Path, ...]:
    """Film of these ids in the folder: what is named by them, and originals that were copied in."""
    folder = season.folder / FILM_FOLDER
    kept = {season.folder / path for path in paths if path and not Path(path).is_absolute()}
    other = {season.folder / film.path for film in season.shelf.all_films() if film.path and film.id not in ids}
    there = sorted(folder.iterdir()) if folder.is_dir() else []
    named = [path for path in there if any(path.name == id_ or path.name.startswith(f"{id_}-") for id_ in ids)]
    own = [path for path in kept - other if path.is_file() or path.is_symlink()]
    beside = [path for each in own for path in there if path.name.startswith(f"{each.name}.")]
    return tuple(sorted({*named, *own, *beside}))
