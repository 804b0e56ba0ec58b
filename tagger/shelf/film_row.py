"""A film's row in the database: what is kept of it beside its frames, and what of that can't be read any more."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

OF_FILE = "path, size_bytes, mtime_ns, fingerprint, gap_ms, gap_from, duration_ms, n_frames, plays, slow, facts, damage"
COLUMNS = f"id, game, place, name, {OF_FILE}, camera"
_NUMBERS = ("place", "size_bytes", "gap_ms", "duration_ms", "n_frames")


@dataclass(frozen=True)
class FilmRow:
    """A row of the table `films`, in the order of `COLUMNS`; as in `tagger.shelf.films.Film` and `NewFilm`.

    A number that is none any more is 0, a text that is none is empty; `faults_of` names them.
    """

    id: str
    game: str
    place: int
    name: str
    path: str
    size_bytes: int
    mtime_ns: int
    fingerprint: str
    gap_ms: int
    gap_from: str
    duration_ms: int
    n_frames: int
    plays: bool
    slow: str
    facts: str
    damage: tuple[dict[str, Any], ...]
    camera: str


def film_row(row: sqlite3.Row) -> FilmRow:
    """A film's row as it stands in the database."""
    return FilmRow(
        id=str(row["id"]),
        game=str(row["game"]),
        place=whole(row["place"]),
        name=str(row["name"]),
        path=_text(row["path"]),
        size_bytes=whole(row["size_bytes"]),
        mtime_ns=whole(row["mtime_ns"]),
        fingerprint=_text(row["fingerprint"]),
        gap_ms=whole(row["gap_ms"]),
        gap_from=_text(row["gap_from"]),
        duration_ms=whole(row["duration_ms"]),
        n_frames=whole(row["n_frames"]),
        plays=bool(row["plays"]),
        slow=_text(row["slow"]),
        facts=_text(row["facts"]),
        damage=damage_in(row["damage"]) or (),
        camera=_text(row["camera"]),
    )


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def whole(value: object) -> int:
    """A whole number of a film's row.

    Parameters
    ----------
    value : object
        As stored.

    Returns
    -------
    int
        0 for what is none any more; `faults_of` names it.
    """
    return value if isinstance(value, int) else 0


def damage_in(text: object) -> tuple[dict[str, Any], ...] | None:
    """The damaged stretches that a film's row tells of.

    Parameters
    ----------
    text : object
        As stored: JSON.

    Returns
    -------
    tuple of dict, or None
        None when it can't be read.
    """
    try:
        told = json.loads(text) if isinstance(text, str) else None
    except (ValueError, TypeError, RecursionError):
        return None
    return tuple(told) if isinstance(told, list) and all(isinstance(one, dict) for one in told) else None


def faults_of(row: sqlite3.Row) -> Iterator[str]:
    """What of a film's row can't be read.

    Parameters
    ----------
    row : sqlite3.Row
        Of the table `films`.

    Yields
    ------
    str
        A line each.
    """
    for name in _NUMBERS:
        if not isinstance(row[name], int):
            yield f"film {row['id']} ({row['name']}): {name} is damaged (“{row[name]}”)"
    if damage_in(row["damage"]) is None:
        yield f"film {row['id']} ({row['name']}): the list of its damaged stretches can't be read; it is left out"
    if "\ufffd" in f"{row['id']}{row['name']}{row['path']}":
        yield f"film {row['id']} ({row['name']}): its name or path is damaged (“{row['path']}”)"
