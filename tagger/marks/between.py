"""Unsure between two: an answer that is this or that, kept as unsure and counted as neither.

Of a question that says `two` (a set, a man's number) both are kept beside its own answer, under its code and “.or”,
with “/” between. The answer itself is what nobody could see, or of a set none, so whatever reads answers counts neither
of the two without knowing of this. Answered anew, the question says one thing again. The page's twin is `between.js`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.tables import UNSEEN

OR = "/"
"""The key that says “or”, and what stands between the two; by its place, right of the two frame keys."""
_BESIDE = ".or"


def beside(code: str) -> str:
    """What the two are kept under.

    Parameters
    ----------
    code : str
        The question's.

    Returns
    -------
    str
        Its code and “.or”.
    """
    return f"{code}{_BESIDE}"


def question_beside(kind: Mapping[str, Any], name: str) -> Mapping[str, Any] | None:
    """The question of which an answer holds the two.

    Parameters
    ----------
    kind : mapping
        Of the mark, as in the vocabulary.
    name : str
        What the answer is kept under.

    Returns
    -------
    mapping or None
        None where it is no such answer.
    """
    if not name.endswith(_BESIDE):
        return None
    code = name.removesuffix(_BESIDE)
    return next((one for one in kind["questions"] if one["code"] == code and one.get("two")), None)


def two_of(answers: Mapping[str, Any], code: str) -> list[str]:
    """Between which two a question's answer lies.

    Parameters
    ----------
    answers : mapping
        A mark's.
    code : str
        The question's.

    Returns
    -------
    list of str
        Both; empty where it is answered with one thing, or not at all.
    """
    found = answers.get(beside(code))
    parts = found.split(OR) if isinstance(found, str) else []
    return parts if len(parts) == 2 and all(parts) else []


def entered(question: Mapping[str, Any], value: Any) -> dict[str, Any]:
    """What is entered as an answer.

    Parameters
    ----------
    question : mapping
        As in the vocabulary.
    value : object
        The answer; of two both, as "14/41".

    Returns
    -------
    dict
        Answers; None where there is none any more.
    """
    code = question["code"]
    if question.get("two") and isinstance(value, str) and OR in value:
        return {code: UNSEEN if question["type"] == "player" else None, beside(code): value}
    return {code: value}


def merged(answers: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """A mark's answers after another entry: what is answered anew lies between two no longer.

    Parameters
    ----------
    answers, more : mapping
        Those that stand, and what the entry says; None takes an answer away.

    Returns
    -------
    dict
        What stands then.
    """
    stale = {beside(name) for name in more}
    made = {**{name: value for name, value in answers.items() if name not in stale}, **more}
    return {name: value for name, value in made.items() if value is not None}
