"""What Dash's own routes take: exactly what its pages ask for, everything else is refused before Dash reads it.

Dash trusts the body of a callback: it looks names up in it as they come. So a body is held against the callbacks that
are there, and what a callback raises after that is a fault of ours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import request

from tagger.screen.answers import Refused, error_answer
from tagger.screen.body import sent_object

if TYPE_CHECKING:
    from dash import Dash
    from flask import Flask, Response

CALL = "/_dash-update-component"
MOST_BYTES = 64 * 1024
MOST_TEXT = 8000


def guard_callbacks(app: Dash, server: Flask) -> None:
    """Stand before Dash's own routes.

    Parameters
    ----------
    app : Dash
        With all its callbacks.
    server : Flask
        The application it lives in.
    """
    from dash.exceptions import DependencyException, InvalidResourceError

    @server.before_request
    def asked_as_pages_ask() -> None:
        if request.path == CALL and request.method == "POST":
            check_call(app.callback_map, sent_object(MOST_BYTES))

    @server.errorhandler(DependencyException)
    @server.errorhandler(InvalidResourceError)
    def no_file(error: Exception) -> Response:
        return error_answer(Refused(404, "not_found", "there is no such file of a page"))


def check_call(callbacks: dict[str, Any], sent: dict[str, Any]) -> None:
    """Refuse what is no call of a page's callback.

    Parameters
    ----------
    callbacks : dict
        Dash's own: for each output what it is worked out from.
    sent : dict
        The body.

    Raises
    ------
    Refused
        400.
    """
    output = sent.get("output")
    known = callbacks.get(output) if isinstance(output, str) else None
    if known is None or "callback" not in known:
        raise _strange("there is no such callback")
    outputs = sent.get("outputs")
    if _named([outputs] if isinstance(outputs, dict) else outputs) != _outputs(str(output)):  # one alone is no list
        raise _strange("its outputs are others")
    if _named(sent.get("inputs")) != _named(known["inputs"]) or _named(sent.get("state", [])) != _named(known["state"]):
        raise _strange("it is worked out from something else")
    for one in (*sent["inputs"], *sent.get("state", [])):
        value = one.get("value")
        if not (value is None or (isinstance(value, str) and len(value) <= MOST_TEXT)):
            raise _strange(f"each of its values is a text of at most {MOST_TEXT} letters")
    changed = sent.get("changedPropIds", [])
    if not isinstance(changed, list) or not all(isinstance(one, str) for one in changed):
        raise _strange("what changed is a list of names")


def _named(listed: Any) -> list[tuple[str, str]] | None:
    if not isinstance(listed, list) or not all(isinstance(one, dict) for one in listed):
        return None
    named = [(one.get("id"), one.get("property")) for one in listed]
    return named if all(isinstance(part, str) for one in named for part in one) else None


def _outputs(output: str) -> list[tuple[str, str]]:
    """`..page.children...header.children..` as pairs of id and property."""
    each = output[2:-2].split("...") if output.startswith("..") else [output]
    return [(id_, name) for id_, _, name in (one.rpartition(".") for one in each)]


def _strange(why: str) -> Refused:
    return Refused(400, "no_callback", f"no page asks for this: {why}; load the page anew")
