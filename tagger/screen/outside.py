"""What a tagging page on another device is told: the same entries and problems, with numbers in place of names.

A tagger may watch the whole film, since without it nothing can be tagged; who plays in it he need not read.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from tagger.naming import Names, hidden_from, shown_roster
from tagger.screen.visitor import goes_to
from tagger.season import Season
from tagger.texts import Player


def players_told(season: Season) -> tuple[Player, ...]:
    """The roster as whoever asks may see it.

    Parameters
    ----------
    season : Season
        The open season.

    Returns
    -------
    tuple of Player
        Without names where they may not go.
    """
    return shown_roster(season.roster, season.settings.care, goes_to())


def names_kept(season: Season) -> Names:
    """The names that whoever asks may not be told.

    Parameters
    ----------
    season : Season
        The open season.

    Returns
    -------
    Names
        Of nobody, on the laptop.
    """
    return hidden_from(season.roster, season.settings.care, goes_to())


def bodies_told(bodies: Iterable[str], names: Names) -> list[str]:
    """Entries as they may be told.

    Parameters
    ----------
    bodies : iterable of str
        Each an object as JSON.
    names : Names
        What may not be said.

    Returns
    -------
    list of str
        JSON; an entry that names nobody is as it lies on the disk. Who made it stays, or he could not undo it.
    """
    return [_told(body, names) for body in bodies]


def _told(body: str, names: Names) -> str:
    if names.empty or '"text"' not in body:
        return body
    entry: dict[str, Any] = json.loads(body)
    told = names.out_of(entry.get("answers"))
    if told == entry.get("answers"):
        return body
    return json.dumps({**entry, "answers": told}, ensure_ascii=False, separators=(",", ":"))
