"""How runs and possessions end, and what a run was: which mark ends them how, and in which words.

The page's twin is in `groups.js`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.context import holds
from tagger.marks.traits import Traits
from tagger.marks.vocabulary import Language


def ending_of(traits: Traits, answers: Mapping[str, Any], context: Mapping[str, str]) -> str | None:
    """How a possession ends with a mark.

    Parameters
    ----------
    traits : Traits
        Its kind's.
    answers : mapping
        The mark's.
    context : mapping
        Before the mark.

    Returns
    -------
    str or None
        Code of the ending, by the first that holds; None where it goes on, or nobody knows.
    """
    for one in traits.ends_possession:
        if holds(one.get("when", {}), answers, context):
            return one["ended"] or None
    return None


def gained_by(traits: Traits, answers: Mapping[str, Any], context: Mapping[str, str]) -> str | None:
    """How a possession that begins with a mark was gained.

    Parameters
    ----------
    traits : Traits
        Its kind's.
    answers : mapping
        The mark's.
    context : mapping
        Before the mark.

    Returns
    -------
    str or None
        As the possession would answer it, by the first that holds; None where none begins.
    """
    return next(
        (one["gained"] for one in traits.begins_possession if holds(one.get("when", {}), answers, context)), None
    )


def ending_name(language: Language, code: str | None) -> str:
    """An ending in the words of a sentence.

    Parameters
    ----------
    language : Language
        The vocabulary.
    code : str or None
        The ending's.

    Returns
    -------
    str
        As "saved"; empty for none, and for one that nobody knows.
    """
    return str(language.endings.get(code or "", {}).get("name", ""))


def ending_noun(language: Language, code: str) -> str:
    """An ending as what a run or a possession ended with.

    Parameters
    ----------
    language : Language
        The vocabulary.
    code : str
        The ending's.

    Returns
    -------
    str
        As "a save"; the code itself when nobody knows it.
    """
    ending = language.endings.get(code, {})
    return str(ending.get("noun", ending.get("name", code)))


def phase_name(language: Language, code: str) -> str:
    """What a run is called that has no name of its own.

    Parameters
    ----------
    language : Language
        The vocabulary.
    code : str
        The phase's.

    Returns
    -------
    str
        As "Second chance"; the code itself when nobody knows it.
    """
    return next((str(one.get("name", code)) for one in language.data["phases"] if one["code"] == code), code)
