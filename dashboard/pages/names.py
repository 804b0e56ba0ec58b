"""What codes are called on a page: sets, looks, checkpoints, and the answers of the vocabulary.

Tables hold codes, which are permanent; a page says today's names.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from tagger.marks.endings import phase_name
from tagger.marks.keyboard import on_keyboard

if TYPE_CHECKING:
    from dashboard.moment import Moment

UNANSWERED = "not answered"
UNSEEN = "can’t see"
STRENGTHS = {"even": "even strength", "up": "power play", "down": "short-handed", "empty_net": "an empty net"}
_OWN = {"no_screen": "no screen marked", "not_looked_for": "screens not tagged", "none": "none of its looks"}


def blank(value: Any) -> bool:
    """Whether a table's cell holds nothing.

    Parameters
    ----------
    value : any
        A cell.

    Returns
    -------
    bool
        True for None and NA.
    """
    return value is None or bool(pd.isna(value))


def answer_name(moment: Moment, kind: str, question: str, code: Any) -> str:
    """An answer's name.

    Parameters
    ----------
    moment : Moment
        The season.
    kind, question : str
        As `screen`, `coverage`.
    code : str or NA
        The answer.

    Returns
    -------
    str
        "not answered" for none; the code itself when the vocabulary has no such answer.
    """
    if blank(code):
        return UNANSWERED
    asked = moment.language.question(kind, question)
    found = {each["code"]: each["name"] for each in (asked or {}).get("choices") or ()}
    return str(found.get(code) or _OWN.get(str(code), code))


def free_name(moment: Moment, code: Any) -> str:
    """Who came free.

    Parameters
    ----------
    moment : Moment
        The season.
    code : str or NA
        An answer, or what stands for none.

    Returns
    -------
    str
        As "the user".
    """
    return _OWN.get(str(code)) or answer_name(moment, "screen", "free", code)


def look_name(moment: Moment, play: str, code: Any) -> str:
    """A look's name.

    Parameters
    ----------
    moment : Moment
        The season.
    play : str
        The set's code.
    code : str or NA
        The look's.

    Returns
    -------
    str
        Today's.
    """
    if blank(code):
        return UNANSWERED
    if code == "unseen":
        return UNSEEN
    held = moment.playbook.by_code.get(play)
    named = {look.code: look.name for look in held.looks} if held else {}
    return named.get(str(code)) or _OWN.get(str(code), str(code))


def checkpoint_name(moment: Moment, play: Any, code: Any) -> str:
    """A checkpoint's name.

    Parameters
    ----------
    moment : Moment
        The season.
    play : str or NA
        The set's code: each set has checkpoints of its own, and some of several sets share a code.
    code : str or NA
        The checkpoint's, with or without the set's before a point.

    Returns
    -------
    str
        Today's.
    """
    if blank(code):
        return UNANSWERED
    return called(moment).get(f"{play}.{str(code).rsplit('.', 1)[-1]}", str(code))


def set_name(moment: Moment, code: Any, phase: Any = "set") -> str:
    """A set's name, or the name of what else a run was.

    Parameters
    ----------
    moment : Moment
        The season.
    code : str or NA
        The set's, or a family's.
    phase : str or NA
        The run's.

    Returns
    -------
    str
        As "Lantern", "Freelance".
    """
    if code == "freelance":
        return phase_name(moment.language, "freelance")
    if blank(code):
        return phase_name(moment.language, str(phase)) if not blank(phase) and phase != "set" else "No set"
    return moment.name_of(str(code))


def called(moment: Moment) -> dict[str, str]:
    """Names of all sets and checkpoints by their codes.

    Parameters
    ----------
    moment : Moment
        The season.

    Returns
    -------
    dict of str to str
        For the analysis to write sentences with; a checkpoint's code stands after its set's and a point.
    """
    made: dict[str, str] = {}
    for play in moment.playbook.sets:
        made |= {f"{play.code}.{check.code}": check.name for check in play.checkpoints}
    return made | {play.code: play.name for play in moment.playbook.sets}


def key_of(moment: Moment, kind: str, code: str = "") -> str:
    """The key that makes a kind of mark in this season, as a person finds it on the keyboard.

    Parameters
    ----------
    moment : Moment
        The season.
    kind : str
        As `shot`.
    code : str
        Which of its keys, as `theirs` of a possession; the first when left out.

    Returns
    -------
    str
        As "s", or "⇧G" for a letter with Shift.
    """
    keys = moment.language.kinds[kind]["keys"]
    return on_keyboard(next(one["key"] for one in keys if code in ("", one.get("code", ""))))
