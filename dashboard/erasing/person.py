"""Who is erased: what he is called, what stands with his name, and how a text reads without him.

Words that are his alone are *sure*: the whole name, its parts but the first, what stands in his roster line of his
family, and what the command was told besides. They are replaced wherever they stand and must be found nowhere after.
His first name, and any part that another player bears or that the program itself writes, is *vague*: it is replaced in
notes where nobody else on the roster has it, and told elsewhere, since nobody but a person can say whether it is he.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from tagger.tables import SOMEBODY

LEAST = 3
"""Parts of a name of fewer letters are not searched by themselves."""
_OWN = {
    "đ": "d",
    "ø": "o",
    "ł": "l",
    "ß": "ss",
    "æ": "ae",
    "œ": "oe",
    "þ": "th",
    "ð": "d",
    "ı": "i",
    "ħ": "h",
    "ŋ": "n",
}
_PARTS = re.compile(r"[^\W\d_]+(?:[’'][^\W\d_]+)*")
_ONE_NAME = re.compile(r"[\s_.–—-]{0,3}")
_BETWEEN = r"[\W_]{1,3}"


@dataclass(frozen=True)
class Person:
    """A player as he is looked for.

    Attributes
    ----------
    number : str
        His number on the roster.
    names : tuple of str
        What he is called: as on the roster, and what the command was told besides.
    contacts : tuple of str
        What else stands in his roster line: his family's addresses and numbers.
    others : tuple of str
        Names of the other players, whose parts are not his alone.
    own_words : frozenset of str
        Words that the program or this season writes itself, folded: they tell nothing of him.
    since, until : str
        His dates on the roster, where another player wore the number too; empty: no bound.
    not_his : tuple of (str, str)
        From when to when others wore his number.
    """

    number: str
    names: tuple[str, ...] = ()
    contacts: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    own_words: frozenset[str] = field(default=frozenset(), repr=False)
    since: str = ""
    until: str = ""
    not_his: tuple[tuple[str, str], ...] = ()

    def wore_it(self, date: str) -> bool:
        """Whether his number was his on a day.

        Parameters
        ----------
        date : str
            As 2026-03-14.

        Returns
        -------
        bool
            By the dates on the roster.
        """
        own = self.since or self.until
        theirs = any(since <= date <= (until or "9") for since, until in self.not_his)
        return self.since <= date <= (self.until or "9") if own else not theirs

    @cached_property
    def shared(self) -> frozenset[str]:
        """Parts of his name that another player bears too, folded."""
        return frozenset(part for name in self.others for part in parts_of(name))

    @cached_property
    def sure(self) -> tuple[str, ...]:
        """Folded words and phrases that are his alone, the longest first."""
        found = {folded(name).strip() for name in self.names if len(parts_of(name)) > 1}
        found |= {" ".join(reversed(parts_of(name))) for name in self.names if len(parts_of(name)) == 2}
        for name in self.names:
            parts = parts_of(name)
            found |= {part for part in (parts[1:] if len(parts) > 1 else parts) if self._is_his(part)}
        found |= {folded(contact).strip() for contact in self.contacts}
        return tuple(sorted(filter(None, found), key=lambda word: (-len(word), word)))

    @cached_property
    def vague(self) -> tuple[str, ...]:
        """Folded parts of his name that need not mean him, and that nobody else on the roster has."""
        parts = {part for name in self.names for part in parts_of(name)}
        return tuple(sorted(p for p in parts if len(p) >= LEAST and p not in self.sure and p not in self.shared))

    def _is_his(self, part: str) -> bool:
        return len(part) >= LEAST and part not in self.shared and part not in self.own_words

    @cached_property
    def _in_names(self) -> re.Pattern[str] | None:
        return _any_of(self.sure)

    @cached_property
    def _in_notes(self) -> re.Pattern[str] | None:
        return _any_of((*self.sure, *self.vague), [rf"#{self.number}(?!\d)"] if self.number else [])

    @cached_property
    def _in_doubt(self) -> re.Pattern[str] | None:
        words = {part for name in self.names for part in parts_of(name) if part in self.shared and len(part) >= LEAST}
        return _any_of(words, [rf"(?<![\d#:.]){self.number}(?![\d:.]\d|\d)"] if self.number else [])

    def named_in(self, text: str) -> bool:
        """Whether a text surely names him.

        Parameters
        ----------
        text : str
            Any.

        Returns
        -------
        bool
            By his sure words, whatever the case and the accents.
        """
        return self._in_names is not None and self._in_names.search(_mapped(text)[0]) is not None

    def in_doubt(self, text: str) -> bool:
        """Whether a note may mean him: his bare number, or a name that another player bears too.

        Parameters
        ----------
        text : str
            A note.

        Returns
        -------
        bool
            A person has to look at it.
        """
        return self._in_doubt is not None and self._in_doubt.search(_mapped(text)[0]) is not None

    def without_name(self, text: str) -> str:
        """A text of any kind without what is surely he.

        Parameters
        ----------
        text : str
            Any.

        Returns
        -------
        str
            "somebody" in his place.
        """
        return _replaced(text, self._in_names)

    def without_him(self, text: str) -> str:
        """A note without him: also without his first name and without `#number`.

        Parameters
        ----------
        text : str
            What somebody wrote of the game.

        Returns
        -------
        str
            "somebody" in his place.
        """
        return _replaced(text, self._in_notes)


def folded(text: str) -> str:
    """A text without accents and case, as it is compared.

    Parameters
    ----------
    text : str
        Any.

    Returns
    -------
    str
        Spaces of any kind are one space.

    Examples
    --------
    >>> folded("Benedikt  Ørsted-ĐORĐIĆ")
    'benedikt orsted-dordic'
    """
    return re.sub(r"\s+", " ", text.lower() if text.isascii() else _mapped(text)[0])


def parts_of(name: str) -> list[str]:
    """The words of a name, folded.

    Parameters
    ----------
    name : str
        Any.

    Returns
    -------
    list of str
        In their order; what a hyphen joins are several.

    Examples
    --------
    >>> parts_of("Ravi Chandrasekaran-Holloway")
    ['ravi', 'chandrasekaran', 'holloway']
    """
    return _PARTS.findall(folded(name))


def _mapped(text: str) -> tuple[str, list[int]]:
    """A folded text, and for each of its letters the place in the text it comes from."""
    if text.isascii():
        return text.lower(), list(range(len(text)))
    made: list[str] = []
    at: list[int] = []
    for place, letter in enumerate(text):
        for plain in unicodedata.normalize("NFKD", letter).casefold():
            if unicodedata.combining(plain):
                continue
            for each in _OWN.get(plain, plain):
                made.append(each)
                at.append(place)
    return "".join(made), at


def _any_of(words: Iterable[str], more: Iterable[str] = ()) -> re.Pattern[str] | None:
    ordered = sorted(words, key=lambda word: (-len(word), word))
    forms = [rf"(?<![^\W_]){_form(word)}(?![^\W_])" for word in ordered if word]
    forms += more
    return re.compile("|".join(forms)) if forms else None


def _form(word: str) -> str:
    """A phrase whatever stands between its words: a space, a hyphen, a point, a line under it; or nothing."""
    pieces = re.split(r"[^\w@+]+|_", word)
    return rf"(?:{_BETWEEN})?".join(re.escape(piece) for piece in pieces if piece)


def _replaced(text: str, pattern: re.Pattern[str] | None) -> str:
    if pattern is None:
        return text
    plain, at = _mapped(text)
    made: list[str] = []
    before = 0
    for found in pattern.finditer(plain):
        start, end = at[found.start()], at[found.end() - 1] + 1
        while end < len(text) and unicodedata.combining(text[end]):
            end += 1
        between = text[before:start]
        if not made or not _ONE_NAME.fullmatch(between):
            made += [between, SOMEBODY]
        before = end
    return "".join([*made, text[before:]]) if made else text


def search_forms(person: Person) -> tuple[str, ...]:
    """What is looked for in bytes that are no text.

    Parameters
    ----------
    person : Person
        He.

    Returns
    -------
    tuple of str
        His names and contacts as they are written, with what may stand between their words, and his sure words.
    """
    found: set[str] = set()
    for name in (*person.names, *person.contacts):
        pieces = name.split()
        if len(pieces) > 1 or name in person.contacts:
            found |= {between.join(pieces) for between in (" ", "_", "-", ".", "", "+", "%20")}
        if len(pieces) == 2:
            found |= {f"{pieces[1]}, {pieces[0]}", f"{pieces[1]} {pieces[0]}", f"{pieces[1]}_{pieces[0]}"}
        found |= {word for word in _PARTS.findall(name) if folded(word) in person.sure}
    return tuple(sorted(found | set(person.sure)))
