"""`floorbook journal`: a book of marks as a JSON Lines file, out or in."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.arguments import Commands, command, folder_argument, opened, replace_argument


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
        "journal",
        "write a game’s book of marks to a JSON Lines file, or take one in",
        "A file is taken in as a whole or not at all. Taking the same file in twice changes nothing.",
    )
    folder_argument(parser)
    parser.add_argument("game", metavar="GAME", help="the game: its id, its date or its opponent")
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--to", metavar="FILE", type=Path, help="write the book to this file")
    way.add_argument("--from", dest="source", metavar="FILE", type=Path, help="take this file in")
    replace_argument(parser)
    parser.add_argument("--book", help="the book (out: the game’s chosen one; in: the one the file names)")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write or take in.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.bookfile import take_in, write_out
    from dashboard.outputs import JOURNAL, output_file

    with opened(args.folder, look=args.to is not None) as season:
        game = season.find_game(args.game)
        if args.to is not None:
            output_file(args.to, JOURNAL, season=season, replace=args.replace)
            book, n_entries = write_out(season, game.id, args.book, args.to)
            print(f"{args.to}: {n_entries} entries of {book}’s book of game {game.id}")
        else:
            taken = take_in(season, game.id, args.book, args.source)
            known = f", {taken.n_known} were there already" if taken.n_known else ""
            print(f"game {game.id}, {taken.book}’s book: {taken.n_new} new entries{known}")
    return 0
