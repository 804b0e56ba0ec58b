"""`floorbook film`: bring film into a game, go on with what has to be made of it, find film that is away."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.commands.arguments import Commands, command, folder_argument, opened

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dashboard.progress import ProgressLine
    from tagger.season import Season
    from tagger.shelf.films import Film
    from tagger.work.job import Job

DOING = {
    "playable": "Making it playable",
    "viewing": "Making a light copy",
    "keep": "Copying the original",
    "strip": "Looking through it",
}
MOST_DAMAGE_TOLD = 3


def add(commands: Commands) -> argparse.ArgumentParser:
    """Enter the command.

    Parameters
    ----------
    commands : subparsers action
        Where it is entered.

    Returns
    -------
    ArgumentParser
        The command's.
    """
    parser = command(
        commands,
        "film",
        "bring film into a game; several files are one film in that order",
        "The files are played where they lie and known again by what is in them. What a browser can’t play, or seeks "
        "in slowly, gets a copy with the same frames at the same times; Ctrl-C leaves the rest of that work for "
        "later. Without GAME, the work that is left is done.",
    )
    folder_argument(parser)
    parser.add_argument(
        "game", metavar="GAME", nargs="?", help="the game: its id, its date or its opponent; with --new its new id"
    )
    parser.add_argument("files", metavar="FILE", nargs="*", type=Path, help="film files")
    parser.add_argument("--new", action="store_true", help="make the game")
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="with --new: when it was played")
    parser.add_argument("--opponent", metavar="NAME", help="with --new: the other team")
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "--home", dest="home", action="store_true", default=None, help="with --new: at home (the default)"
    )
    where.add_argument("--away", dest="home", action="store_false", default=None, help="with --new: away")
    parser.add_argument("--sort", action="store_true", help="find the files’ order by their clocks, dates and names")
    parser.add_argument("--keep", action="store_true", help="copy the originals into the season’s folder")
    parser.add_argument(
        "--camera",
        metavar="NAME",
        help="film of the same play from another camera; the page ties it to the game’s film",
    )
    parser.add_argument("--find", metavar="DIR", type=Path, help="look in a folder for film that is not where it was")
    return parser


def run(args: argparse.Namespace) -> int:
    """Bring the film in, or find it again.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    if args.new and not (args.date and args.opponent):
        args.parser.error("--new needs --date YYYY-MM-DD and --opponent NAME")
    if not args.new and (args.date or args.opponent or args.home is not None):
        args.parser.error("--date, --opponent, --home and --away describe a game made with --new")
    if args.camera is not None and (args.new or not args.game):
        args.parser.error("--camera brings another camera’s film into a GAME that has film: say no --new with it")
    if args.find is not None and (args.game or args.new):
        args.parser.error("--find looks for the film of all games: say no GAME and no FILE with it")
    if args.game and not args.files:
        args.parser.error("which FILE is to be brought in?")
    with opened(args.folder) as season:
        if args.find is not None:
            return _find(season, args.find)
        films = _brought(season, args) if args.game else season.shelf.all_films()
        return _finished(season, films)


def _brought(season: Season, args: argparse.Namespace) -> list[Film]:
    from dashboard.progress import ProgressLine
    from tagger.work.bring import bring_film, bring_new_game
    from tagger.work.wait_for_copy import patiently

    game = args.game if args.new else season.games.find(args.game).id
    how = {"in_order": not args.sort, "keep": args.keep}
    with ProgressLine("Bringing film in") as progress:

        def bring() -> list[Film]:
            if args.new:
                home = args.home is not False
                return bring_new_game(
                    season, game, args.date, args.opponent, home, args.files, progress=progress, **how
                )
            return bring_film(season, game, args.files, camera=args.camera or "", progress=progress, **how)

        films = patiently(bring, args.files, tell=progress)
    for film in films:
        print("\n".join(_lines(film)), flush=True)
    return films


def _lines(film: Film) -> list[str]:
    """What is said of a film that was brought in."""
    from tagger.shelf.films import gap_line

    said = [f"{film.name}: {_clock(film.duration_ms)}, {film.n_frames} frames, game {film.game}"]
    if film.camera:
        said.append(f"  another camera: {film.camera}; the tagging page shows how it is tied to the game’s film")
    gap = gap_line(film)
    if gap:
        said.append(f"  {gap}")
    said += [f"  damaged: {one['line']}" for one in film.damage[:MOST_DAMAGE_TOLD]]
    if len(film.damage) > MOST_DAMAGE_TOLD:
        said.append(f"  and {len(film.damage) - MOST_DAMAGE_TOLD} more damaged stretches")
    said.append("  it can be tagged now" if film.state == "ready" else "  it can be tagged as soon as it is playable")
    return said


def _finished(season: Season, films: Sequence[Film]) -> int:
    """Do what has to be made of films, in the foreground; unless a served season does it already."""
    from tagger.film.room import spoken_bytes
    from tagger.work.jobs import JobList
    from tagger.work.plan import free_bytes
    from tagger.work.queue import Queue, QueueTaken

    ids = [film.id for film in films]
    jobs = JobList(season.store)
    need = sum(job.need_bytes for job in jobs.all() if job.film in ids)
    if not any(job.film in ids for job in jobs.all()):
        return 0
    if need:
        free = spoken_bytes(free_bytes(season.folder))
        print(f"Copies take up to {spoken_bytes(need)} in the season’s folder; {free} are free there.", flush=True)
    try:
        queue = Queue(season)
    except QueueTaken:
        print("The floorbook that has this season open goes on with it in the background.")
        return 0
    telling = _Telling(season)
    try:
        failed = queue.run(ids, tell=telling)
    except KeyboardInterrupt:
        telling.end()
        print(
            "What is done is kept; the rest goes on when the season is opened, or with this command.", file=sys.stderr
        )
        raise
    finally:
        telling.end()
        queue.close()
    for job in failed:
        print(f"floorbook: {job.why}", file=sys.stderr)
    lost = any(job.kind == "keep" or season.shelf.film(job.film).state == "waiting" for job in failed)
    return 1 if lost else 0


class _Telling:
    """Progress of one job after the other."""

    def __init__(self, season: Season) -> None:
        self.season = season
        self._job = 0
        self._progress: ProgressLine | None = None

    def __call__(self, job: Job, share: float, told: str) -> None:
        from dashboard.progress import ProgressLine

        if job.id != self._job:
            self.end()
            self._job = job.id
            what = f"{self.season.shelf.film(job.film).name}: {DOING.get(job.kind, 'working').lower()}"
            self._progress = ProgressLine(what).__enter__()
        if self._progress is not None:
            self._progress(share, told)

    def end(self) -> None:
        """Clear the line."""
        if self._progress is not None:
            self._progress.__exit__(None, None, None)
            self._progress = None


def _find(season: Season, folder: Path) -> int:
    from dashboard.progress import ProgressLine
    from tagger.shelf.finding import find_again, missing

    if not missing(season):
        print("No film is away.")
        return 0
    with ProgressLine("Looking") as progress:
        search = find_again(season, folder, progress=progress)
    for one in search.found:
        print(f"{one.film.name} (game {one.film.game}): found at {one.path}")
    for line in search.refused:
        print(f"floorbook: {line}", file=sys.stderr)
    for film in search.away:
        print(f"floorbook: {film.name} (game {film.game}): not in {folder}", file=sys.stderr)
    return 1 if search.away else 0


def _clock(ms: int) -> str:
    from tagger.film.damage import spoken_ms

    return spoken_ms(round(ms / 1000) * 1000)
