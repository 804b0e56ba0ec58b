"""`floorbook check`: verify everything that a season holds."""

from __future__ import annotations

import argparse
import sys

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
        "check",
        "verify everything the season holds; exit 1 with a list of what is wrong",
        "Looks at the text files, the database, every entry of the journal and every film. Marks that want a second "
        "look are told too, and are no fault.",
    )
    folder_argument(parser)
    parser.add_argument("--quick", action="store_true", help="know films by their size, without reading them")
    return parser


def run(args: argparse.Namespace) -> int:
    """Check and tell.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.health import examine
    from dashboard.progress import ProgressLine

    with opened(args.folder, past_damage=True) as season:
        with ProgressLine("Checking") as progress:
            found = examine(season, read_films=not args.quick, progress=progress)
        for line in found.held:
            print(line)
        for line in found.wrong:
            print(f"wrong: {line}", file=sys.stderr)
    print("nothing wrong" if not found.wrong else f"{len(found.wrong)} wrong", flush=True)
    return 1 if found.wrong else 0
