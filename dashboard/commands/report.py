"""`floorbook report`: the staff report as one HTML file."""

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
        "report",
        "write the staff report as one HTML file",
        "The pages of numbers, to read or print without the program. It holds players’ names: keep it among the staff.",
    )
    folder_argument(parser)
    parser.add_argument("--to", metavar="FILE", type=Path, required=True, help="the file to write, as report.html")
    parser.add_argument("--game", help="only this game: its id, its date or its opponent")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write the report.

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
    import os

    from dashboard.loading import Desk
    from dashboard.report import report

    with opened(args.folder) as season:
        game = season.find_game(args.game) if args.game else None
        text = report(Desk(season), game, day=datetime.date.today().isoformat())
    target: Path = args.to
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    print(f"{target}: {len(text.encode()) / 1e6:.1f} MB")
    return 0
