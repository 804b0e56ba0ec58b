"""The team's lines: which players go over the boards together.

    [[line]]
    code = "reeds"
    name = "Reeds"
    key = "a"
    players = ["8", "10", "9", "7", "22"]

Codes are permanent, as the playbook's are: marks keep them. Names, keys and players may change; what was marked before
is read with the players of today, so a line whose men change for good is better retired and begun anew.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.tables import SOMEBODY
from tagger.texts.toml_file import line_of

LINES = "lines.toml"
MOST_PLAYERS = 8
_CODE = re.compile(r"[a-z][a-z0-9_]*\Z")
_NUMBER = re.compile(r"\d{1,2}\Z")
RESERVED = frozenset({"none", "unseen", "swap", "theirs"})


@dataclass(frozen=True)
class Unit:
    """One line of the team.

    Attributes
    ----------
    code, name, key : str
        Permanent code, today's name, and the letter that names it in a line change ("" when retired).
    players : tuple of str
        Their numbers, as written; "somebody" for one who was erased.
    retired : bool
        No longer sent out, kept for old games.
    at_line : int
        Where it stands in the file, from 1; 0 when not known.
    """

    code: str
    name: str
    key: str
    players: tuple[str, ...] = ()
    retired: bool = False
    at_line: int = 0


def read_units(
    data: Mapping[str, Any], roster: frozenset[str], text: str = ""
) -> tuple[list[Unit], list[tuple[int, str]]]:
    """Read the lines from parsed TOML, keeping every one that is sound.

    Parameters
    ----------
    data : mapping
        With a list `line`.
    roster : frozenset of str
        The numbers on the roster; empty: not checked.
    text : str
        The file's text, for line numbers.

    Returns
    -------
    tuple of list of Unit and list of (int, str)
        The sound ones, and for each fault its line and what is wrong with what would be right. A player who is not on
        the roster is named and kept.
    """
    units: list[Unit] = []
    faults: list[tuple[int, str]] = []
    given = data.get("line", [])
    if not isinstance(given, list):
        return [], [(line_of(text, ("line",)), "lines are written as [[line]] sections; this is something else")]
    for place, raw in enumerate(given, 1):
        line = line_of(text, ("line", place - 1, "code"))
        try:
            made = replace(_read_unit(raw, place, units), at_line=line)
        except ValueError as fault:
            faults.append((line, f"{fault}; this line was left out"))
            continue
        units.append(made)
        for number in made.players if roster else ():
            if number not in roster and number != SOMEBODY:
                faults.append((line, f"line “{made.name}”: no {number} on the roster; correct it, or add the player"))
    return units, faults


def _read_unit(raw: Any, place: int, before: list[Unit]) -> Unit:
    if not isinstance(raw, dict):
        raise ValueError(f"line {place} is not a [[line]] section")
    code = raw.get("code")
    if not isinstance(code, str) or not _CODE.match(code) or code in RESERVED:
        raise ValueError(f"line {place} needs a code of small letters, digits and _; it says “{code}”")
    name = raw.get("name")
    if not isinstance(name, str) or not name.strip():
        raise ValueError(f'line “{code}” has no name; write name = "…"')
    retired = raw.get("retired", False) is True
    key = "" if retired else str(raw.get("key", ""))
    if not retired and not (len(key) == 1 and key.isascii() and key.isalpha()):
        raise ValueError(f"line “{code}” needs a letter for a key, since digits are players there; it says “{key}”")
    for other in before:
        if other.code == code:
            raise ValueError(f"the code “{code}” stands twice; codes are permanent and each is one line's own")
        if key and other.key == key:
            raise ValueError(f"“{name}” and “{other.name}” both have the key {key}; give one of them another letter")
    players = raw.get("players", [])
    if not isinstance(players, list) or not all(
        isinstance(one, str) and (_NUMBER.match(one) or one == SOMEBODY) for one in players
    ):
        raise ValueError(f'line “{code}”: players are numbers in quotes, players = ["8", "14"]')
    known = [one for one in players if one != SOMEBODY]
    if len(set(known)) != len(known) or len(players) > MOST_PLAYERS:
        raise ValueError(f"line “{code}”: a player stands twice, or there are more than {MOST_PLAYERS}")
    return Unit(code, name.strip(), key, tuple(players), retired)
