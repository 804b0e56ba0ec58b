"""`floorbook reels`: cut reels of players' clips."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

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
        "Clips are cut frame-exactly from the originals; a reel carries no place, device or time. Film of minors: who "
        "has no consent = yes on the roster gets no reel, and clips in which he is marked are counted, named and left "
        "out, or cut with nothing said of them, as season.toml sets under [care]. Opponents, minors too, are on no "
        "roster and are never cut by number. Your league’s and country’s rules come first.",
    )
    folder_argument(parser)
    parser.add_argument("game", metavar="GAME", nargs="?", help="only this game: its id, its date or its opponent")
    whose = parser.add_mutually_exclusive_group()
    whose.add_argument("--player", metavar="N", help="the player with this number")
    whose.add_argument("--all", action="store_true", help="a reel for every player; OUT is a folder")
    parser.add_argument("--set", metavar="CODE", help="only runs of this set, by its code or its name")
    output_arguments(parser, "OUT", "the MP4 to write; with --all a folder")
    parser.add_argument(
        "--without-consent",
        action="store_true",
        help="leave nobody out: you have the consent that the roster lacks; who it is about is said",
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
    from dashboard.choosing import Wanted
    from dashboard.outputs import REEL, output_folder
    from dashboard.progress import ProgressLine
    from dashboard.reels import CARE, OPPONENTS, cut_all, cut_reel, file_of, set_code
    from tagger.care import FILE
    from tagger.naming import shown_roster

    with opened(args.folder, read_only=True) as season:
        game = season.games.find(args.game).id if args.game else None
        code = set_code(season, args.set) if args.set else None
        roster = shown_roster(season.texts.roster, season.texts.settings.care, FILE)
        folder, names = (args.to, [file_of(player) for player in roster]) if args.all else _split(args.to)
        output_folder(folder, names, REEL, season=season, replace=args.replace)
        consent = not args.without_consent
        with ProgressLine("Cutting") as progress:
            how: dict[str, Any] = {"consent": consent, "progress": progress, "tell": _tell}
            if args.all:
                done = cut_all(season, args.to, game=game, play=code, **how)
            else:
                done = [cut_reel(season, Wanted(game=game, player=args.player, play=code), args.to, **how)]
    for each in done:
        print(each.told)
    if any(each.reel is not None for each in done):
        print(f"{CARE} {OPPONENTS}")
    return 0


def _split(target: Path) -> tuple[Path, list[str]]:
    return target.parent, [target.name]


def _tell(line: str) -> None:
    print(line, flush=True)
