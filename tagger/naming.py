"""Players' names in what is written: found in free text, and numbers put in their place where names may not go.

Notes and problems are free text, and whoever types fast writes "zoe" for Zoë. So letters are compared without case and
accents, and a name is found by the whole of it or by one of its words of three letters and more; a word of two counts
only where it is written with the roster's capital, since most such words are English. Nicknames and opponents' names
are on no roster and can't be known.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tagger.care import Care, may_be_named
from tagger.texts.roster import Player

_PLAIN = str.maketrans(
    {"đ": "d", "ð": "d", "ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "þ": "th", "ı": "i", "ħ": "h", "’": "'", "ʼ": "'"}
)
_WORD = re.compile(r"[^\s\-–]+")
_LEAST = 3
_BETWEEN = re.compile(r"[\s,\-–]*\Z")


@dataclass(frozen=True)
class Found:
    """A name in a text: from which letter to which (exclusive), and whose numbers it may mean."""

    start: int
    end: int
    numbers: tuple[str, ...]


class Names:
    """The names of a roster in texts.

    Parameters
    ----------
    roster : iterable of Player
        Whose names are looked for.
    """

    def __init__(self, roster: Iterable[Player]) -> None:
        self._numbers: dict[str, list[str]] = {}
        self._short: set[str] = set()
        for player in roster:
            for name, short in _parts(player.name):
                held = self._numbers.setdefault(_key(name), [])
                if player.number not in held:
                    held.append(player.number)
                if short:
                    self._short.add(name)
        ordered = sorted(self._numbers, key=lambda name: (-len(name), name))
        any_of = "|".join(re.escape(name).replace(r"\ ", r"[\s\-–]+") for name in ordered)
        self._pattern = re.compile(rf"(?<!\w)(?:{any_of})(?!\w)") if ordered else None

    @property
    def empty(self) -> bool:
        """Whether there is no name to look for."""
        return self._pattern is None

    def find(self, text: str) -> list[Found]:
        """The names in a text.

        Parameters
        ----------
        text : str
            Free text.

        Returns
        -------
        list of Found
            In order, none over another; first name and last name of one player together.
        """
        if self._pattern is None:
            return []
        plain, places = _folded(text)
        made: list[Found] = []
        for hit in self._pattern.finditer(plain):
            start, end = places[hit.start()], places[hit.end() - 1] + 1
            while end < len(text) and unicodedata.combining(text[end]):
                end += 1
            key = _key(hit[0])
            if len(key) < _LEAST and text[start:end] not in self._short:
                continue
            found = Found(start, end, tuple(self._numbers[key]))
            last = made[-1] if made else None
            both = tuple(each for each in last.numbers if each in found.numbers) if last else ()
            if last is not None and both and _BETWEEN.match(text[last.end : start]):
                made[-1] = Found(last.start, end, both)
            else:
                made.append(found)
        return made

    def without(self, text: str) -> str:
        """A text with numbers in place of names.

        Parameters
        ----------
        text : str
            Free text.

        Returns
        -------
        str
            The same object where it names nobody. A name that two players have becomes "5 or 14".
        """
        found = self.find(text)
        if not found:
            return text
        made, at = [], 0
        for each in found:
            made += [text[at : each.start], " or ".join(each.numbers)]
            at = each.end
        return "".join([*made, text[at:]])

    def out_of(self, held: Any) -> Any:
        """Anything of JSON with numbers in place of names in all its texts.

        Parameters
        ----------
        held : any
            Texts, lists, mappings and what else JSON has; the keys of mappings stay.

        Returns
        -------
        any
            A copy.
        """
        if isinstance(held, str):
            return self.without(held)
        if isinstance(held, list):
            return [self.out_of(each) for each in held]
        if isinstance(held, dict):
            return {key: self.out_of(value) for key, value in held.items()}
        return held


def hidden_from(roster: Iterable[Player], care: Care, to: str) -> Names:
    """The names that may not be said where something goes.

    Parameters
    ----------
    roster : iterable of Player
        The season's.
    care : Care
        What the season says of names.
    to : str
        SCREEN, FILE or DEVICE.

    Returns
    -------
    Names
        Of nobody on the laptop's own screen.
    """
    return Names(player for player in roster if not may_be_named(player, care, to))


def shown_roster(roster: Iterable[Player], care: Care, to: str) -> tuple[Player, ...]:
    """The roster as it may be shown where something goes.

    Parameters
    ----------
    roster : iterable of Player
        The season's.
    care : Care
        What the season says of names.
    to : str
        SCREEN, FILE or DEVICE.

    Returns
    -------
    tuple of Player
        The same players; who stands by number has no name.
    """
    return tuple(player if may_be_named(player, care, to) else replace(player, name="") for player in roster)


def called(player: Player) -> str:
    """What to call a player of a shown roster.

    Parameters
    ----------
    player : Player
        As `shown_roster` gives him.

    Returns
    -------
    str
        "14 Elias Brandvold", or "14".
    """
    return f"{player.number} {player.name}".strip()


def _parts(name: str) -> list[tuple[str, bool]]:
    """The ways in which a name is written: whole, word by word, half of a double name; whether it is a short one."""
    whole = unicodedata.normalize("NFC", name)
    ways = {whole, *whole.split(), *_WORD.findall(whole)}
    return [(way, short) for way in ways if not (short := len(_key(way)) < _LEAST) or (len(way) == 2 and way.istitle())]


def _key(name: str) -> str:
    return re.sub(r"[\s\-–]+", " ", _folded(name)[0]).strip()


def _folded(text: str) -> tuple[str, Sequence[int]]:
    """A text without case and accents, and for each of its letters where that stood."""
    if text.isascii():
        return text.casefold(), range(len(text))
    letters: list[str] = []
    places: list[int] = []
    for place, letter in enumerate(text):
        for plain in unicodedata.normalize("NFKD", letter).casefold().translate(_PLAIN):
            if not unicodedata.combining(plain):
                letters.append(plain)
                places.append(place)
    return "".join(letters), places
