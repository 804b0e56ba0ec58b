"""A whole sample game on film: its truth put onto an hour of film that is made for it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.heavy import camera_like, looped

if TYPE_CHECKING:
    from tagger.season import Season


def filmed(season: Season, game: str, folder: Path) -> str:
    """The same game once more, its marks on the frames of a film that is as long as they need.

    Parameters
    ----------
    season : Season
        The sample season.
    game : str
        A game of it without film.
    folder : Path
        Where the film is made.

    Returns
    -------
    str
        The new game's id; its chosen book holds the truth.
    """
    from tagger.film.child import Limits, in_child
    from tagger.work.bring import bring_film

    drawn = {"seconds": 60, "size": (320, 180), "rate": 25, "bit_rate": 200_000, "gop": 25}
    minute = folder / "minute.mp4"
    in_child(camera_like, minute, film=minute, limits=Limits(silence_s=600), **drawn)
    length_ms = season.shelf.films(game)[0].duration_ms
    film = looped(minute, folder / "game.mp4", -(-length_ms // 60_000))
    name = f"{game}-filmed"
    season.games.add(name, "2026-05-01", "Quarry Hill", True)
    (own,) = bring_film(season, name, [film])
    index = season.shelf.indexes.of(own.id)
    entries, _ = season.journal.entries(game, season.tagged.chosen_book(game))
    there = []
    for one in entries:
        raw = json.loads(one.as_json())
        raw |= {name: f"{raw[name]}-filmed" for name in ("id", "of") if name in raw}
        if "at_ms" in raw:
            raw |= {"film": own.id, "at_ms": index.at_ms(index.nearest(raw["at_ms"]))}
        there.append(raw)
    added = season.journal.add(name, "truth", there)
    if refused := [one for one in added if one.state == "refused"]:
        raise AssertionError(f"{name}: {refused[:3]}")
    return name
