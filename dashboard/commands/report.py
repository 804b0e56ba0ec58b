"""`floorbook report`: the staff report as one HTML file."""

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
        "report",
        "write the staff report as one HTML file",
        "The pages of numbers, to read or print without the program. Players stand by number unless season.toml lets "
        "names out, under [care]. It tells of minors’ play: keep it among the staff.",
    )
    folder_argument(parser)
    output_arguments(parser, "FILE", "the file to write, as report.html")
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

    from dashboard.health import told_damage
    from dashboard.outputs import REPORT, output_file
    from dashboard.report import report
    from tagger.written import write_whole

    with opened(args.folder, past_damage=True) as season:
        target = output_file(args.to, REPORT, season=season, replace=args.replace)
        game = season.games.find(args.game) if args.game else None
        written = report(season, game, day=datetime.date.today().isoformat())
        damage = season.damage
    write_whole(target, written.text)
    print(f"{target}: {len(written.text.encode()) / 1e6:.1f} MB")
    if written.unnamed:
        print(written.unnamed)
    return 1 if told_damage(damage) else 0
