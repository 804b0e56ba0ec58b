"""Which words a vocabulary is made of, and what may stand for each: a misspelt one is refused before it is believed.

What each word means stands at the top of `vocabulary.py`; whether what it names is there is asked by `checking.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.marks.plain import VocabularyError


@dataclass(frozen=True)
class Word:
    """One property: what fits it.

    Attributes
    ----------
    fits : callable
        Whether a value does.
    wanted : str
        What it is, for the message.
    needed : bool
        Whether it may be left out.
    each : mapping of str to Word
        Where it is an object or a list of objects: the words of each.
    called : str
        What such an object is called.
    """

    fits: Callable[[Any], bool]
    wanted: str
    needed: bool = False
    each: Mapping[str, Word] | None = None
    called: str = ""


def _is_text(value: Any) -> bool:
    return isinstance(value, str)


def _is_number(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _list_of(fits: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, list) and all(fits(one) for one in value)


def _map_to(fits: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: isinstance(value, dict) and all(fits(one) for one in value.values())


def _is_object(value: Any) -> bool:
    return isinstance(value, dict)


def _needed(word: Word) -> Word:
    return replace(word, needed=True)


def _objects(called: str, each: Mapping[str, Word]) -> Word:
    return Word(_list_of(_is_object), f"a list of {called}s", each=each, called=called)


TEXT = Word(_is_text, "text")
FLAG = Word(lambda value: isinstance(value, bool), "true or false")
NUMBER = Word(_is_number, "a whole number")
TEXTS = Word(_list_of(_is_text), "a list of texts")
TEXT_OF = Word(_map_to(_is_text), "an object of texts")
WHEN = Word(_map_to(_list_of(lambda one: one is None or _is_text(one))), "an object of lists of texts and null")
NUMBER_OF = Word(_map_to(_is_number), "an object of whole numbers")

_NAMED = {"code": _needed(TEXT), "name": _needed(TEXT)}
_CHOICE = {**_NAMED, "key": _needed(TEXT), "say": TEXT, "about": TEXT, "with": TEXT_OF, "unlikely": WHEN}
_SAY = {"text": _needed(TEXT), "when": WHEN}
_KEY = {"key": _needed(TEXT), "name": _needed(TEXT), "code": TEXT, "about": TEXT, "needs": WHEN, "answers": TEXT_OF}
QUESTION: Mapping[str, Word] = {
    **dict.fromkeys(("code", "ask", "type", "level"), _needed(TEXT)),
    **dict.fromkeys(("about", "say", "together", "whose", "none_with", "second_look"), TEXT),
    **dict.fromkeys(("two", "must"), FLAG),
    **dict.fromkeys(("when", "offer_when"), WHEN),
    **dict.fromkeys(("choices", "retired"), _objects("choice", _CHOICE)),
    "offer": TEXTS,
}
_TABLE = {"name": _needed(TEXT), "columns": TEXTS, "since": NUMBER, "columns_since": NUMBER_OF, "in_run": FLAG}
KIND: Mapping[str, Word] = {
    **_NAMED,
    **dict.fromkeys(("about", "level"), _needed(TEXT)),
    "keys": Word(
        lambda value: value == "playbook" or _list_of(_is_object)(value),
        "a list of keys, or “playbook”",
        needed=True,
        each=_KEY,
        called="key",
    ),
    "needs": _needed(WHEN),
    "effects": _needed(_objects("effect", {"put": _needed(TEXT_OF), "if": WHEN})),
    "questions": _needed(_objects("question", QUESTION)),
    "say": _needed(_objects("part of the sentence", _SAY)),
    "rank": NUMBER,
    "table": Word(_is_object, "an object", each=_TABLE, called="table"),
    "ends_possession": _objects("ending", {"ended": _needed(TEXT), "when": WHEN}),
    "also": _objects("row", {"kind": _needed(TEXT), "answers": _needed(TEXT_OF), "when": WHEN}),
    "begins_possession": _objects("beginning", {"gained": _needed(TEXT), "when": WHEN}),
    **dict.fromkeys(("beside", "part", "again", "cuts"), TEXTS),
    **dict.fromkeys(("starts_play", "stops_play", "past_centre", "told", "often", "any_detail"), FLAG),
    **dict.fromkeys(
        ("log", "does", "run", "phase", "named_by", "ended", "leaves", "team", "plays", "second_look"), TEXT
    ),
}
_ENDING = {**_NAMED, "noun": TEXT, "shape": TEXT, "gained": TEXT, "scores": FLAG}
_WHOLE = {
    "version": _needed(NUMBER),
    "rank": _needed(NUMBER),
    "levels": _needed(_objects("level", _NAMED)),
    "shapes": _needed(_objects("shape", _NAMED)),
    "phases": _needed(_objects("phase", {"code": _needed(TEXT), "name": TEXT})),
    "endings": _needed(_objects("ending", _ENDING)),
    "kinds": _needed(_objects("kind", KIND)),
    **dict.fromkeys(("film_keys", "hand_keys", "list_keys"), _needed(TEXTS)),
    **dict.fromkeys(("together", "context"), _needed(TEXT_OF)),
}


def check_spelling(data: Any, version: int) -> None:
    """Refuse a vocabulary of another version, and one with a word that means nothing.

    Parameters
    ----------
    data : object
        The vocabulary as its file says it.
    version : int
        That is read.

    Raises
    ------
    VocabularyError
        Says which word of what.
    """
    if not isinstance(data, dict) or data.get("version") != version:
        told = data.get("version") if isinstance(data, dict) else "nothing"
        raise VocabularyError(f"this floorbook reads vocabulary version {version}, the file says {told}")
    for fault in _faults("the vocabulary", data, _WHOLE):
        raise VocabularyError(fault)


def _faults(what: str, thing: Mapping[str, Any], words: Mapping[str, Word]) -> Iterator[str]:
    for name, value in thing.items():
        word = words.get(name)
        if word is None:
            yield f"{what} says “{name}”, which means nothing; it can say {', '.join(words)}"
        elif not word.fits(value):
            yield f"“{name}” of {what} is {word.wanted}; “{str(value)[:60]}” is not"
        elif word.each is not None:
            items = value if isinstance(value, list) else [value] if isinstance(value, dict) else []
            for place, item in enumerate(items, 1):
                told = item.get("code", item.get("key", item.get("name", place)))
                inner = f"{word.called} “{told}”"
                yield from _faults(inner if what == "the vocabulary" else f"{inner} of {what}", item, word.each)
    for name, word in words.items():
        if word.needed and name not in thing:
            yield f"{what} does not say its “{name}”"
