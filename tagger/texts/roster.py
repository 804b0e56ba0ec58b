"""The roster: who plays, by number, and since and until when he or his parents said yes to film that goes out."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tagger.dates import day
from tagger.texts.problem import TextProblem
from tagger.texts.toml_file import read_text

ROSTER = "roster.csv"
ROSTER_COLUMNS = ("number", "name", "shoots", "position", "consent", "from", "to")
_NUMBER = re.compile(r"\d{1,2}\Z")


@dataclass(frozen=True)
class Player:
    """One line of the roster; number is text."""

    number: str
    name: str
    shoots: str = ""
    position: str = ""
    consent: bool = False
    since: str = ""
    until: str = ""


def read_roster(path: Path, problems: list[TextProblem]) -> tuple[Player, ...]:
    """Read a roster, keeping every line that is sound.

    Parameters
    ----------
    path : Path
        The file.
    problems : list of TextProblem
        Each bad line is added.

    Returns
    -------
    tuple of Player
        In the order of the file.
    """
    text = read_text(path, problems)
    if text is None or not text.strip():
        return ()
    first = text.splitlines()[0]
    between = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=between)
    names = [cell.strip().lower() for cell in next(reader)]
    if "number" not in names or "name" not in names:
        right = ",".join(ROSTER_COLUMNS)
        problems.append(TextProblem(path.name, 1, f"no roster header; the first line is {right}"))
        return ()
    found: dict[str, Player] = {}
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            row = dict(zip(names, (cell.strip() for cell in cells), strict=False))
            fault = _player_fault(row, found)
            if fault:
                problems.append(TextProblem(path.name, reader.line_num, fault))
                continue
            number = row["number"]
            found[number] = Player(
                number,
                row.get("name", ""),
                row.get("shoots", "").upper(),
                position=row.get("position", ""),
                consent=row.get("consent", "").lower() in ("yes", "y", "true", "1"),
                since=row.get("from", ""),
                until=row.get("to", ""),
            )
    except csv.Error as fault:
        problems.append(TextProblem(path.name, reader.line_num, f"not CSV there ({fault}); check the quotes"))
    return tuple(found.values())


def _player_fault(row: Mapping[str, str], found: Mapping[str, Player]) -> str:
    number = row.get("number", "")
    if not _NUMBER.match(number):
        return f"number “{number}” is not one or two digits; this line was left out"
    if number in found:
        return f"number {number} is {found[number].name}’s already; this line was left out"
    if not row.get("name"):
        return f"number {number} has no name; this line was left out"
    if row.get("shoots", "").upper() not in ("", "L", "R"):
        return f"shoots “{row['shoots']}” is neither L nor R; this line was left out"
    for name in ("from", "to"):
        if row.get(name) and day(row[name]) is None:
            return f"{name} “{row[name]}” is not a date like 2026-03-14; this line was left out"
    return ""
