"""`floorbook rescue`: save what can be read of a damaged season."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from dashboard.commands.arguments import Commands, command, folder_argument


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
        "rescue",
        "save all that can be read of a damaged season into a new folder, and list what can’t",
        "Nothing in the damaged folder is changed. Film in it is copied too; light copies of film are made anew when "
        "the new season is opened.",
    )
    folder_argument(parser)
    parser.add_argument("--to", metavar="NEW", type=Path, required=True, help="a folder that is not there yet")
    parser.add_argument("--without-film", action="store_true", help="play film in the old folder, where it lies")
    return parser


def run(args: argparse.Namespace) -> int:
    """Save and tell.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.copies.rescue import rescue
    from dashboard.progress import ProgressLine

    with ProgressLine("Copying") as progress:
        made = rescue(args.folder, args.to, film=not args.without_film, progress=progress)
    for line in made.lost:
        print(f"not saved: {line}", file=sys.stderr)
    print(f"{args.to}: {made.n_entries} entries, {made.n_games} games, {made.n_films} films")
    print("everything was saved" if not made.lost else f"{len(made.lost)} not saved, listed above", flush=True)
    return 0
