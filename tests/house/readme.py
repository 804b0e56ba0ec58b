"""The command line's help, as README.md shows it: made from the parser, so that it can't drift.

    python -m tests.house.readme            write it into README.md, between its two marker lines
    python -m tests.house.readme --check    exit 1 when README.md does not say what the parser says

argparse's own layout differs between versions of Python; this one is laid out here.
"""

import argparse
import sys
import textwrap
from collections.abc import Iterator

from tests.house.tree import CLONE

BEGIN = "<!-- command line: made by `python -m tests.house.readme` -->"
END = "<!-- end of the command line -->"
WIDTH = 110
COLUMN = 34  # at the latest, where the words about an argument begin


def commands(parser: argparse.ArgumentParser) -> Iterator[tuple[str, str, argparse.ArgumentParser]]:
    """Each command of a parser: its name, its one-line help ("" when it has none), its own parser."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            told = {choice.dest: choice.help or "" for choice in action._choices_actions}
            for name, its_parser in action.choices.items():
                yield name, told.get(name, ""), its_parser


def arguments(parser: argparse.ArgumentParser) -> list[argparse.Action]:
    """The arguments that a command takes, in order, without ``--help`` and without what is hidden."""
    left_out = (argparse._HelpAction, argparse._SubParsersAction)
    return [each for each in parser._actions if not isinstance(each, left_out) and each.help != argparse.SUPPRESS]


def spelling(action: argparse.Action) -> str:
    """How an argument is written on the command line."""
    word = action.metavar or (action.dest if action.option_strings else action.dest.upper())
    if action.choices and not action.metavar:
        word = "|".join(str(choice) for choice in action.choices)
    elif action.option_strings and not action.metavar:
        word = action.dest.upper()
    word = " ".join(word) if isinstance(word, tuple) else word
    if action.nargs in ("+", "*"):
        word += "..."
    if not action.option_strings:
        return f"[{word}]" if action.nargs in ("?", "*") else word
    longest = max(action.option_strings, key=len)
    return longest if action.nargs == 0 else f"{longest} {word}"


def help_text(parser: argparse.ArgumentParser) -> str:
    """The help of all commands, as one Markdown section between the marker lines."""
    lines = [BEGIN, "```text"]
    for name, told, its_parser in commands(parser):
        taken = arguments(its_parser)
        words = [
            f"[{spelling(each)}]" if each.option_strings and not each.required else spelling(each) for each in taken
        ]
        call = " ".join([f"{parser.prog} {name}", *(word.replace(" ", "\0") for word in words)])
        wrapped = textwrap.wrap(call, WIDTH, subsequent_indent=" " * 8, break_long_words=False, break_on_hyphens=False)
        lines += [line.replace("\0", " ") for line in wrapped]
        lines += textwrap.wrap(told, WIDTH, initial_indent="    ", subsequent_indent="    ")
        column = min(COLUMN, 8 + max((len(spelling(each)) for each in taken), default=0))
        for each in taken:
            said = (each.help or "") % {**vars(each), "prog": its_parser.prog}
            head = f"      {spelling(each)}  ".ljust(column)
            lines += textwrap.wrap(head + said, WIDTH, subsequent_indent=" " * column)
        lines.append("")
    return "\n".join([*lines[:-1], "```", END])


def rewritten(page: str, section: str) -> str:
    """A page with the part between the marker lines replaced.

    Parameters
    ----------
    page : str
        The text of README.md.
    section : str
        What `help_text` gave.

    Returns
    -------
    str
        The new text.

    Raises
    ------
    ValueError
        When the page lacks the marker lines.
    """
    before, begin, rest = page.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"README.md lacks its marker lines: {BEGIN} and {END}")
    return before + section + after


def main(given: list[str]) -> int:
    """Write README.md, or only check it; gives the exit code."""
    from dashboard.cli import build_parser

    path = CLONE / "README.md"
    page = path.read_text(encoding="utf-8")
    new = rewritten(page, help_text(build_parser()))
    if given == ["--check"]:
        return int(new != page)
    path.write_text(new, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
