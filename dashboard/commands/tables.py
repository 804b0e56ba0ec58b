"""`floorbook tables`: write the event tables."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from dashboard.commands.arguments import Commands, command, folder_argument, opened, output_arguments

if TYPE_CHECKING:
    from tagger.season import Season


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
        "tables",
        "write the event tables as CSV, one file a kind, and tables.json beside them",
        "Player numbers are text (“00” is not “0”); times are milliseconds from the beginning of the game’s film. "
        "Names stand nowhere in them: a note that names a player has his number instead, unless season.toml lets "
        "names out.",
    )
    folder_argument(parser)
    output_arguments(parser, "OUT", "folder to write to")
    parser.add_argument("--parquet", action="store_true", help="write each table as Parquet too, with true types")
    parser.add_argument("--book", help="this book of every game that has it, instead of each game’s chosen one")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write the tables.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    with opened(args.folder, past_damage=True) as season:
        return write_out(season, args)


def write_out(season: Season, args: argparse.Namespace) -> int:
    """Write an open season's tables.

    Parameters
    ----------
    season : Season
        The season.
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.errors import WrongBook
    from dashboard.health import told_damage
    from dashboard.outputs import TABLE, output_folder
    from dashboard.outside import notes_named, tables_outside
    from dashboard.table_files import names_of, write_tables
    from tagger.care import FILE
    from tagger.marks.vocabulary import VERSION
    from tagger.naming import hidden_from

    games = season.games.all()
    if args.book is not None:
        games = [game for game in games if any(book.name == args.book for book in season.journal.books(game.id))]
        if not games:
            raise WrongBook(f"no game of this season has a book “{args.book}”; leave out --book for the chosen ones")
    books = {game.id: args.book or season.tagged.chosen_book(game.id) for game in games}
    shapes = season.texts.language().tables
    names = hidden_from(season.texts.roster, season.texts.settings.care, FILE)
    tables = tables_outside(season.tagged.tables([game.id for game in games], args.book), names, shapes)
    damage = list(season.damage)
    about = {
        "vocabulary": VERSION,
        "season": season.texts.settings.id,
        "games": [
            {"game": game, "book": book, "journal": season.journal.head(game, book)} for game, book in books.items()
        ],
        "damage": damage,
    }
    output_folder(args.to, names_of(parquet=args.parquet, shapes=shapes), TABLE, season=season, replace=args.replace)
    written = write_tables(tables, args.to, about, parquet=args.parquet, shapes=shapes)
    rows = sum(len(table) for table in tables.values())
    named = notes_named((season.tagged.folded(game, book) for game, book in books.items()), names)
    print(f"{args.to}: {len(written)} files, {rows} rows of {len(games)} {'game' if len(games) == 1 else 'games'}")
    for line in named:
        print(line)
    return 1 if told_damage(damage) else 0
