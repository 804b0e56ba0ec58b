"""The playbook: the sets a team runs, with their roles, looks in order and checkpoints.

Codes are permanent: marks keep them. Names, order and keys may change at will; a set that is no longer run is retired
(`retired = true`), so that old games keep their meaning.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tagger.texts.toml_file import line_of

PLAYBOOK = "playbook.toml"
MOST_IN_LIST = 5
_CODE = re.compile(r"[a-z][a-z0-9_]*\Z")
_STRENGTH = re.compile(r"[3-6]e?v[3-6]e?\Z")
RESERVED = frozenset({"freelance", "none", "unseen", "two_man", "cut", "off_ball", "isolation", "transition"})


@dataclass(frozen=True)
class Named:
    """A role, a look or a checkpoint of a set: its permanent code and today's name."""

    code: str
    name: str


@dataclass(frozen=True)
class SetPlay:
    """One set of the playbook.

    Attributes
    ----------
    code, name, key : str
        Permanent code, today's name, and the digit that marks it ("" when retired).
    formation, about : str
        For people.
    strength : str
        Runners, ours v theirs, that it is meant for: "5v5", "5v4".
    sides : tuple of str
        "left", "right" or both.
    roles, looks, checkpoints : tuple of Named
        Looks in the order in which the ball carrier should read them.
    retired : bool
        No longer run, kept for old games.
    """

    code: str
    name: str
    key: str
    formation: str = ""
    about: str = ""
    strength: str = "5v5"
    sides: tuple[str, ...] = ("left", "right")
    roles: tuple[Named, ...] = ()
    looks: tuple[Named, ...] = ()
    checkpoints: tuple[Named, ...] = ()
    retired: bool = False


@dataclass(frozen=True)
class Playbook:
    """The sets in their order."""

    sets: tuple[SetPlay, ...] = ()
    by_code: Mapping[str, SetPlay] = field(default_factory=dict, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_code", {play.code: play for play in self.sets})

    def name_of(self, code: str | None) -> str:
        """Today's name of a set, or its code when the playbook does not hold it.

        Parameters
        ----------
        code : str or None
            A set's code.

        Returns
        -------
        str
            Empty for None.
        """
        if code is None:
            return ""
        play = self.by_code.get(code)
        return play.name if play else code


def read_playbook(data: Mapping[str, Any], text: str = "") -> tuple[Playbook, list[tuple[int, str]]]:
    """Read a playbook from parsed TOML, keeping every set that is sound.

    Parameters
    ----------
    data : mapping
        With a list `set`.
    text : str
        The file's text, for line numbers.

    Returns
    -------
    tuple of Playbook and list of (int, str)
        The sound sets, and for each fault its line and what is wrong with what would be right.
    """
    sets: list[SetPlay] = []
    faults: list[tuple[int, str]] = []
    codes: set[str] = set()
    keys: dict[str, str] = {}
    given = data.get("set", [])
    if not isinstance(given, list):
        return Playbook(), [(line_of(text, ("set",)), "sets are written as [[set]] sections; this is something else")]
    for place, raw in enumerate(given, 1):
        try:
            play = _read_set(raw, place)
            if play.code in codes:
                raise ValueError(f"the code “{play.code}” stands twice; codes are permanent and each is one set's own")
            if play.key and play.key in keys:
                raise ValueError(
                    f"“{play.name}” and “{keys[play.key]}” both have the key {play.key}; give one of them another digit"
                )
        except ValueError as fault:
            faults.append((line_of(text, ("set", place - 1, "code")), str(fault)))
            continue
        codes.add(play.code)
        if play.key:
            keys[play.key] = play.name
        sets.append(play)
    return Playbook(tuple(sets)), faults


def _read_set(raw: Any, place: int) -> SetPlay:
    if not isinstance(raw, dict):
        raise ValueError(f"set {place} is not a [[set]] section")
    code = _code(raw.get("code"), f"set {place}")
    if code in RESERVED:
        raise ValueError(f"“{code}” is a word of floorbook's own; choose another code for the set")
    name = raw.get("name")
    if not isinstance(name, str) or not name.strip():
        raise ValueError(f'set “{code}” has no name; write name = "…"')
    retired = raw.get("retired", False) is True
    key = "" if retired else str(raw.get("key", ""))
    if not retired and not (len(key) == 1 and key in "123456789"):
        raise ValueError(f"set “{code}” needs a key from 1 to 9 (0 is freelance); it says “{key}”")
    strength = str(raw.get("strength", "5v5"))
    if not _STRENGTH.match(strength):
        raise ValueError(f"set “{code}”: strength “{strength}” is not like 5v5 or 5v4")
    sides = raw.get("sides", ["left", "right"])
    if not isinstance(sides, list) or not sides or any(side not in ("left", "right") for side in sides):
        raise ValueError(f'set “{code}”: sides are "left", "right" or both')
    looks = _named(raw.get("look", []), code, "look", MOST_IN_LIST)
    if not looks:
        raise ValueError(f"set “{code}” has no look; write at least one [[set.look]]")
    return SetPlay(
        code=code,
        name=name.strip(),
        key=key,
        formation=str(raw.get("formation", "")),
        about=str(raw.get("about", "")),
        strength=strength,
        sides=tuple(dict.fromkeys(sides)),
        roles=_named(raw.get("role", []), code, "role", 6),
        looks=looks,
        checkpoints=_named(raw.get("checkpoint", []), code, "checkpoint", MOST_IN_LIST),
        retired=retired,
    )


def _code(value: Any, what: str) -> str:
    if not isinstance(value, str) or not _CODE.match(value):
        raise ValueError(f"{what} needs a code of small letters, digits and _; it says “{value}”")
    return value


def _named(raw: Any, code: str, what: str, most: int) -> tuple[Named, ...]:
    if not isinstance(raw, list):
        raise ValueError(f"set “{code}”: {what}s are written as [[set.{what}]] sections")
    if len(raw) > most:
        raise ValueError(f"set “{code}” has {len(raw)} {what}s; the keyboard holds {most}")
    found: list[Named] = []
    for item in raw:
        if not isinstance(item, dict):
            raise ValueError(f"set “{code}”: a {what} is a [[set.{what}]] section with code and name")
        own = _code(item.get("code"), f"a {what} of set “{code}”")
        if own in ("none", "unseen") or any(own == one.code for one in found):
            raise ValueError(f"set “{code}”: the {what} code “{own}” is taken; choose another")
        found.append(Named(own, str(item.get("name") or own)))
    return tuple(found)
