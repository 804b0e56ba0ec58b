"""What each kind of work on film does. All of it that reads film happens in a process of its own, with limits."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.errors import Doubled, NoFilm
from tagger.progress import Progress, Stop
from tagger.season import Season
from tagger.shelf.films import FILM_FOLDER, PLAYABLE, VIEWING
from tagger.shelf.strip import Strip, keep_strip, make_strip
from tagger.work.arrivals import NAME as SENT_NAME
from tagger.work.bring import bring_film, bring_new_game
from tagger.work.cores import share_of, threads_of, within
from tagger.work.job import BRING, Job
from tagger.work.originals import copy_original, forget
from tagger.work.plan import KEEP, STRIP

if TYPE_CHECKING:
    from tagger.film.convert import Converted
    from tagger.film.index import FrameIndex


_ORIGINAL = "original"
_NEAR_MS = 100
SILENCE_S = 180.0  # writing a long film's beginning anew, on a slow disk, says nothing for a while


@dataclass(frozen=True)
class Means:
    """What a job is done with: the season, how to say how far it is, how to know that it is to stop."""

    season: Season
    progress: Progress
    stop: Stop

    @property
    def n_cores(self) -> int:
        """The coach's share."""
        return share_of(self.season.texts.settings.film_cores)

    @property
    def n_threads(self) -> int:
        """Threads for each library within that share."""
        return threads_of(self.n_cores)

    def in_child(
        self, work: Callable[..., Any], *args: Any, film: Path, leaves: tuple[Path, ...] = (), **more: Any
    ) -> Any:
        """Do film work in a process of its own, in the background, within the share of cores."""
        from tagger.film.child import Limits, in_child
        from tagger.film.errors import FilmError

        try:
            return in_child(
                within,
                self.n_cores,
                work,
                *args,
                film=film,
                limits=Limits(silence_s=SILENCE_S, background=True),
                leaves=leaves,
                progress=self.progress,
                stop=self.stop,
                **more,
            )
        except FilmError as error:
            if error.path.name == film.name:
                raise
            raise type(error)(error.what, film, error.todo) from error  # nobody knows the names of our own files


def do_job(job: Job, means: Means) -> None:
    """Do a job.

    Parameters
    ----------
    job : Job
        What to do.
    means : Means
        What to do it with.

    Raises
    ------
    tagger.film.errors.FilmError, tagger.errors.SeasonError, tagger.store.database.StoreError
        It can't be done, or was stopped.
    """
    _HOW[job.kind](job, means)


def clean_up(job: Job, season: Season) -> None:
    """Throw away what was begun for a job that was given up.

    Parameters
    ----------
    job : Job
        The job.
    season : Season
        Its season.
    """
    if job.kind == VIEWING:
        from tagger.film.viewing import discard

        discard(season.shelf.copies.copy_target(job.film, VIEWING))
    elif job.kind == KEEP:
        with contextlib.suppress(NoFilm):
            forget(_kept_target(season, job.film))
    elif job.kind == BRING and job.body.get("sent"):
        _remove_sent(job, season)


def refuse_sent(job: Job, season: Season, fault: BaseException) -> str:
    """Throw away a file that another device sent and that is no film, or is here already.

    Parameters
    ----------
    job : Job
        What failed.
    season : Season
        Its season.
    fault : BaseException
        Why.

    Returns
    -------
    str
        What to add to the line about it; empty when nothing was thrown away, since it may yet be brought in.
    """
    from tagger.film.errors import FilmTooMuch, FilmTooSlow, FilmTorn, FilmUnread, NotFilm

    final = isinstance(fault, NotFilm | FilmTorn | FilmTooMuch | Doubled)
    if not job.body.get("sent") or not final or isinstance(fault, FilmUnread | FilmTooSlow):
        return ""
    return "; what was sent was removed" if _remove_sent(job, season) else ""


def _remove_sent(job: Job, season: Season) -> bool:
    """Remove the files that came for a job, unless a film lies in them."""
    folder = (season.folder / FILM_FOLDER).resolve()
    held = {(season.folder / film.path).resolve() for film in season.shelf.all_films() if film.path}
    removed = False
    for path in (Path(one).resolve() for one in job.body.get("paths", ())):
        if path.parent == folder and path.name.startswith(SENT_NAME) and path not in held:
            with contextlib.suppress(OSError):
                path.unlink()
                removed = True
    return removed


def tidy(season: Season) -> None:
    """Remove half files that a killed process left in the season's film folder.

    Parameters
    ----------
    season : Season
        A season whose queue this process holds, so that nobody is writing there.
    """
    folder = season.folder / FILM_FOLDER
    for path in folder.glob("*.part"):
        target = path.with_name(path.name.removesuffix(".part").removesuffix(".blocks"))
        if not target.stem.endswith(f"-{_ORIGINAL}") or path.name.startswith("."):
            path.unlink(missing_ok=True)


