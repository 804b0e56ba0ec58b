"""The page where film is brought in, and its server: from folders on this machine only.

What the browser sends are tokens of the server's own listing, ids of the season, and the words of a new game; never a
path. Work is asked for in the list of jobs; the queue does it. Another device that came in to send film gets a page
that sends a file of its own (`sending.py`).
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, current_app, jsonify, render_template, request

from dashboard.doors.origin import from_this_machine
from dashboard.errors import WrongRequest
from dashboard.film_page.glance import glance_at
from dashboard.film_page.listing import FILM_SUFFIXES, ClosedFolder, Entry, Listing, UnknownToken
from dashboard.film_page.request import answer_json, game_for, sent_json
from dashboard.film_page.sending import SENDING, add_sending, coming_of
from dashboard.film_page.words import CAUTION, CAUTION_SENT, state_of
from tagger.errors import BadGame, NoFilm, NoGame, SeasonError
from tagger.film.errors import BadName, FilmError, StillCopied
from tagger.film.plain_file import check_path
from tagger.screen import guard
from tagger.screen.answers import Refused, error_answer, wants_page
from tagger.screen.visitor import LOOK, SEND, TAG, visitor
from tagger.season import Season
from tagger.shelf.films import FILM_FOLDER, VIEWING
from tagger.shelf.finding import find_again
from tagger.store.database import StoreError
from tagger.work.arrivals import Arrivals
from tagger.work.cores import share_of
from tagger.work.job import BRING
from tagger.work.jobs import JobList
from tagger.work.plan import URGENCY, Step

MOST_FILES = 200
_ACTS = ("pause", "resume", "drop")
_POLICY = "default-src 'self'; img-src 'self' data:; frame-ancestors 'self'; base-uri 'none'; form-action 'self'"


def create_film_page(season: Season, *, listing: Listing | None = None, arrivals: Arrivals | None = None) -> Blueprint:
    """The page of film of one season.

    Parameters
    ----------
    season : Season
        An open season.
    listing : Listing, optional
        The folders to choose from; this machine's when left out.
    arrivals : Arrivals, optional
        What is being sent; in the season's film folder when left out.

    Returns
    -------
    Blueprint
        Under /films.
    """
    blueprint = Blueprint(
        "film_page", __name__, static_folder="static", static_url_path="/films/static", template_folder="templates"
    )
    shown = listing if listing is not None else Listing()
    searching = threading.Lock()
    coming = arrivals if arrivals is not None else Arrivals(season.folder / FILM_FOLDER)

    @blueprint.before_request
    def guarded() -> None:
        who = visitor()
        may_send = who.may == SEND and (request.path == "/films" or request.path.startswith(SENDING))
        drawn_with = who.may in (SEND, LOOK, TAG) and request.path.startswith("/films/static/")
        if not _is_here() and not may_send and not drawn_with:
            raise Refused(
                403,
                "elsewhere",
                "Film is chosen where floorbook runs, from the folders of that computer: open this page there",
            )
        hosts = current_app.config.get(guard.SETTING, ()) if may_send or drawn_with else ()
        guard.check(request.method, request.host, dict(request.headers), request.scheme, hosts)

    @blueprint.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        if error.code == "elsewhere" and request.path == "/films" and wants_page():
            return Response(render_template("elsewhere.html", text=error.text), status=error.status)
        return error_answer(error)

    @blueprint.errorhandler(WrongRequest)
    def wrong(error: WrongRequest) -> Response:
        code = {UnknownToken: "no_token", ClosedFolder: "no_folder"}.get(type(error), "request")
        return error_answer(Refused(404, code, str(error)))

    @blueprint.errorhandler(SeasonError)
    def no_such(error: SeasonError) -> Response:
        code = {NoGame: "no_game", NoFilm: "no_film", BadGame: "bad_game"}.get(type(error), "season")
        return error_answer(Refused(400 if code == "bad_game" else 404, code, str(error)))

    @blueprint.errorhandler(StoreError)
    def no_store(error: StoreError) -> Response:
        return error_answer(Refused(503, "store", str(error)))

    @blueprint.get("/films")
    def page() -> Response:
        name, caution = ("films.html", CAUTION) if _is_here() else ("send.html", CAUTION_SENT)
        team = f"{season.texts.settings.team} {season.texts.settings.age_group}".strip()
        accept = ",".join(("video/*", *sorted(FILM_SUFFIXES)))
        text = render_template(name, team=team, caution=caution, accept=accept)
        answer = Response(text, mimetype="text/html")
        answer.headers["Content-Security-Policy"] = _POLICY
        answer.headers["Cache-Control"] = "no-store"
        return answer

    @blueprint.get("/films/state.json")
    def state() -> Response:
        return answer_json({**state_of(season), "coming": coming_of(coming)})

    @blueprint.get("/films/places.json")
    def places() -> Response:
        return answer_json({"places": [_entry(one) for one in shown.places(_folders_of(season))]})

    @blueprint.get("/films/folder/<token>.json")
    def folder(token: str) -> Response:
        view = shown.view(token)
        return answer_json(
            {
                "here": _entry(view.here),
                "above": [_entry(one) for one in view.above],
                "folders": [_entry(one) for one in view.folders],
                "films": [_entry(one) for one in view.films],
                "n_other": view.n_other,
                "n_more": view.n_more,
            }
        )

    @blueprint.get("/films/glance/<token>.json")
    def glance(token: str) -> Response:
        path = shown.path(token)
        try:
            seen = glance_at(path, n_cores=share_of(season.texts.settings.film_cores))
        except StillCopied as error:
            return answer_json(
                {"what": str(error), "how": "Brought in now, it is taken as soon as all of it is there."}
            )
        except FilmError as error:
            return answer_json({"why": str(error)})
        return answer_json({"what": seen.what, "how": seen.how, "plays": seen.plays, "need": seen.need_bytes})

    @blueprint.post("/films/bring")
    def bring() -> Response:
        sent = sent_json()
        files = sent.get("files")
        if not isinstance(files, list) or not 0 < len(files) <= MOST_FILES:
            raise Refused(400, "no_files", "choose at least one film file")
        paths = [shown.path(one) for one in files]
        for path in paths:
            _check(path)
        body: dict[str, Any] = {
            "paths": [str(path) for path in paths],
            "in_order": sent.get("sort") is not True,
            "keep": sent.get("keep") is True,
        }
        game, aim = game_for(season, sent)
        body |= aim
        job = JobList(season.store).add(BRING, 0, game=game, body=body)
        return jsonify(job=job.id)

    @blueprint.post("/films/jobs/<int:id_>/<act>")
    def job(id_: int, act: str) -> Response:
        sent_json()
        if act not in _ACTS:
            raise Refused(404, "no_act", f"a job can be: {', '.join(_ACTS)}")
        getattr(JobList(season.store), act)(id_)
        return answer_json(state_of(season))

    @blueprint.post("/films/jobs/<act>")
    def jobs(act: str) -> Response:
        sent_json()
        jobs = JobList(season.store)
        acts = {"pause": jobs.pause_all, "resume": jobs.resume_all}
        if act not in acts:
            raise Refused(404, "no_act", "all work can be: pause, resume")
        acts[act]()
        return answer_json(state_of(season))

    @blueprint.post("/films/find")
    def find() -> Response:
        where = shown.path(sent_json().get("folder"))
        if not searching.acquire(blocking=False):
            raise Refused(409, "searching", "a folder is being searched already; wait for that one")
        try:
            search = find_again(season, where)
        finally:
            searching.release()
        return answer_json(
            {
                "found": [{"name": one.film.name, "where": str(one.path)} for one in search.found],
                "away": [film.name for film in search.away],
                "refused": list(search.refused),
                "n_files": search.n_files,
            }
        )

    @blueprint.post("/films/<film>/light")
    def light(film: str) -> Response:
        sent_json()
        from tagger.film.viewing import viewing_bytes

        held = season.shelf.film(film)
        step = Step(VIEWING, URGENCY[VIEWING], viewing_bytes(season.shelf.indexes.of(film)))
        JobList(season.store).add_steps(held.game, held.id, [step])
        return answer_json(state_of(season))

    add_sending(blueprint, season, coming)
    return blueprint


def _is_here() -> bool:
    """Whether it is this machine that asks, whoever stands before the pages or nobody does."""
    return visitor().at_laptop and from_this_machine(request)


def _check(path: Path) -> None:
    try:
        check_path(path)
    except BadName as error:
        raise Refused(400, "bad_name", str(error)) from None


def _folders_of(season: Season) -> tuple[Path, ...]:
    """Where film came from last."""
    found: dict[Path, None] = {}
    for film in reversed(season.shelf.all_films()):
        path = Path(film.path)
        if film.path and path.is_absolute():
            found[path.parent] = None
    return tuple(found)[:3]


def _entry(one: Entry) -> dict[str, Any]:
    from tagger.film.room import spoken_bytes

    told = {"token": one.token, "name": one.name}
    return {**told, "size": spoken_bytes(one.size_bytes), "changed": one.changed} if one.changed else told
