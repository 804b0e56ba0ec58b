"""The page where film is brought in, and its server: on this machine only.

What the browser sends are tokens of the server's own listing, ids of the season, and the words of a new game; never a
path. Work is asked for in the book of jobs; the queue does it.
"""

from __future__ import annotations

import json
import re
import threading
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, jsonify, render_template, request

from dashboard.errors import WrongRequest
from dashboard.film_desk.glance import glance_at
from dashboard.film_desk.listing import ClosedFolder, Entry, Listing, UnknownToken
from dashboard.film_desk.words import CAUTION, state_of
from tagger.cameras import check_name
from tagger.cores import share_of
from tagger.film.errors import FilmError
from tagger.films import VIEWING
from tagger.finding import find_again
from tagger.jobs import BRING, JobBook
from tagger.plan import URGENCY, Step
from tagger.screen import guard
from tagger.screen.answers import Refused, error_answer
from tagger.season import BadGame, NoFilm, NoGame, Season, SeasonError
from tagger.store import StoreError

MOST_FILES = 200
MOST_BYTES = 256 * 1024
_ACTS = ("pause", "resume", "drop")
_POLICY = "default-src 'self'; img-src 'self' data:; frame-ancestors 'self'; base-uri 'none'; form-action 'self'"


def create_film_desk(season: Season, *, listing: Listing | None = None) -> Blueprint:
    """The page of film of one season.

    Parameters
    ----------
    season : Season
        An open season.
    listing : Listing, optional
        The folders to choose from; this machine's when left out.

    Returns
    -------
    Blueprint
        Under /films.
    """
    desk = Blueprint(
        "film_desk", __name__, static_folder="static", static_url_path="/films/static", template_folder="templates"
    )
    shown = listing if listing is not None else Listing()
    searching = threading.Lock()

    @desk.before_request
    def guarded() -> None:
        names = guard.LOOPBACK
        if request.host.rsplit(":", 1)[0].lower() not in names or not _is_here(request.remote_addr):
            raise Refused(
                403,
                "elsewhere",
                "Film is chosen where floorbook runs, from the folders of that computer: open this page there",
            )
        guard.check(request.method, request.host, dict(request.headers), request.scheme)

    @desk.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        if error.code == "elsewhere" and request.path == "/films":
            return Response(render_template("elsewhere.html", text=error.text), status=error.status)
        return error_answer(error)

    @desk.errorhandler(WrongRequest)
    def wrong(error: WrongRequest) -> Response:
        code = {UnknownToken: "no_token", ClosedFolder: "no_folder"}.get(type(error), "request")
        return error_answer(Refused(404, code, str(error)))

    @desk.errorhandler(SeasonError)
    def no_such(error: SeasonError) -> Response:
        code = {NoGame: "no_game", NoFilm: "no_film", BadGame: "bad_game"}.get(type(error), "season")
        return error_answer(Refused(400 if code == "bad_game" else 404, code, str(error)))

    @desk.errorhandler(StoreError)
    def no_store(error: StoreError) -> Response:
        return error_answer(Refused(503, "store", str(error)))

    @desk.get("/films")
    def page() -> Response:
        team = f"{season.settings.team} {season.settings.age_group}".strip()
        answer = Response(render_template("films.html", team=team, caution=CAUTION), mimetype="text/html")
        answer.headers["Content-Security-Policy"] = _POLICY
        answer.headers["Cache-Control"] = "no-store"
        return answer

    @desk.get("/films/state.json")
    def state() -> Response:
        return _json(state_of(season))

    @desk.get("/films/places.json")
    def places() -> Response:
        return _json({"places": [_entry(one) for one in shown.places(_folders_of(season))]})

    @desk.get("/films/folder/<token>.json")
    def folder(token: str) -> Response:
        view = shown.view(token)
        return _json(
            {
                "here": _entry(view.here),
                "above": [_entry(one) for one in view.above],
                "folders": [_entry(one) for one in view.folders],
                "films": [_entry(one) for one in view.films],
                "n_other": view.n_other,
                "n_more": view.n_more,
            }
        )

    @desk.get("/films/glance/<token>.json")
    def glance(token: str) -> Response:
        path = shown.path(token)
        try:
            seen = glance_at(path, n_cores=share_of(season.settings.film_cores))
        except FilmError as error:
            return _json({"why": str(error)})
        return _json({"what": seen.what, "how": seen.how, "plays": seen.plays, "need": seen.need_bytes})

    @desk.post("/films/bring")
    def bring() -> Response:
        sent = _sent()
        files = sent.get("files")
        if not isinstance(files, list) or not 0 < len(files) <= MOST_FILES:
            raise Refused(400, "no_files", "choose at least one film file")
        body: dict[str, Any] = {
            "paths": [str(shown.path(one)) for one in files],
            "in_order": sent.get("sort") is not True,
            "keep": sent.get("keep") is True,
            "camera": check_name(_text(sent["camera"], "camera")) if sent.get("camera") else "",
        }
        game = ""
        if "new" in sent:
            body["new"] = _new_game(season, sent["new"])
        else:
            game = season.game(_text(sent.get("game"), "game")).id
        job = JobBook(season.store).add(BRING, 0, game=game, body=body)
        return jsonify(job=job.id)

    @desk.post("/films/jobs/<int:id_>/<act>")
    def job(id_: int, act: str) -> Response:
        _sent()
        if act not in _ACTS:
            raise Refused(404, "no_act", f"a job can be: {', '.join(_ACTS)}")
        getattr(JobBook(season.store), act)(id_)
        return _json(state_of(season))

    @desk.post("/films/jobs/<act>")
    def jobs(act: str) -> Response:
        _sent()
        book = JobBook(season.store)
        acts = {"pause": book.pause_all, "resume": book.resume_all}
        if act not in acts:
            raise Refused(404, "no_act", "all work can be: pause, resume")
        acts[act]()
        return _json(state_of(season))

    @desk.post("/films/find")
    def find() -> Response:
        where = shown.path(_sent().get("folder"))
        if not searching.acquire(blocking=False):
            raise Refused(409, "searching", "a folder is being searched already; wait for that one")
        try:
            search = find_again(season, where)
        finally:
            searching.release()
        return _json(
            {
                "found": [{"name": one.film.name, "where": str(one.path)} for one in search.found],
                "away": [film.name for film in search.away],
                "n_files": search.n_files,
            }
        )

    @desk.post("/films/<film>/light")
    def light(film: str) -> Response:
        _sent()
        from tagger.film.viewing import viewing_bytes

        held = season.film(film)
        step = Step(VIEWING, URGENCY[VIEWING], viewing_bytes(season.film_index(film)))
        JobBook(season.store).add_steps(held.game, held.id, [step])
        return _json(state_of(season))

    return desk


