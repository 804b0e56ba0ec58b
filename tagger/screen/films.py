"""What a page is told of a game's films: what is played for each, how far that reaches, what is still being made."""

from __future__ import annotations

from typing import Any

from tagger.errors import NoFilm
from tagger.game import Game
from tagger.season import Season
from tagger.shelf.films import PLAYABLE, READY, VIEWING, Film
from tagger.shelf.strip import kept_strip
from tagger.work.job import Job
from tagger.work.jobs import JobList

COMING = (PLAYABLE, VIEWING)


def films_of(season: Season, game: Game) -> list[dict[str, Any]]:
    """A game's films for a page.

    Parameters
    ----------
    season : Season
        The open season.
    game : Game
        The game.

    Returns
    -------
    list of dict
        In order, other cameras' after the game's own: `id`, `name`, `offset_ms`, `duration_ms`, `n_frames`, `state`,
        `damage`, `camera` and `tied` as `tagger.shelf.films.Film`;
        `version`: the word for the file that is played, empty for none; `until_ms`: how much of the film that file
        holds; `coming`: the work that gives another file to play, or null.
    """
    jobs = [job for job in JobList(season.store).all() if job.kind in COMING]
    return [
        _film(season, film, next((job for job in jobs if job.film == film.id), None))
        for film in (*season.shelf.films(game.id), *season.shelf.other_films(game.id))
    ]


def strip_of(season: Season, film: str) -> dict[str, Any]:
    """What a look through a film found, for the band under the line of time.

    Parameters
    ----------
    season : Season
        The open season.
    film : str
        The film's id.

    Returns
    -------
    dict
        `ready`: whether somebody has looked through it; `black` and `standing`: stretches, `cuts`: moments, in film ms.
    """
    found = kept_strip(season.store, film)
    if found is None:
        return {"ready": False, "black": [], "standing": [], "cuts": []}
    return {"ready": True, "black": list(found.black), "standing": list(found.standing), "cuts": list(found.cuts)}


def _film(season: Season, film: Film, job: Job | None) -> dict[str, Any]:
    version, until_ms = "", 0
    if film.state == READY:
        try:
            version, until_ms = season.shelf.copies.played(film.id)[1], film.duration_ms
            if version not in (PLAYABLE, VIEWING, "original"):
                until_ms = season.shelf.copies.showing(film.id).index.duration_ms
        except NoFilm:  # it went away this very moment
            version = ""
    return {
        "id": film.id,
        "name": film.name,
        "offset_ms": film.offset_ms,
        "duration_ms": film.duration_ms,
        "n_frames": film.n_frames,
        "state": film.state,
        "version": version,
        "until_ms": until_ms,
        "damage": list(film.damage),
        "camera": film.camera,
        "tied": film.tied,
        "coming": None
        if job is None
        else {"kind": job.kind, "state": job.state, "share": job.share, "left_s": job.left_s, "why": job.why},
    }
