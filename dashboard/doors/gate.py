"""The gate before every page of a season that is served to other devices.

Each request is given its visitor: the laptop itself, which needs no phrase, or somebody who came in by one of three.
What he may ask stands in `rights`; the gate refuses the rest. On the loopback address there is no gate: only this
machine's own user can reach it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from urllib.parse import quote

from flask import Flask, Response, g, make_response, redirect, request

from dashboard.doors.guests import Guest, Guests, is_named
from dashboard.doors.origin import from_this_machine
from dashboard.doors.patience import Patience
from dashboard.doors.phrases import Phrases
from dashboard.doors.rights import OPEN, holds, right_of
from dashboard.doors.sheet import drawn
from dashboard.doors.threshold import COOKIE, ENTER, SERVED
from dashboard.doors.words import way_of, why_not
from tagger.screen.answers import Refused, error_answer, wants_page
from tagger.screen.visitor import LAPTOP, SEND, Visitor, welcome

_TAGS = "/tag/<game>/entries"


class Gate:
    """Who may come in, and what each may do.

    Parameters
    ----------
    clock : callable, optional
        Seconds that only grow.
    wall : callable, optional
        Seconds since 1970.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic, wall: Callable[[], float] = time.time) -> None:
        self.phrases = Phrases()
        self.guests = Guests(wall)
        self.addresses: Sequence[str] = ()
        """Where other devices open it, the most telling first; each ends in a slash."""
        self.fingerprint: Sequence[str] = ()
        """The certificate's, in lines, where it is served by https."""
        self._patience = Patience(clock)

    def withdraw(self, key: str) -> None:
        """Let a phrase open nothing any more; who came in by it is out with his next request.

        Parameters
        ----------
        key : str
            SEND, LOOK or TAG.
        """
        self.phrases.withdraw(key)
        self.guests.put_out(key)

    def renew(self, key: str) -> None:
        """Make a new phrase; who came in by the one before is out with his next request.

        Parameters
        ----------
        key : str
            SEND, LOOK or TAG.
        """
        self.phrases.renew(key)
        self.guests.put_out(key)

    def enter(self, phrase: str, address: str, held: Guest | None = None) -> str:
        """Try a phrase.

        Parameters
        ----------
        phrase : str
            As it was typed.
        address : str
            Where it comes from.
        held : Guest, optional
            Who this browser is already; he leaves, unless it is the same phrase again.

        Returns
        -------
        str
            The token that his browser keeps; empty when he is in by this phrase already.

        Raises
        ------
        Refused
            403: wrong. 429: too soon after wrong ones from the same address.
        """
        found: list[str] = []

        def is_right() -> bool:
            key = self.phrases.key_of(phrase)
            found.append(key)
            return key != ""

        left_s = self._patience.try_one(address, is_right)
        if left_s:
            wait = f"{left_s:.0f} s" if left_s >= 1 else "a second"
            raise Refused(429, "too_soon", f"Too soon after a wrong one; wait {wait}, then try again.")
        if left_s is not None:
            raise Refused(403, "wrong_phrase", "That is not it. Look where floorbook was started, or ask the coach.")
        key = found[0]
        if held is not None and held.key == key:
            return ""
        if held is not None:
            self.guests.put_out_one(held.label)
        token = self.guests.welcome(key, address)
        if self.phrases.key_of(phrase) != key:  # withdrawn at this very moment
            self.guests.put_out(key)
            raise Refused(403, "wrong_phrase", "That phrase was withdrawn just now; ask the coach.")
        return token

    def install(self, server: Flask) -> None:
        """Stand before every page of a server.

        Parameters
        ----------
        server : Flask
            The application, which has the pages of the door.
        """
        server.config[SERVED] = self
        server.before_request(self._stand)

    def _stand(self) -> Response | None:
        rule = request.url_rule.rule if request.url_rule is not None else None
        right = right_of(request.method, rule, request.path)
        if from_this_machine(request):
            if rule == _TAGS:
                self.guests.at_laptop([request.args.get("by", "")])
            welcome(LAPTOP)
            return None
        guest = self.guests.known(request.cookies.get(COOKIE))
        g.floorbook_guest = guest
        inside = guest is not None and is_named(guest)
        welcome(Visitor(guest.key, guest.name) if guest is not None and inside else Visitor(""))
        if right == OPEN:
            return None
        if guest is None or not inside:
            return _asked_first(guest)
        if holds(guest.key, right):
            return None
        return _refused(guest.key, right)


def _asked_first(guest: Guest | None) -> Response:
    if wants_page():
        return make_response(redirect(f"{ENTER}?next={quote(request.full_path.rstrip('?'))}"))
    if guest is not None:
        return error_answer(Refused(401, "no_name", "say first who tags; open the page anew"))
    return error_answer(Refused(401, "no_phrase", "the pass-phrase is asked first; open the page anew"))


def _refused(key: str, right: str) -> Response:
    if wants_page() and key == SEND and request.path == "/":
        return make_response(redirect(way_of(key)[0]))
    why = why_not(key, right)
    if not wants_page():
        return error_answer(Refused(403, "may_not", why))
    way, called = way_of(key)
    answer = drawn("turned_away.html", why=f"{why[:1].upper()}{why[1:]}.", way=way, called=called)
    answer.status_code = 403
    return answer