def _bring(job: Job, means: Means) -> None:
    told = dict(job.body)
    paths = [Path(one) for one in told["paths"]]
    how = {"in_order": told["in_order"], "keep": told["keep"], "progress": means.progress, "stop": means.stop}
    how["settled"] = bool(told.get("sent"))
    new = told.get("new")
    if job.told and _is_in(means.season, job.game if new is None else new["id"], paths):
        return  # the program ended just after
    if new is None:
        bring_film(means.season, job.game, paths, camera=told.get("camera", ""), **how)
    else:
        bring_new_game(means.season, new["id"], new["date"], new["opponent"], new["home"], paths, **how)


def _is_in(season: Season, game: str, paths: list[Path]) -> bool:
    there = {
        (season.folder / film.path).resolve()
        for film in (*season.shelf.films(game), *season.shelf.other_films(game))
        if film.path
    }
    return all(path.resolve() in there for path in paths)


def _playable(job: Job, means: Means) -> None:
    from tagger.film.convert import make_playable

    season = means.season
    source, index, target = _prepared(season, job.film, PLAYABLE)
    if _taken_over(job, means, PLAYABLE, index, target):
        return
    _check_room(target, job)
    made: Converted = means.in_child(
        make_playable, source, target, film=source, leaves=(target,), index=index, n_threads=means.n_threads
    )
    season.shelf.copies.add_copy(job.film, PLAYABLE, made.index, made.pictures_per_frame)


def _viewing(job: Job, means: Means) -> None:
    from tagger.film.viewing import VIEWING_SETTINGS, make_viewing_copy

    season = means.season
    source, index, target = _prepared(season, job.film, VIEWING)
    if _taken_over(job, means, VIEWING, index, target):
        return
    _check_room(target, job)
    settings = replace(VIEWING_SETTINGS, n_threads=means.n_threads)
    made: Converted = means.in_child(
        make_viewing_copy, source, target, film=source, leaves=(target,), index=index, settings=settings
    )
    season.shelf.copies.add_copy(job.film, VIEWING, made.index, made.pictures_per_frame)


def _keep(job: Job, means: Means) -> None:
    from tagger.film.errors import FilmTorn

    season = means.season
    source = season.shelf.whereabouts.original(job.film)
    target = _kept_target(season, job.film)
    if source.resolve() == target.resolve():
        return
    target.parent.mkdir(exist_ok=True)
    if not season.shelf.whereabouts.is_film(job.film, target):
        means.in_child(copy_original, source, target, film=source)
    if not season.shelf.whereabouts.is_film(job.film, target):
        target.unlink(missing_ok=True)
        raise FilmTorn("the copy in the season is not this film", source, "start it again; check the disk")
    season.shelf.relink(job.film, target)


def _strip(job: Job, means: Means) -> None:
    season = means.season
    source, index = season.shelf.whereabouts.original(job.film), season.shelf.indexes.of(job.film)
    facts = season.shelf.whereabouts.facts(job.film)
    if facts is None:
        return
    made: Strip = means.in_child(make_strip, source, index, facts, film=source, n_threads=means.n_threads)
    keep_strip(season.store, job.film, made)
    season.shelf.set_damage(job.film, list(made.damage))


def _prepared(season: Season, film: str, kind: str) -> tuple[Path, FrameIndex, Path]:
    source = season.shelf.whereabouts.original(film)
    target = season.shelf.copies.copy_target(film, kind)
    target.parent.mkdir(exist_ok=True)
    return source, season.shelf.indexes.of(film), target


def _taken_over(job: Job, means: Means, kind: str, index: FrameIndex, target: Path) -> bool:
    """Whether the copy stands whole already, made just before a process ended; then it is entered."""
    if not target.is_file():
        return False
    from tagger.film.errors import FilmError
    from tagger.film.index import build_index

    try:
        made: FrameIndex = means.in_child(build_index, target, film=target, n_threads=means.n_threads)
    except FilmError:
        if means.stop():
            raise
        target.unlink(missing_ok=True)
        return False
    facts = means.season.shelf.whereabouts.facts(job.film)
    per_frame = 2 if facts is not None and facts.interlaced else 1
    if made.n_frames != index.n_frames * per_frame or abs(made.duration_ms - index.duration_ms) > _NEAR_MS:
        target.unlink(missing_ok=True)
        return False
    means.season.shelf.copies.add_copy(job.film, kind, made, per_frame)
    return True


def _check_room(target: Path, job: Job) -> None:
    from tagger.film.room import check_room

    check_room(target, job.need_bytes)


def _kept_target(season: Season, film: str) -> Path:
    suffix = Path(season.shelf.film(film).path).suffix.lower()
    return season.folder / FILM_FOLDER / f"{film}-{_ORIGINAL}{suffix}"


_HOW: dict[str, Callable[[Job, Means], None]] = {
    BRING: _bring,
    PLAYABLE: _playable,
    VIEWING: _viewing,
    KEEP: _keep,
    STRIP: _strip,
}
