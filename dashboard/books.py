"""Which book of a game the numbers are from: said on the game's page, and chosen there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, Response, redirect, request

from tagger.screen.answers import Refused, error_answer
from tagger.season import SeasonError

if TYPE_CHECKING:
    from dashboard.loading import Desk


def create_books(desk: Desk) -> Blueprint:
    """The answer to "count from this book".

    Parameters
    ----------
    desk : Desk
        The season.

    Returns
    -------
    Blueprint
        POST /games/GAME/book with the field `book`; back to the game's page.
    """
    books = Blueprint("books", __name__)

    @books.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @books.post("/games/<game>/book")
    def choose(game: str) -> Response:
        try:
            desk.season.choose_book(game, request.form.get("book", ""))
        except SeasonError as fault:
            raise Refused(404, "no_book", str(fault)) from fault
        return redirect(f"/games/{game}", 303)  # type: ignore[return-value]

    return books
