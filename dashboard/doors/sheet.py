"""How a page of the doors is sent: kept by no browser, and with no script but the door's own."""

from __future__ import annotations

from flask import Response, make_response, render_template

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data:; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)


def drawn(template: str, **told: object) -> Response:
    """A page of the doors.

    Parameters
    ----------
    template : str
        Its template.
    **told
        What goes into it.

    Returns
    -------
    Response
        Kept by no browser; it runs no script but the door's own file.
    """
    answer = make_response(render_template(template, **told))
    answer.headers["Content-Security-Policy"] = _POLICY
    answer.headers["Cache-Control"] = "no-store"
    return answer
