"""A season's database opened to look at although it is damaged: the rest is shown, and what is lost is named."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from tagger.game import faults_of as faults_of_game
from tagger.marks.journal import Journal
from tagger.shelf.film_row import faults_of as faults_of_film
from tagger.store.database import Store
from tagger.store.faults import NotADatabase, StoreError, ways_out
from tagger.store.rescued import put_into
from tagger.store.salvage import Salvaged, salvage
from tagger.store.snapshot import Snapshot, raw

_TABLES = ("journal", "games", "films", "ties")
_MOST = 3


def faults_of_pages(store: Store) -> list[str]:
    """What is damaged in the pages that hold games, films and marks.

    Parameters
    ----------
    store : Store
        Open.

    Returns
    -------
    list of str
        Some lines; empty when their pages are sound. Whether each entry can be read is another question.
    """
    found: list[str] = []
    try:
        for table in _TABLES:
            rows = store.connection().execute(f"PRAGMA integrity_check('{table}')").fetchall()
            found += [" ".join(str(row[0]).split()) for row in rows if row[0] != "ok"]
    except StoreError as fault:
        found.append(str(fault))
    return found[:_MOST]


def open_past_damage(path: Path) -> tuple[Store, tuple[str, ...]]:
    """Open a database to look at; where its pages are damaged, one made of all that could be read.

    Parameters
    ----------
    path : Path
        The database.

    Returns
    -------
    tuple of Store and tuple of str
        To look at only; and what is damaged, a line each, empty when nothing is.

    Raises
    ------
    tagger.store.faults.StoreError
        Nothing can be read of it.
    """
    first: StoreError | None = None
    try:
        store = Store(path, read_only=True)
        faults = faults_of_pages(store)
        if not faults:
            return store, ()
        store.close()
    except NotADatabase as fault:
        first, faults = fault, [str(fault)]
        if not path.is_file() or path.stat().st_size == 0:
            raise
    aside = Snapshot(path)
    try:
        salvaged = salvage(*raw(aside.path))
        if salvaged.is_empty:
            raise first or NotADatabase(f"{path.name}: damaged ({faults[0]}); {ways_out(path.parent)}")
        fresh = aside.folder / "readable.db"
        made = Store(fresh, make=True)
        put_into(made, salvaged)
        made.close()
        aside.path = fresh
        return Store(path, read_only=True, seen=aside), tuple(_told(path, faults, salvaged))
    except BaseException:
        aside.close()
        raise


def damage_of_rows(store: Store, journal: Journal) -> list[str]:
    """What can't be read though its page is sound: entries, and rows of games and films.

    Parameters
    ----------
    store : Store
        Open.
    journal : Journal
        Its journal.

    Returns
    -------
    list of str
        A line each.
    """
    games = store.connection().execute("SELECT * FROM games ORDER BY date, id").fetchall()
    films = (
        store.connection()
        .execute("SELECT id, name, path, place, size_bytes, gap_ms, duration_ms, n_frames, damage FROM films")
        .fetchall()
    )
    lines = [line for row in games for line in (*faults_of_game(row), *journal.damage(str(row["id"])))]
    return [*lines, *(line for row in films for line in faults_of_film(row))]


def _told(path: Path, faults: list[str], salvaged: Salvaged) -> Iterator[str]:
    n_lost = len(salvaged.lost)
    lost = "nothing of it is lost" if not n_lost else f"{n_lost} {'thing' if n_lost == 1 else 'things'} can't be read"
    why = faults[0].removeprefix(f"{path.name}: ").split("; `floorbook")[0]
    why = why.removeprefix("damaged ").removeprefix("(").removesuffix(")") if why.startswith("damaged (") else why
    yield f"{path.name} is damaged: {why}. What can be read is shown, {lost}; {ways_out(path.parent)}"
    yield from salvaged.lost
