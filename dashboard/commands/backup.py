"""`floorbook backup`: a season as one consistent file."""

from __future__ import annotations

import argparse

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
        "backup",
        "write the season as one consistent file, even while it is open elsewhere",
        "The file is a ZIP archive: unpacked into an empty folder it is the season again. Film that is played where "
        "it lies, outside the folder, is not in it.",
    )
    folder_argument(parser)
    output_arguments(parser, "FILE", "the file to write, as season.zip")
    parser.add_argument("--without-film", action="store_true", help="leave out film and reels: a small file")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write the copy.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.archive import write_backup
    from dashboard.outputs import BACKUP, output_file
    from dashboard.progress import Progress

    with opened(args.folder) as season, Progress("Backing up") as progress:
        output_file(args.to, BACKUP, season=season, replace=args.replace)
        n_files, size_bytes = write_backup(season, args.to, film=not args.without_film, progress=progress)
    print(f"{args.to}: {n_files} files, {size_bytes / 1e6:.1f} MB")
    return 0
