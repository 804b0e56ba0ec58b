"""Which book of a game the numbers are from, chosen on the game's page; and a book as a file, out and in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Blueprint, Response, jsonify, redirect, request

from dashboard.bookfile import lines_of, take_bytes
from dashboard.errors import WrongBook
from tagger.errors import SeasonError
from tagger.marks.entries import EntryError
from tagger.screen.answers import Refused, error_answer
from tagger.screen.outside import bodies_told, names_kept

if TYPE_CHECKING:
    from dashboard.loading import Present

MOST_BYTES = 64 * 1024 * 1024


def create_books(present: Present) -> Blueprint:
    """The answer to "count from this book".

    Parameters
    ----------
    present : Present
        The season.

    Returns
    -------
    Blueprint
        POST /games/GAME/book with the field `book`; back to the game's page. GET and POST /games/GAME/book.jsonl: a
        book as a JSON Lines file; on another device notes have numbers where they name players.
    """
    books = Blueprint("books", __name__)

    @books.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @books.post("/games/<game>/book")
    def choose(game: str) -> Response:
        try:
            present.season.tagged.choose_book(game, request.form.get("book", ""))
        except SeasonError as fault:
            raise Refused(404, "no_book", str(fault)) from fault
        return redirect(f"/games/{game}", 303)  # type: ignore[return-value]

    @books.get("/games/<game>/book.jsonl")
    def save(game: str) -> Response:
        try:
            found = present.season.games.game(game)
            name, lines = lines_of(present.season, found.id, request.args.get("book"))
        except (SeasonError, WrongBook) as fault:
            raise Refused(404, "no_book", str(fault)) from fault
        told = bodies_told((line.rstrip("\n") for line in lines), names_kept(present.season))
        answer = Response("".join(f"{line}\n" for line in told), mimetype="application/x-ndjson")
        answer.headers.set("Content-Disposition", "attachment", filename=f"{found.id} {name}.jsonl")
        answer.headers["Cache-Control"] = "no-store"
        return answer

    @books.post("/games/<game>/book.jsonl")
    def take(game: str) -> Response:
        if request.mimetype != "application/x-ndjson":  # which another site's page cannot send unasked
            raise Refused(415, "no_lines", "send a book's file as application/x-ndjson")
        if (request.content_length or 0) > MOST_BYTES:
            raise Refused(413, "too_much", f"a book's file has at most {MOST_BYTES // 1024 // 1024} MiB")
        try:
            found = present.season.games.game(game)
            name = request.args.get("name", "the file")[:120]
            taken = take_bytes(present.season, found.id, request.args.get("book"), request.get_data(), name)
        except SeasonError as fault:
            raise Refused(404, "no_game", str(fault)) from fault
        except (WrongBook, EntryError) as fault:
            raise Refused(400, "wrong_book", str(fault)) from fault
        return jsonify(book=taken.book, n_new=taken.n_new, n_known=taken.n_known)

    return books
