"""What a season's books are folded with: its films, and what its text files say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tagger.marks.fold import FilmSpan, GameFacts

if TYPE_CHECKING:
    from tagger.season import Season


def facts_of(season: Season, game: str, book: str) -> GameFacts:
    """What a book's entries are folded with.

    Parameters
    ----------
    season : Season
        The season.
    game, book : str
        The game's id, and the book's name.

    Returns
    -------
    GameFacts
        By the films and the texts as they are now.
    """
    all_films = (*season.films(game), *season.other_films(game))
    films = tuple(FilmSpan(film.id, film.offset_ms, film.duration_ms) for film in all_films)
    numbers = frozenset(player.number for player in season.roster)
    settings = season.settings
    told = (settings.penalties, settings.reaction_ms, settings.n_periods)
    period_s = settings.period_minutes * 60
    return GameFacts(game, book, season.language(), films, numbers, period_s, settings.stop_clock, *told)
