"""The served application: tagging screen, dashboard and clips in one, for one season.

`create_app` puts it together; `open_and_serve` holds the season's lock, serves until interrupted, and leaves the
database in one file.
"""

from __future__ import annotations

import logging
import sys
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from flask import Flask, Response, make_response, redirect, request

from dashboard.address import LOOPBACK, is_loopback, listening_on, names_of, show
from dashboard.books import create_books
from dashboard.copies.keeper import Keeper
from dashboard.doors.door import create_door
from dashboard.doors.gate import Gate
from dashboard.doors.phrases import KEYS
from dashboard.doors.words import KEY_NAMES
from dashboard.faults import answer_faults
from dashboard.film_page.blueprint import create_film_page
from dashboard.loading import Present
from dashboard.pages.shell import create_pages
from dashboard.play import create_play
from dashboard.putting_back import create_putting_back
from dashboard.serving.certificate import own_certificate
from dashboard.serving.listener import Serving
from dashboard.serving.words import way_in_words
from dashboard.stated_form import create_stated_form
from tagger.screen import guard
from tagger.screen.answers import Refused, error_answer
from tagger.screen.blueprint import create_screen

if TYPE_CHECKING:
    from tagger.season import Season
    from tagger.work.queue import Queue

BARE_POLICY = "default-src 'self'; frame-ancestors 'self'; base-uri 'none'; form-action 'self'"
INTERRUPTED = 130
CANNOT_WRITE = "this folder can’t be written: nothing can be added"
DAMAGED = "this season is damaged: nothing can be added"


def create_app(
    season: Season, *, hosts: Sequence[str] = (), gate: Gate | None = None, present: Present | None = None
) -> Flask:
    """Put the application of one season together.

    Parameters
    ----------
    season : Season
        The open season.
    present : Present, optional
        The season's own, when there is one already.
    hosts : sequence of str
        Names beside the loopback ones under which it may be asked for.
    gate : Gate, optional
        Stands before every page.

    Returns
    -------
    Flask
        The WSGI application, with the Dash pages inside.
    """
    server = Flask(__name__, static_folder=None)
    server.config[guard.SETTING] = tuple(hosts)
    answer_faults(server)

    @server.before_request
    def guarded() -> Response | None:
        try:
            guard.check(request.method, request.host, dict(request.headers), request.scheme, hosts)
        except Refused as refused:
            return error_answer(refused)
        if request.method == "GET" and request.host.split(":")[0].lower() == "localhost":
            return make_response(redirect(request.url.replace("://localhost", f"://{LOOPBACK}", 1)))
        return None

    if gate is not None:
        gate.install(server)
    server.register_blueprint(create_door(gate))

    @server.after_request
    def harden(answer: Response) -> Response:
        answer.headers.setdefault("X-Content-Type-Options", "nosniff")
        answer.headers.setdefault("X-Frame-Options", "SAMEORIGIN")
        answer.headers.setdefault("Referrer-Policy", "same-origin")
        answer.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        if answer.mimetype == "text/html":
            answer.headers.setdefault("Content-Security-Policy", BARE_POLICY)
        return answer

    present = present if present is not None else Present(season)
    server.register_blueprint(create_screen(season))
    server.register_blueprint(create_books(present))
    server.register_blueprint(create_putting_back(present))
    server.register_blueprint(create_play(present))
    server.register_blueprint(create_stated_form(present))
    server.register_blueprint(create_film_page(season))
    create_pages(present, server)
    return server


