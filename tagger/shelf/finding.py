"""Film that is away, found again: a whole folder is searched for the files, whatever they are called now.

A file's size says whether it can be a film; what is in it, whether it is. So a large disk is searched in the time that
it takes to list it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tagger.errors import NoFilm
from tagger.film.errors import BadName
from tagger.film.file_names import is_text
from tagger.film.plain_file import check_path
from tagger.progress import Progress, Stop
from tagger.season import Season
from tagger.shelf.films import AWAY, CHANGED, Film, size_of
from tagger.work.jobs import JobList

MOST_FILES = 2_000_000
_REPORT_EVERY = 500


@dataclass(frozen=True)
class Found:
    """A film, and where its file lies."""

    film: Film
    path: Path


@dataclass(frozen=True)
class Search:
    """What a search gave: films found, films still away, how many files were looked at, and what is in the way.

    `refused` has a line for each file that is a film of the season's and can't be used for its name.
    """

    found: tuple[Found, ...]
    away: tuple[Film, ...]
    n_files: int
    refused: tuple[str, ...] = ()


def missing(season: Season) -> list[Film]:
    """Films whose original is not where it was, or is another file now.

    Parameters
    ----------
    season : Season
        The open season.

    Returns
    -------
    list of Film
        Game by game.
    """
    return [film for film in season.shelf.all_films() if film.original in (AWAY, CHANGED)]


def find_again(season: Season, folder: Path, *, progress: Progress | None = None, stop: Stop | None = None) -> Search:
    """Search a folder, and all in it, for the films that are away.

    Parameters
    ----------
    season : Season
        The open season.
    folder : Path
        Where to look.
    progress, stop : callable, optional
        Told how many files were looked at (the share done can't be known: it stays 0); asked whether to stop.

    Returns
    -------
    Search
        What was found is entered.

    Raises
    ------
    NoFilm
        There is no such folder.
    """
    if not folder.is_dir():
        raise NoFilm(f"{folder}: no such folder; name the folder, card or disk to look in")
    wanted = {film.id: film for film in missing(season)}
    sizes: dict[int, list[str]] = {}
    for id_ in wanted:
        sizes.setdefault(season.shelf.whereabouts.row(id_).size_bytes, []).append(id_)
    found: list[Found] = []
    refused: list[str] = []
    n_files = 0
    for path in _files(folder):
        if not wanted or n_files >= MOST_FILES or (stop is not None and stop()):
            break
        n_files += 1
        if progress is not None and n_files % _REPORT_EVERY == 0:
            progress(0.0, f"{n_files} files looked at, {len(found)} found")
        for id_ in sizes.get(size_of(path), ()):
            if id_ in wanted and season.shelf.whereabouts.is_film(id_, path):
                if not is_text(path):
                    refused.append(_why_not(path))
                    continue
                season.shelf.relink(id_, path)
                JobList(season.store).try_again(id_)
                wanted.pop(id_)
                found.append(Found(season.shelf.film(id_), path))
    return Search(tuple(found), tuple(wanted.values()), n_files, tuple(refused))


def _why_not(path: Path) -> str:
    try:
        check_path(path)
    except BadName as fault:
        return str(fault)
    return ""


def _files(folder: Path) -> Iterator[Path]:
    """Every file under a folder; what can't be read, and links, are passed over."""
    for where, folders, names in os.walk(folder, onerror=None, followlinks=False):
        folders.sort()
        for name in sorted(names):
            yield Path(where) / name
