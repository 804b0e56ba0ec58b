"""The tagging screen's server: a page for each game, its entries in and out, and film in capped ranges.

Nothing that the browser sends names a file: films are known by the ids that the season gave them.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import quote

from flask import Blueprint, Response, current_app, jsonify, render_template, request

from tagger.errors import NoFilm, NoGame, SeasonError
from tagger.film.errors import FilmError
from tagger.film.still_room import StillRoom
from tagger.marks.entries import BOOK_RULE, PUT_BACK, is_book_name
from tagger.screen import guard
from tagger.screen.answers import Refused, error_answer
from tagger.screen.body import sent_object, whole_arg
from tagger.screen.films import films_of, strip_of
from tagger.screen.folded import fold_for_page
from tagger.screen.frames import frame_times
from tagger.screen.opening import day_of, listed, opening, title_of
from tagger.screen.outside import bodies_told, names_kept, watched
from tagger.screen.people import TAKES, People
from tagger.screen.ranges import file_answer
from tagger.screen.visitor import visitor
from tagger.season import Season
from tagger.shelf.cameras import tie
from tagger.store.database import StoreError
from tagger.written import is_full

MOST_BYTES = 8 * 1024 * 1024
MOST_ENTRIES = 5000
MOST_TIE_BYTES = 64 * 1024
_KINDS = {".webm": "video/webm"}  # everything else that is played is MP4, or its twin MOV
_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; frame-ancestors 'self'; base-uri 'none'"
)


def create_screen(season: Season) -> Blueprint:
    """The tagging screen of one season.

    Parameters
    ----------
    season : Season
        An open season.

    Returns
    -------
    Blueprint
        Pages under /tag, film under /film, files of the page under /screen. The application's setting
        `ALLOWED_HOSTS` names hosts beside the loopback ones.
    """
    screen = Blueprint(
        "screen", __name__, static_folder="static", static_url_path="/screen", template_folder="templates"
    )

    static = Path(screen.static_folder or "")
    stills = StillRoom()
    people = People()
    modules = sorted(path.relative_to(static).as_posix() for path in static.rglob("*.js"))

    @screen.before_request
    def guarded() -> None:
        allowed = current_app.config.get(guard.SETTING, ())
        guard.check(request.method, request.host, request.headers, request.scheme, allowed)

    @screen.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @screen.errorhandler(SeasonError)
    def no_such(error: SeasonError) -> Response:
        code = {NoGame: "no_game", NoFilm: "no_film"}.get(type(error), "season")
        return error_answer(Refused(404, code, str(error)))

    @screen.errorhandler(StoreError)
    def no_store(error: StoreError) -> Response:
        full = is_full(error)
        return error_answer(Refused(507 if full else 503, "full" if full else "store", str(error)))

    @screen.errorhandler(FilmError)
    def no_picture(error: FilmError) -> Response:
        return error_answer(Refused(404, "film", str(error)))

    @screen.get("/tag/<game>")
    def page(game: str) -> Response:
        found = season.games.game(game)
        book = _book(season, found.id)
        text = render_template(
            "tag.html",
            game=found.id,
            book=book,
            by=_tagger(request.args.get("by") or book),
            guest=not visitor().at_laptop,
            takes=_takes(),
            all_takes=TAKES,
            books=[one.name for one in season.journal.books(found.id)],
            title=title_of(season, found),
            day=day_of(found.date),
            damage=season.damage if visitor().at_laptop else (),
            modules=modules,
            start=f"/tag/{quote(found.id)}/start.json?book={quote(book)}",
        )
        answer = Response(text, mimetype="text/html")
        answer.headers["Content-Security-Policy"] = _POLICY
        answer.headers["Cache-Control"] = "no-store"
        return answer

    @screen.get("/tag/<game>/start.json")
    def start(game: str) -> Response:
        found = season.games.game(game)
        return _json(opening(season, found, _book(season, found.id)))

    @screen.get("/tag/<game>/films.json")
    def films(game: str) -> Response:
        told = {"films": films_of(season, season.games.game(game))}
        return _json(json.dumps(told, ensure_ascii=False))

    @screen.get("/tag/<game>/entries")
    def entries(game: str) -> Response:
        found = season.games.game(game)
        since = whole_arg("since", 0)
        book = _book(season, found.id)
        held, seq = season.journal.bodies(found.id, book, since)
        by = request.args.get("by", "")
        others = json.dumps(people.others(found.id, book, _tagger(by), _takes()) if by else [], ensure_ascii=False)
        told = listed(bodies_told(held, names_kept(season)))
        return _json(f'{{"seq":{seq},"entries":{told},"people":{others}}}')

    @screen.get("/tag/<game>/books.json")
    def books(game: str) -> Response:
        found = season.games.game(game)
        return _json(json.dumps({"books": [one.name for one in season.journal.books(found.id)]}, ensure_ascii=False))

    @screen.post("/tag/<game>/entries")
    def add(game: str) -> Response:
        found = season.games.game(game)
        sent = sent_object(MOST_BYTES, apart="entries")
        if sent.get("season") != season.texts.settings.id:
            raise Refused(
                409,
                "other_season",
                f"this address now serves the season “{season.texts.settings.id}”; the marks stay here",
            )
        raw = sent.get("entries")
        if not isinstance(raw, list) or len(raw) > MOST_ENTRIES:
            raise Refused(400, "no_entries", f'"entries" is a list of at most {MOST_ENTRIES} entries')
        if any(isinstance(one, dict) and one.get("by") == PUT_BACK for one in raw):
            raise Refused(403, "not_own", f"nobody enters marks as “{PUT_BACK}”; a book is put back on its game’s page")
        own = None if visitor().at_laptop else visitor().name
        added = season.journal.add(found.id, _named(sent.get("book")), raw, only_by=own)
        return jsonify(added=[{"id": one.id, "state": one.state, "why": one.why} for one in added])

    @screen.post("/tag/<game>/tie")
    def tie_camera(game: str) -> Response:
        found, sent = season.games.game(game), sent_object(MOST_TIE_BYTES)
        film, of_film = sent.get("film"), sent.get("of_film")
        at_ms, of_ms = sent.get("at_ms"), sent.get("of_ms")
        if not (type(film) is type(of_film) is str and type(at_ms) is type(of_ms) is int):
            raise Refused(400, "no_tie", "a tie is two films and a whole number of ms in each")
        one = season.shelf.film(film)
        if one.game != found.id:
            raise Refused(404, "no_film", f"{one.name} is not of this game")
        tie(season.store, one, at_ms, season.shelf.film(of_film), of_ms)
        return jsonify(films=films_of(season, found))

    @screen.get("/tag/<game>/folded.json")
    def problems(game: str) -> Response:
        found = season.games.game(game)
        told = names_kept(season).out_of(fold_for_page(season, found.id, _book(season, found.id)))
        return _json(json.dumps(told, ensure_ascii=False, separators=(",", ":")))

    @screen.get("/film/<film>")
    def film_file(film: str) -> Response:
        asked = request.args.get("v", "")
        watched(season, film)
        path, version = season.shelf.copies.played(film, asked)
        if asked and asked != version:  # a part that has grown since, or a copy that is gone: other bytes
            raise Refused(410, "other_version", "another file is played for this film now; ask for it anew")
        return file_answer(request, path, _KINDS.get(path.suffix.lower(), "video/mp4"))

    @screen.get("/film/<film>/frames")
    def film_frames(film: str) -> Response:
        showing = season.shelf.copies.showing(film)
        etag = f'"{season.shelf.film(film).fingerprint}.{showing.version}"'
        if request.headers.get("If-None-Match") == etag:
            return Response(status=304, headers={"ETag": etag})
        answer = jsonify({**frame_times(showing.index), "version": showing.version})
        answer.headers["ETag"] = etag
        answer.headers["Cache-Control"] = "private, no-cache"
        return answer

    @screen.get("/film/<film>/strip.json")
    def film_strip(film: str) -> Response:
        return _json(json.dumps(strip_of(season, season.shelf.film(film).id)))

    @screen.get("/film/<film>/still/<int:at_ms>.jpg")
    def film_still(film: str, at_ms: int) -> Response:
        watched(season, film, at_ms)
        source = season.shelf.copies.clip_source(film)
        width = min(1920, max(16, request.args.get("width", 320, type=int)))
        frame = source.index.nearest(at_ms)
        answer = Response(stills.jpeg(source.path, source.index, frame, width_px=width), mimetype="image/jpeg")
        answer.headers["Cache-Control"] = "private, max-age=3600"
        return answer

    return screen


def _json(text: str) -> Response:
    answer = Response(text, mimetype="application/json")
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _book(season: Season, game: str) -> str:
    asked = request.args.get("book")
    return _named(asked) if asked is not None else season.tagged.chosen_book(game)


def _takes() -> str:
    asked = request.args.get("takes", "both")
    if asked not in TAKES:
        raise Refused(400, "no_team", f"who tags takes one of {', '.join(TAKES)}")
    return asked


def _named(book: Any) -> str:
    if not is_book_name(book):
        raise Refused(400, "no_book", BOOK_RULE)
    return str(book)


def _tagger(said: str) -> str:
    """Who tags: the name that a guest came in with, whatever he says; at the laptop what is said."""
    return visitor().name or _named(said)
