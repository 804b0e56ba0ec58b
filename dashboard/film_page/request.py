"""What a page of film asks for, read and checked: JSON sent by floorbook's own pages, and the game that film is for."""

from __future__ import annotations

import re
from typing import Any

from flask import Response, jsonify

from tagger.screen.answers import Refused
from tagger.screen.body import sent_object
from tagger.season import Season
from tagger.shelf.cameras import check_name

MOST_BYTES = 256 * 1024


def sent_json() -> dict[str, Any]:
    """The JSON object of a request to a page of film.

    Returns
    -------
    dict
        As it was sent.

    Raises
    ------
    Refused
        It is none, or too much.
    """
    return sent_object(MOST_BYTES)


def answer_json(told: dict[str, Any]) -> Response:
    """An answer that no browser keeps.

    Parameters
    ----------
    told : dict
        What to say.

    Returns
    -------
    Response
        As JSON.
    """
    answer = jsonify(told)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def game_for(season: Season, sent: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """The game that film is for, one of the season's or a new one, and what a job is told about it.

    Parameters
    ----------
    season : Season
        The open season.
    sent : dict
        With `game` (an id) or `new` (date, opponent, home), and perhaps `camera`.

    Returns
    -------
    tuple of str and dict
        The game's id, empty for a new one; `camera`, and for a new game `new`.

    Raises
    ------
    Refused, tagger.errors.SeasonError
        There is no such game, or none can be made so.
    """
    body: dict[str, Any] = {"camera": check_name(text_of(sent["camera"], "camera")) if sent.get("camera") else ""}
    if "new" in sent:
        return "", {**body, "new": _new_game(season, sent["new"])}
    return season.games.game(text_of(sent.get("game"), "game")).id, body


def text_of(value: Any, name: str) -> str:
    """A short text.

    Parameters
    ----------
    value : object
        As it was sent.
    name : str
        What it is.

    Returns
    -------
    str
        Without space around it.

    Raises
    ------
    Refused
        It is none, or too long.
    """
    if not isinstance(value, str) or not value.strip() or len(value) > 80:
        raise Refused(400, f"no_{name}", f"say the {name}")
    return value.strip()


def _new_game(season: Season, told: Any) -> dict[str, Any]:
    if not isinstance(told, dict):
        raise Refused(400, "no_game", "a new game has a date and an opponent")
    date, opponent = text_of(told.get("date"), "date"), text_of(told.get("opponent"), "opponent")
    slug = re.sub(r"[^a-z0-9]+", "-", opponent.lower()).strip("-")[:40]
    taken = {game.id for game in season.games.all()}
    ids = [f"{date}-{slug}" if slug else date, *(f"{date}-{slug or 'game'}-{n}" for n in range(2, 20))]
    id_ = next((one for one in ids if one not in taken), ids[0])
    season.games.check_new(id_, date, opponent)
    return {"id": id_, "date": date, "opponent": opponent, "home": told.get("home") is not False}
