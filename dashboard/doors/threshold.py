"""What the gate and its pages share: the browser's token, and where the door leads."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Response, request

COOKIE = "floorbook_door"
ENTER = "/enter"
SERVED = "FLOORBOOK_GATE"
"""The application's setting that holds its gate, where it has one."""

_KEPT_S = 7 * 24 * 3600


def keep_token(answer: Response, token: str) -> Response:
    """Give a browser its token.

    Parameters
    ----------
    answer : Response
        What it is sent.
    token : str
        As from `Gate.enter`.

    Returns
    -------
    Response
        The same. No script reads the token, and no other site's page sends it along with a form.
    """
    answer.set_cookie(COOKIE, token, max_age=_KEPT_S, httponly=True, samesite="Lax", secure=request.is_secure)
    return answer


def inside(path: str) -> str:
    """Where the door leads: only ever to a page of this server.

    Parameters
    ----------
    path : str
        As the address says.

    Returns
    -------
    str
        "/" for anything else.
    """
    safe = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable()
    return path if safe and not urlsplit(path).netloc else "/"