def open_and_serve(
    folder: Path, *, host: str = LOOPBACK, port: int | None = None, browser: bool = True, https: bool = False
) -> int:
    """Serve a season until interrupted.

    Parameters
    ----------
    folder : Path
        The season's folder.
    host : str
        Address to listen on. Beyond the loopback address three phrases are made and printed.
    port : int, optional
        The season's own when left out; 0 takes any that is free.
    browser : bool
        Whether to open a browser, where there is a screen.
    https : bool
        Serve under TLS, with this computer's own certificate.

    Returns
    -------
    int
        130, the exit code of what was interrupted.

    Raises
    ------
    NoSeason, StoreError, SeasonLocked, PortTaken
        It can't be served.
    """
    from dashboard.retention import due, unfinished
    from tagger.store.lock import SeasonLock

    season = _opened(folder)
    try:
        lock = None if season.store.opened_read_only else SeasonLock(folder)
        try:
            for problem in (*season.texts.problems, *season.damage):
                print(f"floorbook: {problem}", file=sys.stderr)
            for told in (*filter(None, [unfinished(folder)]), *due(season)):
                print(f"floorbook: {told}", file=sys.stderr)
            if season.store.mended:
                print(f"floorbook: {season.store.mended}", file=sys.stderr)
            if season.store.read_only:
                print(f"floorbook: {season.store.read_only_because}", file=sys.stderr)
            told_port = season.texts.settings.port if port is None else port
            _serve(season, listening_on(host), told_port, browser=browser, https=https)
        finally:
            if lock is not None:
                lock.release()
    finally:
        season.close()
    print("\nClosed; everything is on disk.", file=sys.stderr)
    return INTERRUPTED


def _opened(folder: Path) -> Season:
    """The season to write to; to look at where its folder can't be written or it is damaged."""
    from tagger.season import Season
    from tagger.store.faults import NotADatabase, ReadOnly
    from tagger.store.past_damage import faults_of_pages

    try:
        season = Season.open(folder)
        if not faults_of_pages(season.store):
            season.store.writable()
            return season
        season.close()
        why = DAMAGED
    except NotADatabase:
        why = DAMAGED
    except ReadOnly:
        why = CANNOT_WRITE
    season = Season.open(folder, past_damage=True)
    if not season.store.newer:
        season.store.read_only_because = why
    return season


def _serve(season: Season, host: str, port: int, *, browser: bool, https: bool) -> None:
    gate = None if is_loopback(host) else Gate()
    names = names_of(host)
    present = Present(season)
    app = create_app(season, hosts=names, gate=gate, present=present)
    certificate = own_certificate(names if names else (host,)) if https else None
    server = Serving(app, host, port, certificate.context if certificate else None, here_too=gate is not None)
    address = f"{server.scheme}://{LOOPBACK if gate is not None or host == LOOPBACK else host}:{server.port}/"
    print(f"{season.texts.settings.team}: {address}   (Ctrl-C closes it)", flush=True)
    if gate is not None:
        gate.addresses = [f"{server.scheme}://{name}:{server.port}/" for name in names]
        gate.fingerprint = certificate.in_pairs if certificate is not None else ()
        _tell_phrases(gate, address)
    for line in way_in_words(certificate, beyond=gate is not None):
        print(line, flush=True)
    threading.Thread(target=_warm, args=(present,), daemon=True).start()
    if browser:
        threading.Thread(target=show, args=(address,), daemon=True).start()
    work = _working(season)
    present.keeper = Keeper(season)
    present.keeper.start()
    try:
        server.run()  # returns when interrupted
    finally:
        server.close()
        if work is not None:
            work.close()
        present.keeper.close()


def _tell_phrases(gate: Gate, address: str) -> None:
    """Say on the terminal how other devices come in."""
    print(f"Other devices open {gate.addresses[0]} and say one of three phrases, made for this time:", flush=True)
    for key in KEYS:
        print(f"  {KEY_NAMES[key].lower():<14}{gate.phrases.of(key)}", flush=True)
    print(
        f"{address}doors, on this computer alone, shows them with a code for a phone, and withdraws them.", flush=True
    )


def _working(season: Season) -> Queue | None:
    """Go on with the work on film in the background, unless a command does it at this moment."""
    from tagger.work.queue import Queue, QueueTaken

    if season.store.opened_read_only:
        return None
    try:
        queue = Queue(season)
    except QueueTaken:
        return None
    queue.start()
    return queue


def _warm(present: Present) -> None:
    """Fold the games and write the practice list while the browser is still opening."""
    from dashboard.pages.shell import first_page

    try:
        with present.steady():
            first_page(present)
    except Exception:  # whoever asks for the tables is told
        logging.getLogger(__name__).debug("could not warm up", exc_info=True)
