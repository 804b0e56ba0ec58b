"""What the marks so far mean for the next key: whose ball it is, which set is on, who came free, what is offered.

A context is a small mapping of text to text. A mark changes it by the vocabulary's `effects`; nothing here knows any
kind by name, so the page's twin (`context.js`) stays as small.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from tagger.marks.vocabulary import Language
from tagger.tables import NONE, SOMEBODY, UNSEEN

Context = dict[str, str]
_OTHER = {"ours": "theirs", "theirs": "ours"}
_NO_NAME = (NONE, UNSEEN, SOMEBODY)
"""Answers that name nothing to go on with: they are never remembered, so never offered."""


def start(language: Language) -> Context:
    """The context before the first mark.

    Parameters
    ----------
    language : Language
        The vocabulary.

    Returns
    -------
    dict
        A fresh copy.
    """
    return dict(language.data["context"])


def after(language: Language, context: Mapping[str, str], kind: str, answers: Mapping[str, Any]) -> Context:
    """The context after one mark.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        Before the mark; not changed.
    kind : str
        The mark's kind; an unknown one changes nothing.
    answers : mapping
        Its answers.

    Returns
    -------
    dict
        A new context.
    """
    made = dict(context)
    held = language.kinds.get(kind)
    if held is None:
        return made
    for effect in held["effects"]:
        if holds(effect.get("if", {}), answers, context):
            for name, value in effect["put"].items():
                place = named(name, answers, context)
                if place:
                    made[place] = _filled(value, answers, context)
    return made


def over(language: Language, marks: Iterable[tuple[str, Mapping[str, Any]]]) -> Context:
    """The context after many marks in their order.

    Parameters
    ----------
    language : Language
        The vocabulary.
    marks : iterable of (kind, answers)
        In order of game time.

    Returns
    -------
    dict
        A new context.
    """
    made = start(language)
    for kind, answers in marks:
        made = after(language, made, kind, answers)
    return made


def holds(conditions: Mapping[str, list[Any]], answers: Mapping[str, Any], context: Mapping[str, str]) -> bool:
    """Whether every condition is met: `name` looks at an answer, `@name` at the context.

    Parameters
    ----------
    conditions : mapping of str to list
        Allowed values; None allows "not answered", "*" anything answered, or known, "#" a player's number (or
        who was erased), "$other" the side without the ball, "@name" what the context says there.
    answers, context : mapping
        What they are looked up in.

    Returns
    -------
    bool
        True for no conditions.
    """
    for name, allowed in conditions.items():
        value = context.get(name[1:]) if name.startswith("@") else answers.get(name)
        if not _allowed(value, allowed, context):
            return False
    return True


def named(name: str, answers: Mapping[str, Any], context: Mapping[str, str]) -> str:
    """A name in the context whose parts may be filled in: `$set` by the mark's answer, `@set` by the context.

    Parameters
    ----------
    name : str
        Parts with "/" between, as `setter/@set/@side`: what is remembered for each set and side.
    answers, context : mapping
        What its parts are looked up in.

    Returns
    -------
    str
        Empty when a part is not known.
    """
    parts = []
    for part in name.split("/"):
        found = answers.get(part[1:]) if part[:1] == "$" else context.get(part[1:]) if part[:1] == "@" else part
        if not isinstance(found, str) or not found or found in _NO_NAME:
            return ""
        parts.append(found)
    return "/".join(parts)


def fits(needs: Mapping[str, list[str]], context: Mapping[str, str]) -> bool:
    """Whether a kind can follow here.

    Parameters
    ----------
    needs : mapping of str to list of str
        A kind's needs.
    context : mapping
        Before the mark.

    Returns
    -------
    bool
        True when every need is met.
    """
    return all(_allowed(context.get(name) or None, allowed, context) for name, allowed in needs.items())


def other(team: str) -> str:
    """The other team.

    Parameters
    ----------
    team : str
        "ours" or "theirs".

    Returns
    -------
    str
        Empty when neither.
    """
    return _OTHER.get(team, "")


def _allowed(value: Any, allowed: list[Any], context: Mapping[str, str]) -> bool:
    for one in allowed:
        if one == "*":
            if value is not None and value != "":
                return True
        elif one == "#":
            if isinstance(value, str) and (value.isdigit() or value == SOMEBODY):
                return True
        elif one == "$other":
            if value is not None and value == other(context.get("ball", "")):
                return True
        elif isinstance(one, str) and one.startswith("@"):
            if value is not None and value == context.get(one[1:]):
                return True
        elif value == one:
            return True
    return False


def _filled(value: str, answers: Mapping[str, Any], context: Mapping[str, str]) -> str:
    if "$" not in value:
        return value
    before, name = value.split("$", 1)
    found = other(context.get("ball", "")) if name == "other" else answers.get(name)
    if not isinstance(found, str) or not found or found in _NO_NAME:
        return ""
    return before + found
