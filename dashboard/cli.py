"""The command line. Every command is a module of `dashboard.commands`; nothing heavy is loaded before one runs.

Exit codes: 0 done, 1 a problem in the user's data (one line on stderr), 2 wrong usage, 3 our own fault,
130 interrupted.
"""

from __future__ import annotations

import argparse
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from types import FrameType

from dashboard.commands import (
    backup,
    check,
    demo,
    erase,
    film,
    journal,
    new,
    open_season,
    reels,
    report,
    rescue,
    restore,
    tables,
)
from dashboard.terminal import shown_streams

DONE, USERS_PROBLEM, WRONG_USAGE, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130
COMMANDS = (demo, new, open_season, film, tables, journal, reels, report, check, backup, restore, rescue, erase)


def build_parser() -> argparse.ArgumentParser:
    """The parser of the whole command line.

    Returns
    -------
    ArgumentParser
        Each command's function stands in `run`.
    """
    parser = argparse.ArgumentParser(
        prog="floorbook",
        description="Tag box-lacrosse game film with the keyboard; get event tables, honest numbers, and the clips "
        "behind every number.",
        epilog="`floorbook demo` shows everything on a sample season. `floorbook COMMAND --help` says more of one.",
    )
    parser.add_argument("--debug", action="store_true", help="on a fault of floorbook's own, show where it happened")
    commands = parser.add_subparsers(metavar="COMMAND", required=True, title="commands")
    for command in COMMANDS:
        its = command.add(commands)
        its.set_defaults(run=command.run, parser=its)
        its.add_argument("--debug", action="store_true", default=argparse.SUPPRESS, help=argparse.SUPPRESS)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments; the process's own when left out.

    Returns
    -------
    int
        The exit code.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    with shown_streams():
        return _run(argv)


def _run(argv: Sequence[str] | None) -> int:
    try:
        args = build_parser().parse_args(argv)
    except SystemExit as ended:
        return int(ended.code or 0)
    try:
        with _ended_like_interrupted():
            return args.run(args)
    except KeyboardInterrupt:
        print("\nfloorbook: stopped", file=sys.stderr)
        return INTERRUPTED
    except SystemExit as ended:  # a command that found its arguments at odds with each other
        return int(ended.code or 0)
    except BrokenPipeError:
        sys.stderr.close()
        return DONE
    except Exception as fault:
        return _told(fault, args.debug)


def _told(fault: Exception, debug: bool) -> int:
    from dashboard.errors import is_users, line_of

    if debug:
        import traceback

        traceback.print_exception(fault)
    if is_users(fault):
        print(f"floorbook: {line_of(fault)}", file=sys.stderr)
        return USERS_PROBLEM
    more = "" if debug else "; run it again with --debug and report what it says"
    print(f"floorbook: our own fault ({type(fault).__name__}: {line_of(fault)}){more}", file=sys.stderr)
    return OUR_FAULT


@contextmanager
def _ended_like_interrupted() -> Iterator[None]:
    """A polite end from outside (SIGTERM) cleans up exactly as Ctrl-C does."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


if __name__ == "__main__":
    sys.exit(main())
