"""The sample season in a folder of the user's: made once, whole or not at all, and never made over."""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.bookfile import take_in
from dashboard.outputs import new_folder
from tagger.progress import Progress
from tagger.written import OWNERS_FOLDER, whole_folder

if TYPE_CHECKING:
    from tagger.season import Season


def make_demo(folder: Path, *, progress: Progress | None = None, source: Path | None = None) -> bool:
    """Make the sample season unless the folder holds a season already.

    It is put together in a folder beside and renamed when it is whole.

    Parameters
    ----------
    folder : Path
        Where to.
    progress : callable, optional
        Told how far it is.
    source : Path, optional
        Folder with the sample's texts (`season`), films (`film`) and marks (`journals`); the one that floorbook
        brings when left out.

    Returns
    -------
    bool
        Whether it was made; False: there was a season, and it was left alone.

    Raises
    ------
    WrongFolder
        The folder holds something that is no season.
    """
    from tagger.texts.settings import SETTINGS

    if (folder / SETTINGS).is_file():
        return False
    new_folder(folder)
    source = source if source is not None else _brought()
    with whole_folder(folder) as beside:
        _fill(beside, source, progress)
    return True


def _brought() -> Path:
    import sample_data

    return Path(str(sample_data.__file__)).parent


def _fill(folder: Path, source: Path, progress: Progress | None) -> None:
    from tagger.season import Season
    from tagger.texts.folder import TEXTS

    for name in TEXTS:
        if not (source / "season" / name).is_file():
            continue
        shutil.copyfile(source / "season" / name, folder / name)
    games = json.loads((source / "season" / "games.json").read_text(encoding="utf-8"))["games"]
    season = Season.open(folder, make=True)
    try:
        for place, game in enumerate(games):
            if progress is not None:
                progress(place / len(games), f"{game['opponent']}, {game['date']}")
            _add_game(season, source, game)
    finally:
        season.close()


def _add_game(season: Season, source: Path, game: dict[str, Any]) -> None:
    from tagger.marks.entries import read_lines
    from tagger.shelf.films import FILM_FOLDER, film_id
    from tagger.work.bring import bring_film

    about = f"On film: {game['excerpt']}" if game.get("excerpt") else ""
    season.games.add(game["id"], game["date"], game["opponent"], game["home"], about)
    books = sorted((source / "journals").glob(f"{game['id']}*.jsonl"))
    marked: dict[str, int] = {}
    known_by: dict[str, str] = {}
    for book in books:
        with book.open(encoding="utf-8") as text:
            header, entries = read_lines(text, book.name)
        known_by |= {film_id(mark): mark for mark in header.films}
        for entry in entries:
            if entry.film:
                marked[entry.film] = max(marked.get(entry.film, 0), entry.at_ms)
    film = source / "film" / game["film"] if game.get("film") else None
    there = film is not None and film.is_file()
    before = list(takewhile(lambda id_: not (there and id_ in known_by), marked))
    _enter_unfilmed(season, game, {id_: marked[id_] for id_ in before}, known_by)
    if film is not None and there:
        own = season.folder / FILM_FOLDER / film.name
        own.parent.mkdir(mode=OWNERS_FOLDER, exist_ok=True)
        shutil.copyfile(film, own)
        bring_film(season, game["id"], [own])
    _enter_unfilmed(season, game, marked, known_by)
    for book in books:
        take_in(season, game["id"], None, book)


def _enter_unfilmed(
    season: Season, game: dict[str, Any], marked: Mapping[str, int], known_by: Mapping[str, str]
) -> None:
    """Enter the films that marks name and that are not there, as films of which there are only marks.

    Of each is told when its last mark is, and what it is known by, in the order in which they are marked.
    """
    from tagger.shelf.films import NewFilm

    there = {film.id for film in season.shelf.films(game["id"])}
    for id_, last_ms in marked.items():
        if id_ not in there:
            name = f"{game['opponent']}, not filmed"
            new = NewFilm(id=id_, name=name, duration_ms=last_ms + 1000, fingerprint=known_by.get(id_, ""))
            season.shelf.enter(game["id"], [new])
