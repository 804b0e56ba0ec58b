"""What a tagging page on another device is told: the same entries and problems, with numbers in place of names.

A tagger may watch the whole film, since without it nothing can be tagged; who plays in it he need not read.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from tagger.care import DEVICE, LEAVE_OUT_CLIP, going_out
from tagger.marked_players import MarkedPlayers
from tagger.naming import Names, hidden_from, shown_roster
from tagger.screen.answers import Refused
from tagger.screen.visitor import ALL, TAG, goes_to, visitor
from tagger.season import Season
from tagger.texts.roster import Player

BEFORE_MS, AFTER_MS = 6000, 2500
"""How much before and after a marked moment he is taken to be seen; as long as a clip shows of it."""


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
    return shown_roster(season.texts.roster, season.texts.settings.care, goes_to())


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
    return hidden_from(season.texts.roster, season.texts.settings.care, goes_to())


def has_film(season: Season) -> bool:
    """Whether whoever asks may be given film.

    Parameters
    ----------
    season : Season
        The open season.

    Returns
    -------
    bool
        False for somebody who came in to look, where the season keeps film from him. Who tags needs it all.
    """
    return _watches_all() or season.texts.settings.care.film_for_lookers


def watched(season: Season, film: str, at_ms: int | None = None) -> None:
    """Refuse film to who may not have it, and a still in which somebody without consent may be seen to who only looks.

    Parameters
    ----------
    season : Season
        The open season.
    film : str
        Its id.
    at_ms : int, optional
        Of which moment of the film a still is asked for; left out: the film itself.

    Raises
    ------
    Refused
        403, with no word of who is in it.
    """
    if not has_film(season):
        raise Refused(403, "no_film_here", "film stays with those who tag; the coach can change that in season.toml")
    care = season.texts.settings.care
    if at_ms is None or _watches_all() or care.without_consent != LEAVE_OUT_CLIP:
        return
    one = season.shelf.film(film)
    shown = _Still(one.game, one.offset_ms + at_ms - AFTER_MS, one.offset_ms + at_ms + BEFORE_MS)
    marked = {one.game: MarkedPlayers(season.tagged.folded(one.game).rows, season.texts.language().tables)}
    days = {one.game: season.games.game(one.game).date}
    if going_out([shown], marked, days, season.texts.roster, care, DEVICE).left_out:
        raise Refused(403, "no_still_here", "this picture stays on the laptop")


def _watches_all() -> bool:
    return visitor().may in (ALL, TAG)


@dataclass(frozen=True)
class _Still:
    """What stands around a picture: whoever is marked there may be seen in it."""

    game: str
    start_ms: int
    end_ms: int


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
