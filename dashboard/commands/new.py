"""`floorbook new`: start a season."""

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
        "new",
        "start a season",
        "The folder then holds season.toml, playbook.toml, roster.csv, lines.toml and keys.toml, which say inside what "
        "belongs where.",
    )
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="a folder that is not there yet, or is empty")
    parser.add_argument("--team", help="the team’s name")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write the text files to start from, and an empty database.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.start import start_season

    for path in start_season(args.folder, team=args.team):
        print(path)
    print(f"Next: fill in the playbook and the roster, then floorbook film {args.folder} GAME FILE --new …")
    return 0
