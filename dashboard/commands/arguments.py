"""Arguments that several commands take, and the season that they open."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from tagger.season import Season

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def command(commands: Commands, name: str, about: str, more: str = "") -> argparse.ArgumentParser:
    """Make a command's parser.

    Parameters
    ----------
    commands : subparsers action
        Where it is entered.
    name : str
        The command.
    about : str
        What it does, one line.
    more : str
        What its own help says besides.

    Returns
    -------
    ArgumentParser
        Without arguments yet.
    """
    told = f"{about[:1].upper()}{about[1:]}."
    return commands.add_parser(name, help=about, description=told, epilog=more or None)


def folder_argument(parser: argparse.ArgumentParser) -> None:
    """Let a command take a season folder.

    Parameters
    ----------
    parser : ArgumentParser
        The command's.
    """
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the season's folder")


def output_arguments(parser: argparse.ArgumentParser, metavar: str, about: str) -> None:
    """Let a command take where its output goes; `dashboard.outputs` decides whether it may.

    Parameters
    ----------
    parser : ArgumentParser
        The command's.
    metavar : str
        What stands for the place.
    about : str
        What is said of it.
    """
    parser.add_argument("--to", metavar=metavar, type=Path, required=True, help=about)
    replace_argument(parser)


def replace_argument(parser: argparse.ArgumentParser) -> None:
    """Let a command be told to write over a file of another kind.

    Parameters
    ----------
    parser : ArgumentParser
        The command's.
    """
    parser.add_argument(
        "--replace",
        action="store_true",
        help="write over whatever lies at the place; what belongs to a season is refused all the same",
    )


def serving_arguments(parser: argparse.ArgumentParser) -> None:
    """Let a command take where to serve from.

    Parameters
    ----------
    parser : ArgumentParser
        The command's.
    """
    parser.add_argument(
        "--host",
        default="127.0.0.1",
        help="address to serve from (%(default)s: this machine only; 0.0.0.0: other devices too, each by one of three "
        "pass-phrases)",
    )
    parser.add_argument("--port", type=_port, help="port to serve from (the season's own, from season.toml)")
    parser.add_argument(
        "--https",
        action="store_true",
        help="encrypt what goes over the network, with a certificate made at first use (browsers warn of it once)",
    )
    parser.add_argument("--no-browser", action="store_true", help="only print the address")


def _port(text: str) -> int:
    port = int(text)
    if not 0 <= port <= 65535:
        raise ValueError
    return port


_port.__name__ = "port"


@contextmanager
def opened(folder: Path, *, read_only: bool = False, past_damage: bool = False) -> Iterator[Season]:
    """Open a season for the length of one command.

    Parameters
    ----------
    folder : Path
        Its folder.
    read_only : bool
        Only to look: nothing in the folder is written, made or changed.
    past_damage : bool
        To look at all that can be read of a damaged one.

    Yields
    ------
    Season
        Closed afterwards, whatever happens.
    """
    from tagger.season import Season

    season = Season.open(folder, read_only=read_only, past_damage=past_damage)
    try:
        yield season
    finally:
        season.close()
