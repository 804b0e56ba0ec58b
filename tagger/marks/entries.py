"""One entry of a journal: a fact about a mark, as a person entered it.

An entry is one JSON object. Its version is lifted on reading; what a newer floorbook wrote is refused with a clear
line. JSON Lines files of a book begin with a header line, so that nothing lands in the wrong game.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

VERSION = 1
HEADER = "floorbook journal"
DOES = ("mark", "answer", "retime", "remove", "undo")
MOST_TEXT = 4000
MOST_SPEED = 16
MOST_MS = 48 * 3600 * 1000
PUT_BACK = "put back"
"""Who takes back what others entered, when a book is put back to an earlier moment; nobody tags under this name."""
BOOK_NAME = re.compile(r"[\w.’' -]{1,60}\Z")
BOOK_RULE = "a book’s name is 1 to 60 letters, digits, spaces and . - ’"
_ID = re.compile(r"[A-Za-z0-9._:/-]{1,80}\Z")


class EntryError(ValueError):
    """Something that is no entry: says what is wrong and what would be right."""


@dataclass(frozen=True)
class Entry:
    """One entry.

    Attributes
    ----------
    id : str
        Made by the client.
    n : int
        1 + the highest n its client had seen in this journal.
    by, wall : str
        The tagger, and the wall time as the client's clock had it (for people only).
    does : str
        mark, answer, retime, remove or undo.
    of : str
        Id that it acts on: a mark's, or an entry's for undo; empty for mark.
    kind, film, at_ms : str, str, int
        For mark; film and at_ms also for retime.
    answers : mapping
        For mark and answer: question → value (text, number, list of two numbers), None takes an answer back.
    copied_from : str
        For a mark taken over from another book: that mark's id.
    speed : float
        For a mark: how fast the film ran when its first key went down; 0 held (left out), 1 as it was filmed.
    """

    id: str
    n: int
    by: str
    does: str
    of: str = ""
    kind: str = ""
    film: str = ""
    at_ms: int = 0
    answers: Mapping[str, Any] = field(default_factory=dict)
    wall: str = ""
    copied_from: str = ""
    speed: float = 0.0

    @property
    def place(self) -> tuple[int, str]:
        """Where it stands among the entries of its book."""
        return self.n, self.id

    def as_json(self) -> str:
        """The entry as one line of JSON with keys in a fixed order, so that equal entries have equal text."""
        made: dict[str, Any] = {
            "v": VERSION,
            "id": self.id,
            "n": self.n,
            "by": self.by,
            "wall": self.wall,
            "does": self.does,
        }
        if self.does == "mark":
            made |= {
                "kind": self.kind,
                "film": self.film,
                "at_ms": self.at_ms,
                "answers": dict(sorted(self.answers.items())),
            }
            if self.copied_from:
                made["copied_from"] = self.copied_from
            if self.speed:
                made["speed"] = self.speed
        else:
            made["of"] = self.of
            if self.does == "answer":
                made["answers"] = dict(sorted(self.answers.items()))
            elif self.does == "retime":
                made |= {"film": self.film, "at_ms": self.at_ms}
        return json.dumps(made, ensure_ascii=False, separators=(",", ":"))


def read_entry(raw: Any) -> Entry:
    """Check and lift one entry.

    Parameters
    ----------
    raw : object
        A parsed JSON object.

    Returns
    -------
    Entry
        Of the present version.

    Raises
    ------
    EntryError
        Something is missing or not what it should be.
    """
    if not isinstance(raw, dict):
        raise EntryError("an entry is a JSON object; this is not")
    version = raw.get("v")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise EntryError('the entry has no version; it needs "v": 1')
    if version > VERSION:
        raise EntryError(f"the entry is of version {_short(version)}, this floorbook knows {VERSION}; update floorbook")
    does = raw.get("does")
    if does not in DOES:
        raise EntryError(f'"does" is “{_short(does)}”; it is one of {", ".join(DOES)}')
    n = _whole(raw.get("n"), "n", 1, 2**53 - 1)
    common = {
        "id": _id(raw.get("id"), "id"),
        "n": n,
        "by": _text(raw.get("by", ""), "by", 80),
        "wall": _text(raw.get("wall", ""), "wall", 40),
        "does": does,
    }
    if does == "mark":
        copied = raw.get("copied_from", "")
        return Entry(
            **common,
            kind=_id(raw.get("kind"), "kind"),
            film=_id(raw.get("film"), "film"),
            at_ms=_whole(raw.get("at_ms"), "at_ms", 0, MOST_MS),
            answers=_answers(raw.get("answers", {})),
            copied_from=_id(copied, "copied_from") if copied else "",
            speed=_speed(raw.get("speed", 0)),
        )
    of = _id(raw.get("of"), "of")
    if does == "answer":
        answers = _answers(raw.get("answers"))
        if not answers:
            raise EntryError('an answer answers nothing; "answers" is empty')
        return Entry(**common, of=of, answers=answers)
    if does == "retime":
        film = _id(raw.get("film"), "film")
        return Entry(**common, of=of, film=film, at_ms=_whole(raw.get("at_ms"), "at_ms", 0, MOST_MS))
    return Entry(**common, of=of)


def _id(value: Any, what: str) -> str:
    if not isinstance(value, str) or not _ID.match(value):
        raise EntryError(f'"{what}" is “{_short(value)}”; it is 1 to 80 letters, digits and . _ : / -')
    return value


def _text(value: Any, what: str, most: int) -> str:
    if not isinstance(value, str) or len(value) > most or not _is_whole(value):
        raise EntryError(f'"{what}" is no text of at most {most} characters')
    return value


def _short(value: Any) -> str:
    """A value as a message quotes it."""
    text = str(value)
    return text if len(text) <= 80 else f"{text[:79]}…"


def _is_whole(text: str) -> bool:
    """Whether a text can be written down: half of a character that takes two units (an emoji cut in two) cannot."""
    return not any("\ud800" <= one <= "\udfff" for one in text)


def is_book_name(name: Any) -> bool:
    """Whether a book can be called so: what the page's address takes.

    Parameters
    ----------
    name : object
        As sent or read.

    Returns
    -------
    bool
        By BOOK_RULE.
    """
    return isinstance(name, str) and BOOK_NAME.match(name) is not None and name == name.strip()


def _whole(value: Any, what: str, least: int, most: int) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
        raise EntryError(f'"{what}" is “{_short(value)}”; it is a whole number from {least} to {most}')
    return value


def _speed(value: Any) -> float:
    if not isinstance(value, int | float) or isinstance(value, bool) or not abs(value) <= MOST_SPEED:
        raise EntryError(
            f'"speed" is “{_short(value)}”; it is how fast the film ran, a number from -{MOST_SPEED} to {MOST_SPEED}'
        )
    return value


def _answers(value: Any) -> dict[str, Any]:
    if not isinstance(value, dict) or len(value) > 40:
        raise EntryError('"answers" is an object of question and answer; this is not')
    for name, answer in value.items():
        _id(name, "answers")
        fine = answer is None or (isinstance(answer, str) and 0 < len(answer) <= MOST_TEXT and _is_whole(answer))
        number = isinstance(answer, int | float) and not isinstance(answer, bool) and abs(answer) < 1e9
        place = isinstance(answer, list) and len(answer) == 2 and all(_is_metre(one) for one in answer)
        if not (fine or number or place):
            raise EntryError(f"the answer to “{name}” is neither text, number, a place of two numbers, nor null")
    return value


def _is_metre(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= 200


@dataclass(frozen=True)
class Header:
    """The first line of a journal file: what it belongs to.

    Attributes
    ----------
    season, game, book : str
        Ids.
    films : tuple of str
        Fingerprints of the game's films.
    """

    season: str
    game: str
    book: str
    films: tuple[str, ...] = ()


def write_lines(header: Header, entries: Iterable[Entry]) -> Iterator[str]:
    """A book as JSON Lines.

    Parameters
    ----------
    header : Header
        Goes first.
    entries : iterable of Entry
        In any order.

    Yields
    ------
    str
        One line with its line end.
    """
    first = {
        "file": HEADER,
        "v": VERSION,
        "season": header.season,
        "game": header.game,
        "book": header.book,
        "films": list(header.films),
    }
    yield json.dumps(first, ensure_ascii=False, separators=(",", ":")) + "\n"
    for entry in entries:
        yield entry.as_json() + "\n"


def read_lines(lines: Iterable[str], name: str) -> tuple[Header, list[Entry]]:
    """Read a journal file.

    Parameters
    ----------
    lines : iterable of str
        The file's lines.
    name : str
        The file's name, for messages.

    Returns
    -------
    tuple of Header and list of Entry
        As in the file.

    Raises
    ------
    EntryError
        The first line that is not what it should be, by number.
    """
    header: Header | None = None
    entries: list[Entry] = []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            raw = json.loads(line)
        except (ValueError, RecursionError):
            raise EntryError(
                f"{name}, line {number}: not JSON; the file may be cut off there. Nothing was taken in"
            ) from None
        if header is None:
            header = _header(raw, name, number)
            continue
        try:
            entries.append(read_entry(raw))
        except EntryError as fault:
            raise EntryError(f"{name}, line {number}: {fault}. Nothing was taken in") from None
    if header is None:
        raise EntryError(f"{name}: empty; a journal file begins with a header line")
    return header, entries


def _header(raw: Any, name: str, number: int) -> Header:
    if not isinstance(raw, dict) or raw.get("file") != HEADER:
        raise EntryError(f"{name}, line {number}: no journal header there; is it a file that floorbook wrote?")
    if raw.get("v") != VERSION:
        raise EntryError(f"{name}, line {number}: written as version {raw.get('v')}, this floorbook knows {VERSION}")
    try:
        films = tuple(str(film) for film in raw.get("films", []))
        return Header(str(raw["season"]), str(raw["game"]), str(raw["book"]), films)
    except (KeyError, TypeError):
        raise EntryError(f"{name}, line {number}: the header lacks season, game or book") from None
