"""`floorbook journal`: a book of marks as a JSON Lines file, out or in; or put back to an earlier moment."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.commands.arguments import Commands, command, folder_argument, opened, replace_argument

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
        "journal",
        "write a game’s book of marks to a JSON Lines file, take one in, or put it back as of a moment",
        "A file is taken in as a whole or not at all. Taking the same file in twice changes nothing. Putting a book "
        "back deletes nothing: what came later is taken back by new entries, and can be brought back just so.",
    )
    folder_argument(parser)
    parser.add_argument("game", metavar="GAME", help="the game: its id, its date or its opponent")
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--to", metavar="FILE", type=Path, help="write the book to this file")
    way.add_argument("--from", dest="source", metavar="FILE", type=Path, help="take this file in")
    way.add_argument("--moments", action="store_true", help="list the moments that the book may be put back to")
    way.add_argument(
        "--as-of", metavar="WHEN", help="put the book back as of a time (“2026-11-27 21:40”) or a place (“#412”)"
    )
    replace_argument(parser)
    parser.add_argument("--book", help="the book (the game’s chosen one; in: the one the file names)")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write or take in.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.bookfile import take_in, write_out
    from dashboard.outputs import JOURNAL, output_file

    with opened(args.folder, past_damage=args.to is not None) as season:
        game = season.games.find(args.game)
        if args.to is not None:
            output_file(args.to, JOURNAL, season=season, replace=args.replace)
            book, n_entries = write_out(season, game.id, args.book, args.to)
            print(f"{args.to}: {n_entries} entries of {book}’s book of game {game.id}")
        elif args.source is None:
            _earlier(season, game.id, args.book or season.tagged.chosen_book(game.id), args.as_of)
        else:
            taken = take_in(season, game.id, args.book, args.source)
            known = f", {taken.n_known} were there already" if taken.n_known else ""
            print(f"game {game.id}, {taken.book}’s book: {taken.n_new} new entries{known}")
    return 0


def _earlier(season: Season, game: str, book: str, when: str | None) -> None:
    """List a book's moments, or put it back to one."""
    import datetime

    from dashboard.putting_back import arrived, earlier, place_said, put_back, said_of

    entries = arrived(season, game, book)
    told = f"game {game}, {book}’s book"
    if when is None:
        print(f"{told}: {len(entries)} entries. After every pause of ten minutes, and before it was put back:")
        for moment in earlier(season, game, book):
            print(f"  {said_of(moment)}")
        return
    done = put_back(season, game, book, place_said(when, entries), datetime.datetime.now(datetime.UTC))
    if not done.n_taken_back:
        print(f"{told}: it is as of {said_of(done.moment)} stood already; nothing was changed")
        return
    print(
        f"{told}: as of {said_of(done.moment)}. {done.n_taken_back} later entries taken back, none deleted; "
        f"--as-of “#{done.n_before}” brings them back"
    )
