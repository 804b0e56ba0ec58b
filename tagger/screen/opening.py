"""What a page must know to begin: the game, its films, the words, the players, and the book's entries so far."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from tagger.game import Game
from tagger.screen.films import films_of
from tagger.screen.outside import bodies_told, names_kept, players_told
from tagger.season import Season

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def title_of(season: Season, game: Game) -> str:
    """A game as its heading says it.

    Parameters
    ----------
    season : Season
        Whose team it is.
    game : Game
        The game.

    Returns
    -------
    str
        "Herons v Quarry Hill", "Herons at Millrace".
    """
    return f"{season.texts.settings.team} {'v' if game.home else 'at'} {game.opponent}"


def day_of(date: str) -> str:
    """A date as people say it.

    Parameters
    ----------
    date : str
        YYYY-MM-DD.

    Returns
    -------
    str
        "14 March 2026".
    """
    year, month, day = date.split("-")
    return f"{int(day)} {MONTHS[int(month) - 1]} {year}" if 1 <= int(month) <= 12 else date


def opening(season: Season, game: Game, book: str) -> str:
    """Everything a tagging page begins with, as JSON.

    Parameters
    ----------
    season : Season
        The open season.
    game : Game
        The game to tag.
    book : str
        Whose entries.

    Returns
    -------
    str
        An object; `entries` in order of arrival, `seq` the place of the last one.
    """
    settings = season.texts.settings
    bodies, seq = season.journal.bodies(game.id, book)
    question = season.texts.now().stated_question
    names = names_kept(season)
    facts: dict[str, Any] = {
        "season": settings.id,
        "team": settings.team,
        "game": {"id": game.id, "title": title_of(season, game), "day": day_of(game.date), "opponent": game.opponent},
        "book": book,
        "books": [one.name for one in season.journal.books(game.id)],
        "chosen_book": season.tagged.chosen_book(game.id),
        "films": films_of(season, game),
        "roster": [{"number": player.number, "name": player.name} for player in players_told(season)],
        "periods": {
            "n": settings.n_periods,
            "minutes": settings.period_minutes,
            "stop_clock": settings.stop_clock,
        },
        "language": season.texts.language().data,
        "stated_question": {"text": names.without(question.text), "stated": day_of(question.stated.isoformat())}
        if question
        else None,
        "text_problems": [names.without(str(one)) for one in season.texts.problems],
        "read_only": season.store.read_only_because if season.store.read_only else "",
        "seq": seq,
    }
    head = json.dumps(facts, ensure_ascii=False, separators=(",", ":"))
    return f'{head[:-1]},"entries":{listed(bodies_told(bodies, names))}}}'


def listed(bodies: Iterable[str]) -> str:
    """Entries as a JSON list.

    Parameters
    ----------
    bodies : iterable of str
        Each an object as JSON.

    Returns
    -------
    str
        JSON.
    """
    return f"[{','.join(bodies)}]"
