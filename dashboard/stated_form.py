"""Stating a question in the page: what the form says becomes question.toml, or is refused in one line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from flask import Blueprint, Response, redirect, request

from dashboard.pages.stated import FIELDS
from tagger.texts.earlier import withdraw_stated, write_stated
from tagger.texts.stated import RUN_MEASURES, SCREEN_MEASURES, StatedError, StatedQuestion, stated_now

if TYPE_CHECKING:
    from dashboard.loading import Present

FREEING = {"freed", "user_free", "setter_free", "third_man_free", "credited"}
"""Measures that count who came free."""
_ASKS_FREE = re.compile(r"\bfree(?:s|d|ing)?\b", re.IGNORECASE)
_OF_RUNS = ("look",)
_OF_SCREENS = ("kind", "coverage", "setter", "user", "setter_next")
_TITLES = {
    "look": "look",
    "kind": "kind of screen",
    "coverage": "coverage",
    "setter": "who set it",
    "user": "who used it",
}


def create_stated_form(present: Present) -> Blueprint:
    """The answer to "state it".

    Parameters
    ----------
    present : Present
        The season.

    Returns
    -------
    Blueprint
        POST /question with the form's fields and `does` ("state" or "withdraw"); back to the question's page, with
        what was entered and a `fault` where it could not be asked.
    """
    stated_form = Blueprint("stated_form", __name__)

    @stated_form.post("/question")
    def state() -> Response:
        sent = {name: value.strip() for name, value in request.form.items()}
        if sent.get("does") == "withdraw":
            withdraw_stated(present.season.folder)
            return redirect("/question", 303)  # type: ignore[return-value]
        try:
            write_stated(present.season.folder, stated_of(sent))
        except (StatedError, OSError) as fault:
            held = {name: value for name, value in sent.items() if value and name != "does"}
            return redirect(f"/question?{urlencode({**held, 'fault': str(fault)})}#state", 303)  # type: ignore[return-value]
        return redirect("/question", 303)  # type: ignore[return-value]

    return stated_form


def stated_of(sent: Mapping[str, str]) -> StatedQuestion:
    """The question that a form says.

    Parameters
    ----------
    sent : mapping of str to str
        `text`, `measure`, and `one_…` and `other_…` for each of `FIELDS`; "" for any.

    Returns
    -------
    StatedQuestion
        Stated now.

    Raises
    ------
    StatedError
        It cannot be asked; says what would be right.
    """
    measure = sent.get("measure", "")
    screens = measure in SCREEN_MEASURES
    one, other = (_part(sent, side, screens) for side in ("one", "other"))
    if not one:
        raise StatedError("say which are meant under “Of these”: at least a set, a side or the like")
    if one == other:
        raise StatedError("both sides of the comparison are the same; change one of them")
    text = " ".join(sent.get("text", "").split())
    if _ASKS_FREE.search(text) and measure in {*RUN_MEASURES, *SCREEN_MEASURES} - FREEING:
        raise StatedError(
            "the words ask who comes free, and what was chosen counts something else: choose “frees somebody” or the "
            "like under “A screen …”, or ask it in other words"
        )
    return stated_now(text, measure, one, other or None)


def _part(sent: Mapping[str, str], side: str, screens: bool) -> dict[str, str]:
    made: dict[str, str] = {}
    for name in FIELDS:
        code = sent.get(f"{side}_{name}", "")
        if not code:
            continue
        if name in (_OF_RUNS if screens else _OF_SCREENS):
            which, right = ("screens", "runs") if screens else ("runs", "screens")
            raise StatedError(
                f"what was chosen is asked of {which}; {_TITLES.get(name, 'what the setter did')} is known of {right}: "
                "choose another measure, or “any” there"
            )
        if name == "look":
            play, _, code = code.partition(".")
            if made.setdefault("set", play) != play:
                raise StatedError("the look is one of another set; choose that set, or another look")
        made["set_side" if name == "side" and screens else name] = code
    return made
