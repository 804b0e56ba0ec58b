"""A fresh database from what was read of a damaged one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from tagger.game import NO_DATE, is_date
from tagger.store.database import Store
from tagger.store.salvage import Salvaged

_DEFAULTS = {"opponent": "not readable", "home": 1, "name": "not readable"}


def put_into(store: Store, salvaged: Salvaged) -> None:
    """Write what was read into a database that has only its tables, in one transaction.

    Games and films that are named by what was read, and can't be read themselves, are made, with what the entries
    tell of them.

    Parameters
    ----------
    store : Store
        A new one.
    salvaged : Salvaged
        What was read.

    Raises
    ------
    tagger.store.faults.StoreError
        It can't be written.
    """
    games = {row["id"]: _game(row, salvaged) for row in salvaged.rows["games"]}
    for game in [one.game for one in salvaged.entries] + [row["game"] for row in salvaged.rows["films"]]:
        games.setdefault(game, _game({"id": game}, salvaged))
    films = _films(salvaged)
    with store.writing() as db:
        for made in games.values():
            _insert(db, "games", made)
        for made in films.values():
            _insert(db, "films", made)
        for row in salvaged.rows["ties"]:
            if row["game"] in games and row.get("film") in films and row.get("of_film") in films:
                _insert(db, "ties", row)
        for row in salvaged.rows["about"]:
            _insert(db, "about", row)
        db.executemany(
            "INSERT INTO journal (seq, game, book, id, n, body) VALUES (?, ?, ?, ?, ?, ?)",
            [(one.seq, one.game, one.book, one.id, one.n, one.body) for one in salvaged.entries],
        )


def _insert(db: Any, table: str, row: Mapping[str, Any]) -> None:
    names = ", ".join(row)
    db.execute(f"INSERT OR IGNORE INTO {table} ({names}) VALUES ({', '.join('?' * len(row))})", tuple(row.values()))


def _game(row: Mapping[str, Any], salvaged: Salvaged) -> dict[str, Any]:
    date = row.get("date", "")
    if not is_date(date):
        walls = [json.loads(one.body).get("wall", "")[:10] for one in salvaged.entries if one.game == row["id"]]
        date = next((wall for wall in sorted(walls) if is_date(wall)), NO_DATE)
    return {**{name: _DEFAULTS[name] for name in ("opponent", "home")}, **row, "date": date}


def _films(salvaged: Salvaged) -> dict[str, dict[str, Any]]:
    made: dict[str, dict[str, Any]] = {}
    places: set[tuple[str, int]] = set()
    for row in salvaged.rows["films"]:
        film = {"name": _DEFAULTS["name"], **row}
        if not isinstance(film.get("frame_index"), bytes):  # known by its print when it is brought in again
            film |= {"path": "", "n_frames": 0, "facts": "", "frame_index": None}
        made[film["id"]] = film
    lengths: dict[tuple[str, str], int] = {}
    for one in salvaged.entries:
        entry = json.loads(one.body)
        if entry.get("film"):
            key = one.game, entry["film"]
            lengths[key] = max(lengths.get(key, 0), entry["at_ms"])
    for (game, id_), last_ms in lengths.items():
        made.setdefault(id_, {"id": id_, "game": game, "name": id_, "duration_ms": last_ms + 1000})
    for film in made.values():
        place = film.get("place", 0)
        while place < 1 or (film["game"], place) in places:
            place += 1
        film["place"] = place
        places.add((film["game"], place))
    return made
