"""Which game a sent film is put to, by what its sender says: a day, an opponent, perhaps another camera."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboard.film_page.request import game_for
from tagger.shelf.cameras import camera_names

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboard.doors.guests import Guest
    from tagger.season import Season

SENT_CAMERA = "sent film"


def game_of_sent(season: Season, guest: Guest, wish: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """The game that a sender means; he himself sees none.

    Parameters
    ----------
    season : Season
        The open season.
    guest : Guest
        Who sent it.
    wish : mapping
        `new` (date, opponent, home), and perhaps `camera`.

    Returns
    -------
    tuple of str and dict
        As from `game_for`: a new game, or the one of that day against that opponent. Where that has film, this one is
        another camera's, which changes nothing of the game's time line; a sender's next films go where his first went.
    """
    game, aim = game_for(season, dict(wish))
    told = aim["new"]
    for one in season.games.all():
        if (one.date, _spoken(one.opponent)) == (told["date"], _spoken(told["opponent"])):
            his = guest.games.get(one.id)
            if not season.shelf.films(one.id) or (his is not None and aim["camera"] in ("", his)):
                return one.id, {"camera": his or ""}
            return one.id, {"camera": _fresh(aim["camera"] or SENT_CAMERA, camera_names(season.store, one.id))}
    return game, {**aim, "camera": ""}


def _spoken(opponent: str) -> str:
    return " ".join(opponent.casefold().split())


def _fresh(name: str, taken: list[str]) -> str:
    return next(one for n in range(1, 10_000) if (one := name if n == 1 else f"{name} {n}") not in taken)
