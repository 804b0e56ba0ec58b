"""Everything a season holds, verified: text files, database, entries, films."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.erasing.found import NOTE
from dashboard.retention import due, unfinished
from tagger.progress import Progress
from tagger.store.faults import StoreError, ways_out
from tagger.work.jobs import JobList

if TYPE_CHECKING:
    from tagger.game import Game
    from tagger.season import Season
    from tagger.shelf.films import Film


@dataclass(frozen=True)
class Health:
    """What was found: lines on what the season holds, and a line for each thing that is wrong."""

    held: tuple[str, ...]
    wrong: tuple[str, ...]


def examine(season: Season, *, read_films: bool = True, progress: Progress | None = None) -> Health:
    """Verify a season.

    Parameters
    ----------
    season : Season
        The open season.
    read_films : bool
        Know films by what is in them; else by their size only.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Health
        Never raises for what is wrong in the season.
    """
    held, wrong = [], [str(problem) for problem in season.texts.problems]
    wrong += [*([season.store.mended] if season.store.mended else []), *season.damage, *_database(season)]
    games = season.games.all()
    held.append(
        f"{season.texts.settings.team}: {_number(len(games), 'game')}, {_number(len(season.texts.roster), 'player')}"
    )
    for place, game in enumerate(games):
        if progress is not None:
            progress(place / len(games), game.id)
        for film in season.shelf.films(game.id):
            wrong += _film(season, film, read_films)
        held.append(_line(season, game))
    busy = _at_work(season)
    parts = sorted(path.name for path in season.folder.rglob("*.part") if not _is_of(path, busy) and path.name != NOTE)
    held += [f"{name}: left over from work that was cut short; it can be deleted" for name in parts]
    held += [str(one) for one in due(season)]
    wrong += [told for told in [unfinished(season.folder)] if told]
    return Health(tuple(held), tuple(wrong))


def told_damage(damage: Iterable[str]) -> bool:
    """Say on the command line what of a season can't be read.

    Parameters
    ----------
    damage : iterable of str
        A line each.

    Returns
    -------
    bool
        Whether there is any.
    """
    lines = list(damage)
    for line in lines:
        print(f"floorbook: {line}", file=sys.stderr)
    return bool(lines)


def _at_work(season: Season) -> set[str]:
    """Films that there is work on."""
    try:
        return {job.film for job in JobList(season.store).all() if job.film}
    except (StoreError, ValueError):  # damaged, and told already; work on film can be asked for anew
        return set()


def _is_of(path: Path, films: set[str]) -> bool:
    """Whether a half file belongs to work on one of these films that is still to be gone on with."""
    return any(part.startswith(film) for film in films for part in path.parts[-2:])


def _database(season: Season) -> Iterator[str]:
    db = season.store.connection()
    name, out = season.store.path.name, ways_out(season.folder)
    try:
        for row in db.execute("PRAGMA integrity_check"):
            if row[0] != "ok":
                yield f"{name}: {' '.join(str(row[0]).split())}; {out}"
        for row in db.execute("PRAGMA foreign_key_check"):
            yield f"{name}: a row of {row[0]} belongs to a game that is not there; {out}"
        if season.store.newer:
            yield season.store.read_only_because
    except StoreError as fault:
        yield str(fault)


def _film(season: Season, film: Film, read: bool) -> Iterator[str]:
    from tagger.errors import SeasonError
    from tagger.film.errors import FilmError
    from tagger.film.fingerprint import fingerprint

    if film.state == "none":
        return
    try:
        season.shelf.copies.played(film.id)[0]
        path, index = season.shelf.whereabouts.original(film.id), season.shelf.indexes.of(film.id)
        if read and fingerprint(path, index) != film.fingerprint:
            yield f"game {film.game}, {film.name}: not the film that was tagged, though of its size; put that one back"
    except (SeasonError, FilmError) as fault:
        yield f"game {film.game}, {fault}"


def _line(season: Season, game: Game) -> str:
    books = season.journal.books(game.id)
    told = [f"game {game.id}, {game.opponent}"]
    films = [film for film in season.shelf.films(game.id) if film.state != "none"]
    told.append(_number(len(films), "film") if films else "no film")
    for book in books:
        n_marks = sum(not logged.mark.removed for logged in season.tagged.folded(game.id, book.name).log)
        n_problems = len({one.of for one in season.tagged.folded(game.id, book.name).problems})  # as the page's lines
        problems = f", {n_problems} to look at" if n_problems else ""
        told.append(f"{book.name}’s book: {_number(n_marks, 'mark')}{problems}")
    return "; ".join(told if books else [*told, "nothing tagged"])


def _number(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"
