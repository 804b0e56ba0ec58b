"""`floorbook demo`: the sample season, made once, and opened."""

from __future__ import annotations

import argparse
from pathlib import Path

from dashboard.commands.arguments import Commands, command, serving_arguments

FOLDER_NAME = "floorbook demo"


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
        "demo",
        "make the sample season, once, and open it",
        "What is in the folder already is kept as you changed it. Delete the folder to begin afresh.",
    )
    parser.add_argument(
        "folder",
        metavar="FOLDER",
        nargs="?",
        type=Path,
        help=f"where to make it (“{FOLDER_NAME}” in your home folder)",
    )
    serving_arguments(parser)
    return parser


def run(args: argparse.Namespace) -> int:
    """Make the season if it is not there, and serve it until interrupted.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.demo import make_demo
    from dashboard.progress import ProgressLine
    from dashboard.server import open_and_serve

    folder = args.folder if args.folder is not None else Path.home() / FOLDER_NAME
    with ProgressLine("Making the sample season") as progress:
        made = make_demo(folder, progress=progress)
    print(f"The sample season is in {folder}" + ("" if made else ", as you left it"), flush=True)
    browser = not args.no_browser
    return open_and_serve(folder, host=args.host, port=args.port, browser=browser, https=args.https)
