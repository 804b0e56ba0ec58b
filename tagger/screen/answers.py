"""What the page's server answers when something is wrong: one JSON shape, {"error": {"code", "text"}}."""

from __future__ import annotations

from flask import Response, jsonify, request


class Refused(Exception):
    """A request that gets no more than an explanation.

    Parameters
    ----------
    status : int
        HTTP status.
    code : str
        A word for programs.
    text : str
        What is wrong and what would be right, for people.
    """

    def __init__(self, status: int, code: str, text: str) -> None:
        super().__init__(text)
        self.status = status
        self.code = code
        self.text = text


def error_answer(refused: Refused) -> Response:
    """The answer to a refused request.

    Parameters
    ----------
    refused : Refused
        What was wrong.

    Returns
    -------
    Response
        Never kept by the browser.
    """
    answer = jsonify(error={"code": refused.code, "text": refused.text})
    answer.status_code = refused.status
    answer.headers["Cache-Control"] = "no-store"
    return answer


def wants_page() -> bool:
    """Whether who asks reads pages: what is refused is then said on one.

    Returns
    -------
    bool
        True for a browser that goes to an address; a script, and what asks for a part of a page, gets one JSON shape.
    """
    return request.method in ("GET", "HEAD") and "text/html" in request.headers.get("Accept", "")
