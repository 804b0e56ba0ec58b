"""A text file that people write: its text, the TOML in it, and on which line of it a value stands."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tagger.texts.problem import TextProblem

_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|' r"'''(?:.|\n)*?'{3,5}|" r'"(?:\\.|[^"\\\n])*"|' r"'[^'\n]*'", re.DOTALL
)
_BARE = re.compile(r"[^\s.=\[\]\"'#]+")


def read_text(path: Path, problems: list[TextProblem]) -> str | None:
    """Read a text file.

    Parameters
    ----------
    path : Path
        The file.
    problems : list of TextProblem
        Why it can't be read is added.

    Returns
    -------
    str or None
        None when it can't be read.
    """
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        problems.append(TextProblem(path.name, 0, "missing; `floorbook new` writes one to start from"))
    except UnicodeDecodeError as fault:
        line = fault.object[: fault.start].count(b"\n") + 1
        problems.append(TextProblem(path.name, line, "not UTF-8 text; save the file as UTF-8"))
    except OSError as fault:
        problems.append(TextProblem(path.name, 0, f"cannot be read ({fault.strerror}); check its rights"))
    return None


def read_toml(path: Path, problems: list[TextProblem]) -> tuple[str, dict[str, Any] | None]:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file.
    problems : list of TextProblem
        What is wrong with it is added.

    Returns
    -------
    tuple of str and dict or None
        Its text and what it says; None when it is not to be read, or no TOML.
    """
    text = read_text(path, problems)
    if text is None:
        return "", None
    try:
        return text, tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        line, what = told_of(fault, text)
        problems.append(TextProblem(path.name, line, f'{what}; a value looks like name = "text" or n = 3'))
        return text, None


def told_of(fault: tomllib.TOMLDecodeError, text: str) -> tuple[int, str]:
    """The line on which a text stops being TOML, and a word on it."""
    found = re.search(r"\(at line (\d+), column (\d+)\)", str(fault))
    line = int(found.group(1)) if found else len(text.splitlines())
    return line, f"not TOML there: {str(fault).split(' (at ')[0]}"


def line_of(text: str, path: tuple[str | int, ...]) -> int:
    """The line on which a value stands.

    Parameters
    ----------
    text : str
        TOML.
    path : tuple of str or int
        The names of its tables and its own, from the top; a number says which of an array of tables, from 0.

    Returns
    -------
    int
        From 1. Of what has no line of its own (a value within another, a name that is missing) that of the nearest
        table around it; 0 when none of it stands there.
    """
    best, line = 0, 0
    for held, at_line in _places(text):
        n = len(held)
        if n > best and held == path[:n]:
            best, line = n, at_line
    return line


def _places(text: str) -> Iterator[tuple[tuple[str | int, ...], int]]:
    """What stands in a text at the beginning of a line, with its path and line: tables and values, in order."""
    table: tuple[str | int, ...] = ()
    n_of: dict[tuple[str | int, ...], int] = {}
    at = 0
    while at < len(text):
        at = _past_blank(text, at)
        if at >= len(text):
            return
        line = text.count("\n", 0, at) + 1
        begun = at
        if text[at] == "[":
            many = text.startswith("[[", at)
            names, at = _names(text, at + 1 + many)
            table = _within(names[:-1], n_of)
            if many and names:
                one = (*table, names[-1])
                n_of[one] = n_of.get(one, -1) + 1
                yield one, line
            table = _within(names, n_of)
            yield table, line
        else:
            names, at = _names(text, at)
            for n in range(1, len(names) + 1):
                yield (*table, *names[:n]), line
        at = max(_value_end(text, at), begun + 1)


def _within(names: list[str], n_of: dict[tuple[str | int, ...], int]) -> tuple[str | int, ...]:
    """The path of a table as its header means it: in an array of tables, the last one begun."""
    path: tuple[str | int, ...] = ()
    for name in names:
        path = (*path, name)
        if path in n_of:
            path = (*path, n_of[path])
    return path


def _past_blank(text: str, at: int) -> int:
    found = re.compile(r"(?:\s+|#[^\n]*)*").match(text, at)
    return found.end() if found else at


def _names(text: str, at: int) -> tuple[list[str], int]:
    """The dotted names from here to the end of the header or to the =, and where that is."""
    names: list[str] = []
    while at < len(text) and text[at] not in "=]\n#":
        quoted = _STRING.match(text, at)
        bare = None if quoted else _BARE.match(text, at)
        found = quoted or bare
        if quoted:
            names.append(next(iter(tomllib.loads(f"{quoted.group()} = 1"))))
        elif bare:
            names.append(bare.group())
        at = found.end() if found else at + 1
    return names, at


def _value_end(text: str, at: int) -> int:
    """The end of the line on which a value ends that may go over several."""
    depth = 0
    while at < len(text):
        quoted = _STRING.match(text, at)
        if quoted:
            at = quoted.end()
            continue
        if text[at] == "#":
            at = text.find("\n", at)
            if at < 0:
                return len(text)
            continue
        if text[at] == "\n" and depth <= 0:
            return at
        depth += (text[at] in "[{") - (text[at] in "]}")
        at += 1
    return at
