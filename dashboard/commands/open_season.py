"""`floorbook open`: serve a season: tagging, dashboard, reels."""

from __future__ import annotations

import argparse

from dashboard.commands.arguments import Commands, command, folder_argument, serving_arguments


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
        "open",
        "serve a season: tagging, dashboard, reels",
        "Ctrl-C closes it. One season is served from one place at a time.",
    )
    folder_argument(parser)
    serving_arguments(parser)
    return parser


def run(args: argparse.Namespace) -> int:
    """Serve until interrupted.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.server import open_and_serve

    browser = not args.no_browser
    return open_and_serve(args.folder, host=args.host, port=args.port, browser=browser, https=args.https)
