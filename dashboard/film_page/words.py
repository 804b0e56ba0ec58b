"""The season's film and the work on it, in words and numbers for the page."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dashboard.progress import in_words
from tagger.film.file_names import spoken_name
from tagger.screen.opening import day_of, title_of
from tagger.shelf.films import AWAY, CHANGED, NONE, PLAYABLE, READY, VIEWING, WAITING, Film, gap_line
from tagger.work.job import BRING, COMING, FAILED, RUNNING, Job
from tagger.work.jobs import JobList
from tagger.work.plan import KEEP, STRIP, free_bytes

if TYPE_CHECKING:
    from tagger.season import Season

DOING = {
    BRING: "looking at the files and listing their frames",
    PLAYABLE: "new wrapping, so that a browser plays it",
    VIEWING: "a light copy, so that every frame comes at once",
    KEEP: "copying the original into the season, and reading the copy back",
    STRIP: "looking and listening through it",
}
CAUTION = (
    "These are films of young people, the other team’s too. Bring in only what their parents and the league allow; it "
    "stays on this computer."
)
CAUTION_SENT = (
    "These are films of young people, the other team’s too. Send only what their parents and the league allow; it goes "
    "to the coach’s computer and nowhere else."
)


def state_of(season: Season) -> dict[str, Any]:
    """Everything that changes on the page of film.

    Parameters
    ----------
    season : Season
        The open season.

    Returns
    -------
    dict
        `jobs`, in the order of work; `games`, each with its films; `need`: room that the waiting work takes at most,
        and `free`: the room there is, both in words; `away`: how many films are not where they were.
    """
    from tagger.film.room import spoken_bytes

    jobs = JobList(season.store).all()
    films = {game.id: [*season.shelf.films(game.id), *season.shelf.other_films(game.id)] for game in season.games.all()}
    named = {film.id: film for each in films.values() for film in each}
    titles = {game.id: title_of(season, game) for game in season.games.all()}
    need = sum(job.need_bytes for job in jobs if job.state != FAILED)
    return {
        "jobs": [job_line(job, named.get(job.film), titles.get(job.game, "")) for job in jobs],
        "games": [
            {
                "id": game.id,
                "title": titles[game.id],
                "day": day_of(game.date),
                "date": game.date,
                "films": [film_line(season, film, jobs) for film in films[game.id]],
            }
            for game in reversed(season.games.all())
        ],
        "need": spoken_bytes(need) if need else "",
        "free": spoken_bytes(free_bytes(season.folder)),
        "away": sum(film.original in (AWAY, CHANGED) for film in named.values()),
    }


def job_line(job: Job, film: Film | None, title: str) -> dict[str, Any]:
    """One job.

    Parameters
    ----------
    job : Job
        As it stands.
    film : Film or None
        What it is about.
    title : str
        Its game, empty for one that it makes.

    Returns
    -------
    dict
        For the page.
    """
    if film is not None:
        what = film.name
    else:
        names = [spoken_name(Path(one).name) for one in job.body.get("paths", ())]
        what = names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more" if names else ""
    left = f"about {in_words(job.left_s)} left" if job.left_s is not None and job.state == RUNNING else ""
    return {
        "id": job.id,
        "kind": job.kind,
        "what": what,
        "game": title or job.body.get("new", {}).get("opponent", ""),
        "doing": DOING.get(job.kind, "working"),
        "state": job.state,
        "share": round(job.share, 3),
        "left": left,
        "why": job.why if job.state in (FAILED, COMING) else "",
    }


def film_line(season: Season, film: Film, jobs: Iterable[Job]) -> dict[str, Any]:
    """One film.

    Parameters
    ----------
    season : Season
        Its season.
    film : Film
        As it stands.
    jobs : iterable of Job
        The season's.

    Returns
    -------
    dict
        For the page.
    """
    from tagger.film.damage import spoken_ms

    copies = season.shelf.copies
    row = season.shelf.whereabouts.row(film.id)
    light = copies.has_copy(film.id, VIEWING)
    coming = any(job.film == film.id and job.kind in (PLAYABLE, VIEWING) and job.state != FAILED for job in jobs)
    return {
        "id": film.id,
        "name": film.name,
        "length": spoken_ms(film.duration_ms),
        "gap": gap_line(film),
        "state": film.state,
        "original": film.original,
        "says": _says(season, film, Path(row.path), light, coming),
        "damage": [one["line"] for one in film.damage],
        "camera": _camera(film),
        "may_lighten": bool(row.slow) and film.original == READY and not light and not coming,
    }


def _camera(film: Film) -> str:
    if not film.camera:
        return ""
    how = (
        "tied to the game’s film"
        if film.tied
        else "not tied yet: that is done on the tagging page, at a moment that both show"
    )
    return f"another camera, {film.camera}; {how}"


def _says(season: Season, film: Film, where: Path, light: bool, coming: bool) -> str:
    if film.state == NONE:
        return "marks only, no film here"
    if film.original == AWAY:
        seen = "its copy plays, clips come from that" if film.state == READY else "it can’t be watched"
        return f"not where it was ({where}); {seen}"
    if film.original == CHANGED:
        seen = "its copy plays" if film.state == READY else "it can’t be watched"
        return f"another file lies at {where} now; it is not used for these marks; {seen}"
    if film.state == WAITING:
        return "being made playable" if coming else "does not play yet"
    if coming and not light:
        return "can be tagged; a light copy is on the way" if _whole(season, film) else "its beginning can be tagged"
    kept = "" if where.is_absolute() else "; the original is kept in the season"
    return f"plays{', light copy' if light else ''}{kept}"


def _whole(season: Season, film: Film) -> bool:
    return not season.shelf.copies.played(film.id)[1].startswith("part")
