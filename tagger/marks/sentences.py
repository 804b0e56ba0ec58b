"""Marks as sentences a coach would say, by the vocabulary's own words. The page's twin is `sentences.js`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from tagger.marks.between import two_of
from tagger.marks.context import holds
from tagger.marks.vocabulary import Language

_SLOT = re.compile(r"\{([a-z0-9_.]+)(?:\|([^}]*))?\}")


def sentence(language: Language, kind: str, answers: Mapping[str, Any], context: Mapping[str, str]) -> str:
    """One mark as a sentence, without its full stop.

    Parameters
    ----------
    language : Language
        The vocabulary.
    kind : str
        The mark's kind.
    answers : mapping
        Its answers.
    context : mapping
        Before the mark: which set's looks its codes name.

    Returns
    -------
    str
        The kind's code itself when the vocabulary does not know it.
    """
    held = language.kinds.get(kind)
    if held is None:
        return f"A mark of the unknown kind “{kind}”"
    parts = []
    for part in held["say"]:
        if not holds(part.get("when", {}), answers, context):
            continue
        text = _filled(language, kind, part["text"], answers, context)
        if text is not None:
            parts.append(text)
    made = "".join(parts)
    return made[:1].upper() + made[1:]


def _filled(
    language: Language, kind: str, text: str, answers: Mapping[str, Any], context: Mapping[str, str]
) -> str | None:
    missing = False

    def put(match: re.Match[str]) -> str:
        nonlocal missing
        name, instead = match.group(1), match.group(2)
        value = answers.get(name)
        if two := two_of(answers, name):
            return told_of_two(language, kind, name, two, context)
        if value is None:
            if instead is None:
                missing = True
                return ""
            return instead
        told = spoken(language, kind, name, value, context)
        missing = missing or not told
        return told

    made = _SLOT.sub(put, text)
    return None if missing else made


def told_of_two(language: Language, kind: str, question: str, two: list[str], context: Mapping[str, str]) -> str:
    """An answer that is this or that, in words.

    Parameters
    ----------
    language : Language
        The vocabulary.
    kind, question : str
        Codes.
    two : list of str
        Both.
    context : mapping
        Before the mark.

    Returns
    -------
    str
        As “14 or 41”, where the sentence has the answer.
    """
    held = language.question(kind, question) or {}
    if held.get("type") == "player":
        return spoken(language, kind, question, " or ".join(two), context)
    return " or ".join(spoken(language, kind, question, one, context) for one in two)


def spoken(language: Language, kind: str, question: str, value: Any, context: Mapping[str, str]) -> str:
    """One answer in words.

    Parameters
    ----------
    language : Language
        The vocabulary.
    kind, question : str
        Codes.
    value : object
        The answer.
    context : mapping
        Before the mark.

    Returns
    -------
    str
        The value itself where the vocabulary has no word for it; empty for an answer that goes without saying.
    """
    held = language.question(kind, question)
    if held is None:
        return str(value)
    for choice in (*held.get("choices", ()), *held.get("retired", ())):
        if choice["code"] == value:
            return str(choice.get("say", choice["name"]))
    if held["type"] == "set":
        play = language.sets.get(str(value))
        return str(play["name"]) if play else str(value)
    if held["type"] in ("look", "checkpoint"):
        play = language.sets.get(context.get("look_set", ""))
        items = play["looks" if held["type"] == "look" else "checkpoints"] if play else []
        return next((item["name"] for item in items if item["code"] == value), str(value))
    if held["type"] == "clock" and isinstance(value, int | float):
        return f"{int(value) // 60}:{int(value) % 60:02d}"
    return str(held.get("say", "{}")).replace("{}", str(value))
