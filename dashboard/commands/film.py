"""`floorbook film`: bring film into a game."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.arguments import Commands, command, folder_argument, opened


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
        "The files are played where they lie and known again by what is in them. What a browser can’t play is "
        "converted once, with the same frames at the same times.",
    )
    folder_argument(parser)
    parser.add_argument(
        "game", metavar="GAME", help="the game: its id, its date or its opponent; with --new its new id"
    )
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path, help="film files")
    parser.add_argument("--new", action="store_true", help="make the game")
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="with --new: when it was played")
    parser.add_argument("--opponent", metavar="NAME", help="with --new: the other team")
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "--home", dest="home", action="store_true", default=None, help="with --new: at home (the default)"
    )
    where.add_argument("--away", dest="home", action="store_false", default=None, help="with --new: away")
    parser.add_argument("--keep", action="store_true", help="copy the originals into the season’s folder")
    return parser


def run(args: argparse.Namespace) -> int:
    """Bring the film in.

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
    from dashboard.progress import Progress
    from tagger.bring import bring_film, bring_new_game

    with opened(args.folder) as season:
        game = args.game if args.new else season.find_game(args.game).id
        with Progress("Bringing film in") as progress:
            if args.new:
                home = args.home is not False
                films = bring_new_game(
                    season, game, args.date, args.opponent, home, args.files, keep=args.keep, progress=progress
                )
            else:
                films = bring_film(season, game, args.files, keep=args.keep, progress=progress)
        for film in films:
            minutes, seconds = divmod(round(film.duration_ms / 1000), 60)
            print(f"{film.name}: {minutes}:{seconds:02d}, {film.n_frames} frames, game {game}")
    return 0
