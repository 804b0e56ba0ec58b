"""The text files of a season without one player; every other byte as it was.

His roster lines go. In lines.toml "somebody" stands in his place, so that what was marked before means what it meant. A
stated question that is about him is withdrawn. Everywhere else, comments too, his name becomes "somebody"; only codes
and ids are left, since they are permanent, and told.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dashboard.erasing.person import Person, folded
from dashboard.errors import NotErased
from tagger.tables import SOMEBODY
from tagger.texts.earlier import EARLIER_FILE, earlier_without
from tagger.texts.folder import TEXTS
from tagger.texts.roster import ROSTER, ROSTER_COLUMNS
from tagger.texts.stated import QUESTION_FILE
from tagger.texts.units import LINES

_PERMANENT = re.compile(r"\s*(?:code|id|set|key|folder|file)\s*=")
_PLAYERS = re.compile(r"(\bplayers\s*=\s*\[)(.*?)(\])", re.DOTALL)
_LEAST_CONTACT = 6


@dataclass(frozen=True)
class RosterLine:
    """One line of the roster as it stands in the file, whether it is sound or not.

    Attributes
    ----------
    cells : mapping of str to str
        Column → cell, both without spaces around.
    first, end : int
        The lines of text it is, from 0, end exclusive.
    """

    cells: Mapping[str, str]
    first: int
    end: int

    @property
    def number(self) -> str:
        """His number."""
        return self.cells.get("number", "")

    @property
    def name(self) -> str:
        """His name."""
        return self.cells.get("name", "")


def roster_lines(text: str) -> list[RosterLine]:
    """The lines of a roster, also those that the season leaves out for a fault.

    Parameters
    ----------
    text : str
        The file's.

    Returns
    -------
    list of RosterLine
        None where it has no header.

    Raises
    ------
    NotErased
        It is no CSV.
    """
    rows = text.split("\n")
    between = ";" if rows[0].count(";") > rows[0].count(",") else ","
    reader = csv.reader((f"{row}\n" for row in rows), delimiter=between)
    found: list[RosterLine] = []
    names: list[str] = []
    before = 0
    try:
        for cells in reader:
            if not names:
                names = [cell.strip("\ufeff \t").lower() for cell in cells]
            elif any(cell.strip() for cell in cells):
                told = dict(zip(names, (cell.strip() for cell in cells), strict=False))
                more = [cell.strip() for cell in cells[len(names) :]]
                found.append(
                    RosterLine({**told, **{f"+{n}": cell for n, cell in enumerate(more)}}, before, reader.line_num)
                )
            before = reader.line_num
    except csv.Error as fault:
        raise NotErased(f"{ROSTER}, line {reader.line_num}: not CSV there ({fault}); nothing was erased") from fault
    return found if {"number", "name"} <= set(names) else []


def of_number(lines: Iterable[RosterLine], number: str, name: str = "") -> list[RosterLine]:
    """The lines of one player.

    Parameters
    ----------
    lines : iterable of RosterLine
        The roster's.
    number : str
        His number.
    name : str
        His name, where several have worn the number.

    Returns
    -------
    list of RosterLine
        Empty when nobody wears it.

    Raises
    ------
    NotErased
        Players of several names wear it, and none was named.
    """
    found = [line for line in lines if line.number == number]
    if name:
        found = [line for line in found if folded(line.name) == folded(name)]
    if len({folded(line.name) for line in found}) > 1:
        names = " and ".join(dict.fromkeys(line.name for line in found))
        raise NotErased(f"{ROSTER}: {names} wear {number}; say which one with --name, nothing was erased")
    return found


def contacts_of(own: Iterable[RosterLine], others: Iterable[RosterLine]) -> tuple[str, ...]:
    """What stands in his lines beside the columns that every roster has: his family's names, addresses, numbers.

    Parameters
    ----------
    own, others : iterable of RosterLine
        His lines, and all others.

    Returns
    -------
    tuple of str
        Cells that tell somebody apart; what stands in another's line too is that one's as well, and stays there.
    """
    shared = {folded(cell) for line in others for cell in line.cells.values()}
    cells = [cell for line in own for name, cell in line.cells.items() if name not in ROSTER_COLUMNS]
    return tuple(dict.fromkeys(cell for cell in cells if folded(cell) not in shared and _tells_apart(cell)))


def _tells_apart(cell: str) -> bool:
    if len(cell) < _LEAST_CONTACT or re.fullmatch(r"\d{4}-\d{2}-\d{2}", cell):
        return False
    return "@" in cell or len(cell.split()) > 1 or sum(letter.isdigit() for letter in cell) >= _LEAST_CONTACT


def text_without(name: str, text: str, person: Person) -> str | None:
    """One of the season's text files without him.

    Parameters
    ----------
    name : str
        The file's name.
    text : str
        As it stands.
    person : Person
        He.

    Returns
    -------
    str or None
        None where the file as a whole goes: a question about him.

    Raises
    ------
    NotErased
        The roster can't be read.
    """
    if name == ROSTER:
        own = of_number(roster_lines(text), person.number, person.names[0] if person.names else "")
        gone = {row for line in own for row in range(line.first, line.end)}
        text = "\n".join(row for place, row in enumerate(text.split("\n")) if place not in gone)
        return person.without_name(text)
    if name == QUESTION_FILE and person.number and _is_about(text, person.number):
        return None
    if name == EARLIER_FILE and person.number:
        number = person.number
        text = earlier_without(text, lambda question: _names(question, number) or _quotes(question, number))
    if name == LINES and person.number:
        token = re.compile(rf"([\"']){person.number}\1")
        text = _PLAYERS.sub(lambda m: m[1] + token.sub(rf"\g<1>{SOMEBODY}\g<1>", m[2]) + m[3], text)
    rows = [row if _PERMANENT.match(row) else person.without_name(row) for row in text.split("\n")]
    made = "\n".join(rows)
    return made if _reads_alike(text, made) else text


def _is_about(text: str, number: str) -> bool:
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return _names(data, number)


def _names(question: Mapping[str, Any], number: str) -> bool:
    """Whether a question is of screens that he set or used."""
    parts = [part for part in (question.get("one"), question.get("other")) if isinstance(part, dict)]
    return any(part.get(role) == number for part in parts for role in ("setter", "user"))


def _quotes(question: Mapping[str, Any], number: str) -> bool:
    """Whether a question that couldn't be asked has his number between quotation marks."""
    return any(f"{mark}{number}{mark}" in str(question.get("as_written", "")) for mark in "\"'")


def _reads_alike(before: str, after: str) -> bool:
    """Whether a text that could be read still can, with everything in its place."""

    def shape(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: shape(each) for name, each in value.items()}
        if isinstance(value, list):
            return [shape(each) for each in value]
        return type(value) if isinstance(value, str) else value

    try:
        told = tomllib.loads(before)
    except tomllib.TOMLDecodeError:
        return True
    try:
        return bool(shape(told) == shape(tomllib.loads(after)))
    except tomllib.TOMLDecodeError:
        return False


def texts_of(folder: Path) -> dict[str, str]:
    """The season's text files that are there.

    Parameters
    ----------
    folder : Path
        The season's folder.

    Returns
    -------
    dict of str to str
        Name → text, line ends as they stand.

    Raises
    ------
    NotErased
        One of them is no text.
    """
    found: dict[str, str] = {}
    for name in TEXTS:
        try:
            found[name] = (folder / name).read_bytes().decode("utf-8")
        except FileNotFoundError:
            continue
        except UnicodeDecodeError as fault:
            raise NotErased(f"{name}: not UTF-8 text; save the file as UTF-8 first, nothing was erased") from fault
    return found
