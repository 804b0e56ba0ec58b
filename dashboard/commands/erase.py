"""`floorbook erase`: take a player or a game out of a season for good."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from dashboard.commands.arguments import Commands, command, folder_argument, opened

if TYPE_CHECKING:
    from dashboard.erasing.note import Begun
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
        "erase",
        "take a player, a game or a game’s film out of a season for good",
        "Says what goes and what stays, and asks for the words to be typed that do it. The season must not be open. At "
        "the end every byte of the folder is searched; exit 1 with a list of where something is still found. With "
        "neither --player nor --game it finishes an erasure that was cut short.",
    )
    folder_argument(parser)
    parser.add_argument("--player", metavar="N", help="his number on the roster")
    parser.add_argument("--name", default="", help="his name, where several players have worn the number")
    parser.add_argument(
        "--also", metavar="NAME", action="append", default=[], help="what else he is called; may be said several times"
    )
    parser.add_argument(
        "--files", action="store_true", help="also files in the folder that name him and are not floorbook’s"
    )
    parser.add_argument("--game", metavar="G", help="a game, by its id")
    parser.add_argument("--film-only", action="store_true", help="only the game’s film; marks and tables stay")
    parser.add_argument("--yes", metavar="WORDS", help="the words that do it, as “erase 14”, instead of typing them")
    return parser


def run(args: argparse.Namespace) -> int:
    """Say what goes, ask, erase, search.

    Parameters
    ----------
    args : Namespace
        The arguments.

    Returns
    -------
    int
        The exit code.
    """
    from dashboard.erasing.database import fold_log
    from dashboard.erasing.doing import alone, carry_out
    from dashboard.erasing.words import beyond
    from tagger.store.before_opening import DATABASE, must_be_season

    _check(args)
    folder: Path = args.folder
    must_be_season(folder)
    with alone(folder):
        if (folder / DATABASE).is_file():
            fold_log(folder / DATABASE)
        with opened(folder) as season:
            begun = _begun(season, args)
            settings = season.texts.settings
        if begun is None:
            print("Nothing was erased.", file=sys.stderr)
            return 1
        left = carry_out(folder, settings, begun, files_too=args.files)
    print("\nErased: every byte of the folder was searched" + ("." if left else ", and nothing of it was found."))
    print("\n".join(["", *beyond(begun.plan)]), flush=True)
    for where in left:
        print(f"still found: {where}", file=sys.stderr)
    if left:
        print("floorbook: look at these, delete or change them, and erase again", file=sys.stderr)
    return 1 if left else 0


def _check(args: argparse.Namespace) -> None:
    if args.player and args.game:
        args.parser.error("a player or a game, not both at once")
    if args.film_only and not args.game:
        args.parser.error("--film-only needs --game")
    if (args.name or args.also or args.files) and not args.player:
        args.parser.error("--name, --also and --files go with --player")


def _begun(season: Season, args: argparse.Namespace) -> Begun | None:
    """What is to be done: confirmed now, or before it was cut short; None when it was not confirmed."""
    from dashboard.erasing.game import GamePlan, plan_game
    from dashboard.erasing.note import Begun, is_begun, read_note
    from dashboard.erasing.player import PlayerPlan, plan_player
    from dashboard.erasing.words import confirmation, logged, what_goes
    from dashboard.errors import NotErased

    if season.store.read_only:
        raise NotErased(f"{season.store.read_only_because}; nothing was erased")
    if is_begun(season.folder):
        if args.player or args.game:
            raise NotErased(f"an erasure was cut short; `floorbook erase {season.folder}` finishes it first")
        print("An erasure was cut short; it is gone on with.", flush=True)
        return read_note(season)
    if not args.player and not args.game:
        args.parser.error("say --player N or --game G; nothing that was cut short is left to finish")
    plan: PlayerPlan | GamePlan
    if args.player:
        plan = plan_player(season, args.player, args.name, args.also)
        if not plan.n_lines and not plan.bodies and not args.also:
            raise NotErased(f"nobody wears {args.player}, on the roster or in a mark; nothing was erased")
    else:
        plan = plan_game(season, args.game, film_only=args.film_only)
    print("\n".join(what_goes(plan, season.folder, files_too=args.files)))
    wanted = confirmation(plan)
    print("\nNothing of this can be taken back.", flush=True)
    said = args.yes if args.yes is not None else _typed(wanted)
    return Begun(logged(plan), plan) if " ".join(said.split()) == wanted else None


def _typed(wanted: str) -> str:
    try:
        return input(f"Type “{wanted}” to do it: ")
    except EOFError:
        return ""
