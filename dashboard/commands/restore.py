"""`floorbook restore`: a season from a backup, or from a copy that it kept by itself."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.arguments import Commands, command


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
        "restore",
        "make a season again from a backup, or from a copy that it kept in kept/",
        "The copy is checked first; a damaged one changes nothing. In a folder that holds the season already, its "
        "database and texts are exchanged, and what was there lies beside it afterwards (“FOLDER before …”). Film "
        "stays where it is when the copy has none.",
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="the backup or kept copy, a .zip")
    parser.add_argument(
        "--to", metavar="FOLDER", type=Path, required=True, help="the season’s folder, or a new or empty one"
    )
    parser.add_argument(
        "--another-season", action="store_true", help="also where FOLDER holds another season than the copy"
    )
    return parser


def run(args: argparse.Namespace) -> int:
    """Check the copy and put it in its place.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    import datetime

    from dashboard.copies.restoring import restore
    from dashboard.progress import ProgressLine

    with ProgressLine("Restoring") as progress:
        made = restore(
            args.file, args.to, datetime.datetime.now(), another_season=args.another_season, progress=progress
        )
    print(f"{made.folder}: {made.n_files} files, {made.n_entries} entries, as {args.file.name} has them")
    if made.before is not None:
        print(f"What was there lies in {made.before}")
    if made.erased_since:
        print("Since that copy was made something was erased (erased.txt); it is back now: erase it again")
    return 0
