"""Bring film into a game: look at it, index its frames, enter it.

Nothing is entered before all of it is known to be film. What a browser plays as it lies is ready to be tagged then;
what else has to be made of it waits as jobs (`tagger.work.jobs`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from tagger.errors import BadGame, Doubled, NoFilm
from tagger.progress import Progress, Stop
from tagger.season import Season
from tagger.shelf.cameras import check_name
from tagger.shelf.films import READY, Film, NewFilm
from tagger.work.cores import share_of
from tagger.work.inspection import Inspected, inspect_files
from tagger.work.jobs import JobList
from tagger.work.plan import Step, steps_for


def bring_film(
    season: Season,
    game: str,
    paths: Sequence[Path],
    *,
    in_order: bool = True,
    keep: bool = False,
    camera: str = "",
    settled: bool = False,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> list[Film]:
    """Bring film files into a game.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of a game it has.
    paths : sequence of Path
        The files; played where they lie.
    in_order : bool
        Whether they are given in their order; else it is found by their clocks, dates and names.
    keep : bool
        Have each original copied into the season's folder; like everything that is made of a film, as a job.
    camera : str
        Film of the same play from this other camera (`tagger.shelf.cameras`); empty for the game's own film.
    settled : bool
        Whether it is known that nobody writes into the files any more; else one may be `StillCopied`.
    progress, stop : callable, optional
        Told how far it is (0 to 1, and a text); asked whether to stop.

    Returns
    -------
    list of Film
        As entered, in order. A film that the season has and whose file was away is found again by this.

    Raises
    ------
    tagger.film.errors.FilmError
        A file is no film, torn, missing, or still being copied, or there is no room for what makes it playable:
        nothing was changed.
    tagger.errors.SeasonError
        There is no such game, or a film is in the season already: nothing was changed.
    """
    season.games.game(game)
    camera = camera and check_name(camera)
    n_cores = share_of(season.texts.settings.film_cores)
    _refuse_doubled(paths)
    inspected = inspect_files(paths, in_order=in_order, n_cores=n_cores, settled=settled, progress=progress, stop=stop)
    return take_in(season, game, inspected, keep=keep, camera=camera)


def bring_new_game(
    season: Season,
    id_: str,
    date: str,
    opponent: str,
    home: bool,
    paths: Sequence[Path],
    *,
    in_order: bool = True,
    keep: bool = False,
    settled: bool = False,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> list[Film]:
    """Make a game and bring its film in; when the film can't be brought in, the game is not made either.

    Parameters
    ----------
    season : Season
        The open season.
    id_, date, opponent, home
        As for `Season.add_game`.
    paths, in_order, keep, settled, progress, stop
        As for `bring_film`.

    Returns
    -------
    list of Film
        As entered.

    Raises
    ------
    tagger.film.errors.FilmError
        A file is no film, torn, or missing: nothing was changed.
    tagger.errors.BadGame
        The game can't be made as told, or a film is in the season already.
    """
    season.games.add(id_, date, opponent, home)
    try:
        how: dict[str, Any] = {"in_order": in_order, "keep": keep, "settled": settled}
        return bring_film(season, id_, paths, progress=progress, stop=stop, **how)
    except BaseException:
        season.games.remove_empty(id_)
        raise


def take_in(
    season: Season, game: str, inspected: Sequence[Inspected], *, keep: bool = False, camera: str = ""
) -> list[Film]:
    """Enter films that were looked at, and what has to be made of them.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of a game it has.
    inspected : sequence of Inspected
        In order.
    keep, camera
        As for `bring_film`.

    Returns
    -------
    list of Film
        As entered.

    Raises
    ------
    tagger.errors.BadGame
        Another camera's film comes before the game's own, a film is in the season already and its file is there, or it
        belongs to another game: nothing was changed.
    tagger.film.errors.DiskFull
        There is no room for what makes a film playable: nothing was changed.
    """
    if camera and not season.shelf.films(game):
        raise BadGame(f"game {game} has no film yet; bring the one in that the game is tagged on, then other cameras’")
    fresh: list[Inspected] = []
    again: list[Inspected] = []
    named: dict[str, str] = {}
    for one in inspected:
        if one.id in named:
            raise Doubled(f"{_name(one.path)}: the same film as {named[one.id]}; name each once, nothing was changed")
        named[one.id] = _name(one.path)
        (again if _is_found_again(season, game, one) else fresh).append(one)
    plans = {one.id: steps_for(one.facts, one.index, one.slow, keep=keep) for one in inspected}
    _check_room(season, inspected, plans)
    entered = [replace(_new(one), camera=camera) for one in fresh]
    if entered and not entered[0].gap_from and season.shelf.films(game, camera):
        entered[0] = replace(entered[0], gap_from="assumed")
    season.shelf.enter(game, entered)
    jobs = JobList(season.store)
    for one in again:
        season.shelf.relink(one.id, one.path)
        jobs.try_again(one.id)
    for one in inspected:
        jobs.add_steps(game, one.id, [step for step in plans[one.id] if one in fresh or step.kind == "keep"])
    return [season.shelf.film(one.id) for one in inspected]


def _refuse_doubled(paths: Sequence[Path]) -> None:
    seen: set[Path] = set()
    for path in paths:
        if path.absolute() in seen:
            raise Doubled(f"{_name(path)}: named twice; name each once, nothing was changed")
        seen.add(path.absolute())


def _is_found_again(season: Season, game: str, one: Inspected) -> bool:
    """Whether the season has this film without its file; refuses one whose file is there."""
    try:
        held = season.shelf.film(one.id)
    except NoFilm:
        return False
    if held.game != game or held.original == READY:
        raise Doubled(f"{_name(one.path)}: this film is in game {held.game} already; nothing was changed")
    return bool(held.path)


def _name(path: Path) -> str:
    from tagger.film.file_names import spoken_name

    return spoken_name(path.name)


def _new(one: Inspected) -> NewFilm:
    return NewFilm(
        id=one.id,
        name=_name(one.path),
        duration_ms=one.index.duration_ms,
        path=one.path,
        size_bytes=one.facts.size_bytes,
        fingerprint=one.fingerprint,
        gap_ms=one.gap_ms,
        gap_from=one.gap_from,
        index=one.index,
        facts=one.facts,
        slow=one.slow,
        damage=one.damage,
    )


def _check_room(season: Season, inspected: Sequence[Inspected], plans: dict[str, list[Step]]) -> None:
    """Refuse film that can't be played before something is made of it, when there is no room for that."""
    from tagger.film.room import check_room

    need_bytes = 0
    for one in inspected:
        if not one.facts.as_it_lies:
            need_bytes += plans[one.id][0].need_bytes
            check_room(season.folder / one.path.name, need_bytes)
