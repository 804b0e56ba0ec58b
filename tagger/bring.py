"""Bring film into a game: look at it, index its frames, make it playable where a browser could not play it.

Nothing is entered before all of it is known to work; what was made on the way is removed when it does not.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from tagger.season import FILM_FOLDER, BadGame, Film, NewFilm, NoFilm, Season

Progress = Callable[[float, str], None]
Stop = Callable[[], bool]


def bring_film(
    season: Season,
    game: str,
    paths: Sequence[Path],
    *,
    keep: bool = False,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> list[Film]:
    """Bring film files into a game, in the order given.

    Parameters
    ----------
    season : Season
        The open season.
    game : str
        Id of a game it has.
    paths : sequence of Path
        The files; played where they lie.
    keep : bool
        Copy each original into the season's folder first.
    progress, stop : callable, optional
        Told how far it is (0 to 1, and a text); asked whether to stop.

    Returns
    -------
    list of Film
        As entered.

    Raises
    ------
    tagger.film.errors.FilmError
        A file is no film, torn, or missing: nothing was changed.
    tagger.season.BadGame
        A film is in the season already.
    """
    made: list[Path] = []
    ready: list[NewFilm] = []
    try:
        for place, path in enumerate(paths):
            share = _share(progress, place, len(paths))
            ready.append(_prepare(season, path, keep, made, share, stop, {one.id: one.name for one in ready}))
        return [season.add_film(game, one) for one in ready]
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise


def bring_new_game(
    season: Season,
    id_: str,
    date: str,
    opponent: str,
    home: bool,
    paths: Sequence[Path],
    *,
    keep: bool = False,
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
    paths, keep, progress, stop
        As for `bring_film`.

    Returns
    -------
    list of Film
        As entered.

    Raises
    ------
    tagger.film.errors.FilmError
        A file is no film, torn, or missing: nothing was changed.
    tagger.season.BadGame
        The game can't be made as told, or a film is in the season already.
    """
    season.add_game(id_, date, opponent, home)
    try:
        return bring_film(season, id_, paths, keep=keep, progress=progress, stop=stop)
    except BaseException:
        with season.store.writing() as db:
            db.execute(
                "DELETE FROM games WHERE id = ? AND NOT EXISTS (SELECT 1 FROM films WHERE game = games.id) "
                "AND NOT EXISTS (SELECT 1 FROM journal WHERE game = games.id)",
                (id_,),
            )
        raise


def _refuse_held(season: Season, id_: str, name: str, before: Mapping[str, str]) -> None:
    """Refuse a film that is there already, before anything is converted or copied over what is kept of it."""
    if id_ in before:
        raise BadGame(f"{name}: the same film as {before[id_]}; name each once, nothing was changed")
    with suppress(NoFilm):
        held = season.film(id_)
        raise BadGame(f"{name}: this film is in game {held.game} already; nothing was changed")


def _prepare(
    season: Season,
    path: Path,
    keep: bool,
    made: list[Path],
    progress: Progress | None,
    stop: Stop | None,
    before: Mapping[str, str],
) -> NewFilm:
    from tagger.film.convert import make_playable
    from tagger.film.fingerprint import fingerprint
    from tagger.film.index import build_index
    from tagger.film.probe import probe

    facts = probe(path)
    index = build_index(path, progress=_share(progress, 0, 4), stop=stop)
    known_by = fingerprint(path, index)
    id_ = f"f{known_by[:12]}"
    name = path.name
    _refuse_held(season, id_, name, before)
    folder = season.folder / FILM_FOLDER
    playable = ""
    if not facts.as_it_lies:
        folder.mkdir(exist_ok=True)
        target = folder / f"{id_}.mp4"
        if not target.exists():
            made.append(target)
            make_playable(path, target, index=index, progress=_share(progress, 1, 2), stop=stop)
        playable = target.name
    if keep:
        path = _copy(path, folder, id_, made)
    if progress is not None:
        progress(1.0, f"{name}: ready")
    return NewFilm(
        id=id_,
        name=name,
        duration_ms=index.duration_ms,
        path=path,
        playable=playable,
        size_bytes=facts.size_bytes,
        fingerprint=known_by,
        index=index,
    )


def _copy(path: Path, folder: Path, id_: str, made: list[Path]) -> Path:
    folder.mkdir(exist_ok=True)
    target = folder / f"{id_}-original{path.suffix.lower()}"
    beside = target.with_name(target.name + ".part")
    made.append(beside)
    shutil.copyfile(path, beside)
    beside.replace(target)
    made.append(target)
    return target


def _share(progress: Progress | None, place: int, of: int) -> Progress | None:
    if progress is None:
        return None
    return lambda done, text: progress((place + done) / of, text)
