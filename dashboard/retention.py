"""How long a season keeps film and names: it asks when the time is over, and never erases by itself."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dashboard.erasing.found import NOTE

if TYPE_CHECKING:
    from pathlib import Path

    from tagger.season import Season


@dataclass(frozen=True)
class Due:
    """Something that a season has kept for as long as it said, and the command that takes it."""

    what: str
    command: str

    def __str__(self) -> str:
        return f"{self.what}; shall it go? {self.command}"


def due(season: Season, today: datetime.date | None = None) -> list[Due]:
    """What a season has kept longer than its `keep_days`.

    Parameters
    ----------
    season : Season
        Open.
    today : date, optional
        The day it is.

    Returns
    -------
    list of Due
        Film of games, by date, then players who left the roster; nothing where the season says no days.
    """
    days = season.texts.settings.care.keep_days
    if not days:
        return []
    first = ((today or datetime.date.today()) - datetime.timedelta(days=days)).isoformat()
    rows = season.store.connection().execute("SELECT DISTINCT game FROM films WHERE path != ''")
    filmed = {row[0] for row in rows}
    erase = f'floorbook erase "{season.folder}"'
    made = [
        Due(
            f"film of game {game.id} ({game.date}) is older than the {days} days that the season keeps it",
            f"{erase} --game {game.id} --film-only",
        )
        for game in season.games.all()
        if game.date < first and game.id in filmed
    ]
    made += [
        Due(f"{player.number} {player.name} left more than {days} days ago", f"{erase} --player {player.number}")
        for player in season.texts.roster
        if player.until and player.until < first
    ]
    return made


def unfinished(folder: Path) -> str:
    """What to say of an erasure that was begun and not finished.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Returns
    -------
    str
        Empty when there is none.
    """
    if not (folder / NOTE).exists():
        return ""
    return f'an erasure was cut short; floorbook erase "{folder}" finishes it'
