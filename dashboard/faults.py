"""What a request gets that can't be answered: one shape, {"error": {"code", "text"}}, on every route.

What a browser shows as a page stays a page. A fault of ours is logged with where it happened and answered as such; the
numbers in an address have a length, so that none is beyond what the rest counts with.
"""

from __future__ import annotations

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException, NotFound
from werkzeug.routing import IntegerConverter

from dashboard.errors import is_users, line_of
from tagger.screen.answers import Refused, error_answer

_SAID = {
    400: ("bad_request", "the request cannot be read"),
    404: ("not_found", "there is nothing at this address"),
    405: ("wrong_method", "this address is not asked in that way"),
    408: ("too_slow", "the request did not come to its end; send it again"),
    411: ("no_length", "say how long the body is"),
    413: ("too_much", "that is too much at once"),
    415: ("wrong_type", "a body of that type is not taken here"),
    416: ("no_such_range", "the file has no such range"),
}
_KEPT = ("Allow", "Retry-After")


MOST_DIGITS = 16


class ShortWhole(IntegerConverter):
    """A whole number in an address: one that is longer than any of ours is not found, rather than counted with."""

    regex = "[0-9]+"

    def to_python(self, value: str) -> int:
        """The number that an address says.

        Parameters
        ----------
        value : str
            Its digits.

        Returns
        -------
        int
            Of at most MOST_DIGITS digits.

        Raises
        ------
        NotFound
            It has more.
        """
        if len(value) > MOST_DIGITS:
            raise NotFound
        return int(super().to_python(value))


def answer_faults(server: Flask) -> None:
    """Have an application answer what goes wrong in one shape.

    Parameters
    ----------
    server : Flask
        The application, before its routes are put in.
    """
    server.url_map.converters["int"] = ShortWhole

    @server.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @server.errorhandler(HTTPException)
    def not_answered(error: HTTPException) -> Response:
        plain = error.get_response()
        if (error.code or 500) < 400 or _shows_a_page():
            return Response(plain.get_data(), error.code or 500, plain.headers)
        status = error.code or 500
        code, text = _SAID.get(status, ("refused", error.description or error.name))
        answer = error_answer(Refused(status, code, text))
        for name in _KEPT:
            if name in plain.headers:
                answer.headers[name] = plain.headers[name]
        return answer

    @server.errorhandler(Exception)
    def fault(error: Exception) -> Response:
        if is_users(error):
            server.logger.warning("%s %s: %s", request.method, request.path, line_of(error))
            return error_answer(Refused(503, "not_now", line_of(error)))
        server.logger.error("%s %s", request.method, request.path, exc_info=error)
        text = f"our own fault ({type(error).__name__}); nothing was changed. Report what floorbook’s window says"
        return error_answer(Refused(500, "fault", text))


def _shows_a_page() -> bool:
    return request.method in ("GET", "HEAD") and "text/html" in request.headers.get("Accept", "")
