"""The door when a season is served to other devices: a pass-phrase, printed once, and a cookie for who knew it.

On the loopback address there is no door: only this machine's own user can reach it.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections.abc import Callable
from html import escape
from urllib.parse import quote

from flask import Flask, Response, make_response, redirect, request

from tagger.screen.answers import Refused, error_answer

COOKIE = "floorbook_door"
ENTER = "/enter"
_N_SYLLABLES = 8
_KEPT_S = 30 * 24 * 3600
_WAIT_S = 1.0
_OPEN = ("/screen/tokens.css", "/screen/fonts.css", "/screen/fonts/")

_PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>floorbook</title><link rel="stylesheet" href="/screen/fonts.css">
<link rel="stylesheet" href="/screen/tokens.css">
<style>body{{margin:0;min-height:100vh;display:grid;place-items:center}}form{{display:grid;gap:var(--gap-3);padding:var(--gap-4);
max-width:24rem}}input,button{{font:inherit;padding:var(--gap-2) var(--gap-3);border:1px solid var(--faint);
border-radius:var(--round);background:var(--panel);color:var(--ink)}}button{{background:var(--accent);color:var(--panel);
border-color:var(--accent)}}p{{margin:0;color:var(--soft)}}</style>
<body class="paper"><form method="post"><label for="phrase"><b>Pass-phrase</b></label>
<p>It stands where floorbook was started.</p>
<input id="phrase" name="phrase" autocomplete="current-password" autocapitalize="none" autofocus required>
<p role="alert">{told}</p><button>Open</button></form>"""


def new_phrase() -> str:
    """Make a pass-phrase that can be read out across a room.

    Returns
    -------
    str
        Four words of two syllables, 50 bits of chance.
    """
    syllables = [secrets.choice("bdfghklmnprstvwz") + secrets.choice("aeiou") for _ in range(_N_SYLLABLES)]
    return "-".join("".join(syllables[place : place + 2]) for place in range(0, _N_SYLLABLES, 2))


class Gate:
    """Who may come in.

    Parameters
    ----------
    phrase : str
        What they must know.
    clock : callable, optional
        Seconds that only grow.
    """

    def __init__(self, phrase: str, clock: Callable[[], float] = time.monotonic) -> None:
        self._phrase = _plain(phrase)
        self._token = hmac.new(secrets.token_bytes(32), b"floorbook", hashlib.sha256).hexdigest()
        self._clock = clock
        self._guard = threading.Lock()
        self._not_before = 0.0

    def knows(self, token: str | None) -> bool:
        """Whether a cookie is one that was given out here.

        Parameters
        ----------
        token : str or None
            The cookie's value.

        Returns
        -------
        bool
            True for ours.
        """
        return token is not None and hmac.compare_digest(token.encode(), self._token.encode())

    def answer(self, phrase: str) -> str | None:
        """Try a pass-phrase; one try a second, whoever tries.

        Parameters
        ----------
        phrase : str
            As it was typed.

        Returns
        -------
        str or None
            The cookie's value when it is right.

        Raises
        ------
        Refused
            429: too soon after a wrong one.
        """
        with self._guard:
            now = self._clock()
            if now < self._not_before:
                raise Refused(429, "too_soon", "one try a second; try again")
            if hmac.compare_digest(_plain(phrase).encode(), self._phrase.encode()):
                return self._token
            self._not_before = now + _WAIT_S
            return None

    def install(self, server: Flask) -> None:
        """Stand before every page of a server.

        Parameters
        ----------
        server : Flask
            The application.
        """

        @server.before_request
        def stand() -> Response | None:
            if request.path == ENTER or request.path.startswith(_OPEN) or self.knows(request.cookies.get(COOKIE)):
                return None
            if request.method == "GET" and "text/html" in request.headers.get("Accept", ""):
                return make_response(redirect(f"{ENTER}?next={quote(request.full_path.rstrip('?'))}"))
            return error_answer(Refused(401, "no_phrase", "the pass-phrase is asked first; open the page anew"))

        @server.get(ENTER)
        def ask() -> str:
            return _PAGE.format(told="")

        @server.post(ENTER)
        def enter() -> Response:
            try:
                token = self.answer(request.form.get("phrase", ""))
            except Refused as refused:
                return make_response(_PAGE.format(told=escape(refused.text)), refused.status)
            if token is None:
                return make_response(_PAGE.format(told="That is not it. Look where floorbook was started."), 403)
            answer = make_response(redirect(_inside(request.args.get("next", "/")), 303))
            answer.set_cookie(COOKIE, token, max_age=_KEPT_S, httponly=True, samesite="Lax")
            return answer


def _plain(phrase: str) -> str:
    return "-".join(phrase.lower().replace("-", " ").split())


def _inside(path: str) -> str:
    """Only ever back to a page of this server."""
    safe = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable()
    return path if safe else "/"
