"""`floorbook reels`: cut reels of players' clips."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.arguments import Commands, command, folder_argument, opened, output_arguments


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
        "reels",
        "cut reels: a player’s clips, or a set’s, as one MP4 that a phone plays",
        "Clips are cut frame-exactly from the originals; a reel carries no place, device or time. Film of minors: "
        "players whose roster line does not say consent = yes get no reel unless --without-consent says that you "
        "have it elsewhere. Your league’s and country’s rules come first.",
    )
    folder_argument(parser)
    parser.add_argument("game", metavar="GAME", nargs="?", help="only this game: its id, its date or its opponent")
    whose = parser.add_mutually_exclusive_group()
    whose.add_argument("--player", metavar="N", help="the player with this number")
    whose.add_argument("--all", action="store_true", help="a reel for every player; OUT is a folder")
    parser.add_argument("--set", metavar="CODE", help="only runs of this set, by its code or its name")
    output_arguments(parser, "OUT", "the MP4 to write; with --all a folder")
    parser.add_argument(
        "--without-consent", action="store_true", help="cut also for players without consent on the roster"
    )
    return parser


def run(args: argparse.Namespace) -> int:
    """Choose the clips and cut.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    if not (args.player or args.all or args.set):
        args.parser.error("say whose clips: --player N, --set CODE or --all")
    from dashboard.outputs import REEL, output_folder
    from dashboard.progress import Progress
    from dashboard.reels import CARE, Wanted, cut_all, cut_reel, file_of, set_code

    with opened(args.folder, look=True) as season:
        game = season.find_game(args.game).id if args.game else None
        code = set_code(season, args.set) if args.set else None
        folder, names = (args.to, [file_of(player) for player in season.roster]) if args.all else _split(args.to)
        output_folder(folder, names, REEL, season=season, replace=args.replace)
        with Progress("Cutting") as progress:
            if args.all:
                done = cut_all(
                    season, args.to, game=game, play=code, consent=not args.without_consent, progress=progress
                )
            else:
                wanted = Wanted(game=game, player=args.player, play=code)
                done = [cut_reel(season, wanted, args.to, consent=not args.without_consent, progress=progress)]
    for each in done:
        print(each.told)
    if any(each.reel is not None for each in done):
        print(CARE)
    return 0


def _split(target: Path) -> tuple[Path, list[str]]:
    return target.parent, [target.name]
