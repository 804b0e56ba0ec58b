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
        "The file is a ZIP archive: `floorbook restore` makes the season of it again. It is proven before it takes an "
        "older one’s place; a season that is damaged makes none. Film that is played where it lies, outside the "
        "folder, is not in it, nor is what links lead to.",
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
    from dashboard.copies.archive import not_written, write_backup
    from dashboard.outputs import BACKUP, output_file
    from dashboard.progress import ProgressLine
    from tagger.store.faults import StoreError

    with opened(args.folder, read_only=True) as season, ProgressLine("Backing up") as progress:
        try:
            output_file(args.to, BACKUP, season=season, replace=args.replace)
        except StoreError as fault:
            raise not_written(args.to, args.folder, str(fault)) from fault
        made = write_backup(season, args.to, film=not args.without_film, replace=args.replace, progress=progress)
    for line in made.left_out:
        print(f"left out: {line}")
    size = f"{made.size_bytes / 1e6:.1f} MB"
    print(f"{args.to}: {made.n_files} files, {made.n_entries} entries, {size}; read back and sound")
    return 0