def _is_here(address: str | None) -> bool:
    try:
        return address is not None and ip_address(address).is_loopback
    except ValueError:
        return False


def _folders_of(season: Season) -> tuple[Path, ...]:
    """Where film came from last."""
    found: dict[Path, None] = {}
    for film in reversed(season.shelf.all_films()):
        path = Path(film.path)
        if film.path and path.is_absolute():
            found[path.parent] = None
    return tuple(found)[:3]


def _new_game(season: Season, told: Any) -> dict[str, Any]:
    if not isinstance(told, dict):
        raise Refused(400, "no_game", "a new game has a date and an opponent")
    date, opponent = _text(told.get("date"), "date"), _text(told.get("opponent"), "opponent")
    slug = re.sub(r"[^a-z0-9]+", "-", opponent.lower()).strip("-")[:40]
    taken = {game.id for game in season.games()}
    ids = [f"{date}-{slug}" if slug else date, *(f"{date}-{slug or 'game'}-{n}" for n in range(2, 20))]
    id_ = next((one for one in ids if one not in taken), ids[0])
    season.check_new_game(id_, date, opponent)
    return {"id": id_, "date": date, "opponent": opponent, "home": told.get("home") is not False}


def _text(value: Any, name: str) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > 80:
        raise Refused(400, f"no_{name}", f"say the {name}")
    return value.strip()


def _entry(one: Entry) -> dict[str, Any]:
    from tagger.film.room import spoken_bytes

    told = {"token": one.token, "name": one.name}
    return {**told, "size": spoken_bytes(one.size_bytes), "changed": one.changed} if one.changed else told


def _json(told: dict[str, Any]) -> Response:
    answer = jsonify(told)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _sent() -> dict[str, Any]:
    """The JSON object of a request. Only as application/json, which another site's page cannot send unasked."""
    if request.mimetype != "application/json":
        raise Refused(415, "no_json", "send JSON as application/json")
    if (request.content_length or 0) > MOST_BYTES:
        raise Refused(413, "too_much", "that is too much at once")
    try:
        sent = json.loads(request.get_data())
    except ValueError:
        raise Refused(400, "no_json", "the text sent is not JSON") from None
    if not isinstance(sent, dict):
        raise Refused(400, "no_json", "a JSON object is expected")
    return sent
