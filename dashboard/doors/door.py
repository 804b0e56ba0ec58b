"""The pages of the doors: the one before which other devices stand, and the laptop's page of who may come in."""

from __future__ import annotations

import time
from urllib.parse import quote

from flask import Blueprint, Response, make_response, redirect, request

from dashboard.doors.gate import Gate
from dashboard.doors.guests import NameRefused, present_guest
from dashboard.doors.origin import address_of, from_this_machine
from dashboard.doors.phrases import KEYS
from dashboard.doors.sheet import drawn
from dashboard.doors.threshold import inside, keep_token
from dashboard.doors.words import CAME_IN, KEY_NAMES, OPENS, way_of
from tagger.screen.answers import Refused, error_answer
from tagger.screen.visitor import SEND, TAG

_MOST_BYTES = 16 * 1024


def create_door(gate: Gate | None) -> Blueprint:
    """The pages of the doors.

    Parameters
    ----------
    gate : Gate or None
        Who may come in; None where the season is served to this machine alone.

    Returns
    -------
    Blueprint
        /enter, before which other devices stand; /doors, which only the laptop sees: the three phrases, who is in, and
        a button to withdraw each.
    """
    door = Blueprint(
        "door", __name__, static_folder="static", static_url_path="/enter/static", template_folder="templates"
    )

    @door.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return error_answer(error)

    @door.get("/enter")
    def ask() -> Response:
        return _asked(gate)

    @door.post("/enter")
    def enter() -> Response:
        if gate is None or from_this_machine(request):
            return _to(inside(request.args.get("next", "/")))
        try:
            token = gate.enter(_field("phrase"), address_of(request), present_guest())
        except Refused as refused:
            answer = _asked(gate, told=refused.text, again=True)
            answer.status_code = refused.status
            return answer
        answer = _to(_after(gate, token))
        return keep_token(answer, token) if token else answer

    @door.post("/enter/name")
    def name() -> Response:
        guest = present_guest()
        if gate is None or guest is None or guest.key != TAG:
            return _to("/enter")
        if not guest.name:
            try:
                gate.guests.call(guest, _field("name"))
            except NameRefused as fault:
                answer = _asked(gate, told=f"{str(fault)[:1].upper()}{str(fault)[1:]}.")
                answer.status_code = 400
                return answer
        return _to(inside(request.args.get("next", "/")))

    @door.get("/doors")
    def doors() -> Response:
        return drawn("doors.html", gate=gate, **(_doors(gate) if gate is not None else {}))

    @door.post("/doors/<key>/withdraw")
    def withdraw(key: str) -> Response:
        _a_gate(gate, key).withdraw(key)
        return _to(f"/doors#{key}")

    @door.post("/doors/<key>/renew")
    def renew(key: str) -> Response:
        _a_gate(gate, key).renew(key)
        return _to(f"/doors#{key}")

    @door.post("/doors/out")
    def out() -> Response:
        if gate is not None:
            gate.guests.put_out_one(_field("who"))
        return _to("/doors#in")

    return door


def _asked(gate: Gate | None, told: str = "", again: bool = False) -> Response:
    if gate is None or from_this_machine(request):
        return drawn("here.html", gate=gate)
    guest = present_guest()
    unnamed = guest is not None and guest.key == TAG and not guest.name and not again
    after = inside(request.args.get("next", "/"))
    return drawn("name.html" if unnamed else "door.html", told=told, next=after, port=_port(), secure=request.is_secure)


def _after(gate: Gate, token: str) -> str:
    """Where somebody goes who knew a phrase: a tagger is asked for his name first."""
    guest = gate.guests.known(token) or present_guest()
    asked = inside(request.args.get("next", "/"))
    if guest is not None and guest.key == TAG and not guest.name:
        return f"/enter?next={quote(asked)}"
    return way_of(guest.key)[0] if guest is not None and guest.key == SEND else asked


def _doors(gate: Gate) -> dict[str, object]:
    where = list(gate.addresses)
    keys = []
    people_in = gate.guests.all()
    for key in KEYS:
        phrase = gate.phrases.of(key)
        n_in = sum(one.key == key for one in people_in)
        link = f"{where[0]}enter#{phrase}" if where and phrase else ""
        told = {"key": key, "name": KEY_NAMES[key], "opens": OPENS[key], "phrase": phrase, "n_in": n_in}
        keys.append({**told, "link": link, "qr": qr_of(link) if link else ""})
    people = [
        {
            "label": one.label,
            "who": one.name or ("somebody" if one.key != TAG else "somebody who has not said his name"),
            "came_in": CAME_IN[one.key],
            "address": one.address,
            "since": _time(one.came_at),
            "heard": _time(one.heard_at),
        }
        for one in people_in
    ]
    return {"keys": keys, "people": people, "where": where, "plain": not request.is_secure, "now": _time(time.time())}


def qr_of(link: str) -> str:
    """A link as a QR code.

    Parameters
    ----------
    link : str
        What the phone opens. The phrase stands behind the #, which no browser sends and no log keeps.

    Returns
    -------
    str
        SVG without any style or script.
    """
    import segno

    made: str = segno.make(link, error="m", micro=False).svg_inline(
        omitsize=True, border=4, dark="#000", light="#fff", svgclass="qr", lineclass=None
    )
    return made


def _time(seconds: float) -> str:
    return time.strftime("%H:%M", time.localtime(seconds))


def _port() -> str:
    return request.host.rpartition(":")[2] if ":" in request.host.rpartition("]")[2] else ""


def _a_gate(gate: Gate | None, key: str) -> Gate:
    if gate is None:
        raise Refused(404, "no_door", "this season is served to this computer alone; there is no phrase")
    if key not in KEYS:
        raise Refused(404, "no_key", f"there are three phrases: {', '.join(KEYS)}")
    return gate


def _field(name: str) -> str:
    if (request.content_length or 0) > _MOST_BYTES:
        raise Refused(413, "too_much", "that is too much for a form of a few words")
    return request.form.get(name, "")[:200]


def _to(where: str) -> Response:
    answer = make_response(redirect(where, 303))
    answer.headers["Cache-Control"] = "no-store"
    return answer
