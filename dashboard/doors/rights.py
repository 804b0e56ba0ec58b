"""What each route takes: one table for the whole application. What stands not in it is the laptop's alone.

A right is not a rung of a ladder: who came in to send film sees nothing of the season, who came in to look or to tag
sends none. Only the laptop has them all.
"""

from __future__ import annotations

from types import MappingProxyType

from tagger.screen.visitor import ALL, LOOK, SEND, TAG

OPEN = "open"
"""Whoever comes: the door itself and what it is drawn with."""

IN = "in"
"""Whoever has come in: the program's own files, the same for everybody."""

_PROGRAM = "/screen/<path:filename>"
_DRAWN_WITH = ("/screen/tokens.css", "/screen/fonts.css", "/screen/fonts/")
_HOLDERS = MappingProxyType(
    {
        OPEN: frozenset({"", SEND, LOOK, TAG, ALL}),
        IN: frozenset({SEND, LOOK, TAG, ALL}),
        SEND: frozenset({SEND, ALL}),
        LOOK: frozenset({LOOK, TAG, ALL}),
        TAG: frozenset({TAG, ALL}),
        ALL: frozenset({ALL}),
    }
)

RIGHTS = MappingProxyType(
    {
        # the door
        "GET /enter": OPEN,
        "POST /enter": OPEN,
        "POST /enter/name": OPEN,
        "GET /enter/static/<path:filename>": OPEN,
        "GET /doors": ALL,
        "POST /doors/<key>/withdraw": ALL,
        "POST /doors/<key>/renew": ALL,
        "POST /doors/out": ALL,
        # the program's own files
        "GET /screen/<path:filename>": IN,  # but what the door is drawn with
        "GET /assets/<path:filename>": IN,
        "GET /films/static/<path:filename>": IN,
        "GET /_favicon.ico": IN,
        # pages of numbers, and the film behind them
        "GET /": LOOK,
        "GET /<path:path>": LOOK,
        "GET /_dash-layout": LOOK,
        "GET /_dash-dependencies": LOOK,
        "POST /_dash-update-component": LOOK,
        "GET /_dash-component-suites/<string:package_name>/<path:fingerprinted_path>": LOOK,
        "GET /_reload-hash": LOOK,
        "POST /clips": LOOK,
        "GET /film/<film>": LOOK,
        "GET /film/<film>/frames": LOOK,
        "GET /film/<film>/strip.json": LOOK,
        "GET /film/<film>/still/<int:at_ms>.jpg": LOOK,
        # tagging
        "GET /tag/<game>": TAG,
        "GET /tag/<game>/start.json": TAG,
        "GET /tag/<game>/films.json": TAG,
        "GET /tag/<game>/entries": TAG,
        "GET /tag/<game>/books.json": TAG,
        "GET /tag/<game>/folded.json": TAG,
        "POST /tag/<game>/entries": TAG,
        "GET /games/<game>/book.jsonl": TAG,
        # what changes more than one's own marks
        "POST /tag/<game>/tie": ALL,
        "POST /games/<game>/book": ALL,
        "POST /games/<game>/book.jsonl": ALL,
        "POST /games/<game>/put-back": ALL,
        "POST /question": ALL,
        # film
        "GET /films": IN,
        "GET /films/send/state.json": SEND,
        "POST /films/send/begin": SEND,
        "POST /films/send/<id_>/<int:at>": SEND,
        "POST /films/send/<id_>/finish": SEND,
        "POST /films/send/<id_>/rest": SEND,
        "GET /films/send/job/<int:id_>.json": SEND,
        "POST /films/send/<id_>/clear": ALL,
        "GET /films/state.json": ALL,
        "GET /films/places.json": ALL,
        "GET /films/folder/<token>.json": ALL,
        "GET /films/glance/<token>.json": ALL,
        "POST /films/bring": ALL,
        "POST /films/find": ALL,
        "POST /films/jobs/<int:id_>/<act>": ALL,
        "POST /films/jobs/<act>": ALL,
        "POST /films/<film>/light": ALL,
    }
)


def right_of(method: str, rule: str | None, path: str = "") -> str:
    """What a request takes.

    Parameters
    ----------
    method : str
        HTTP method.
    rule : str or None
        The rule of the route that it found; None when it found none.
    path : str
        What was asked for.

    Returns
    -------
    str
        OPEN, IN, SEND, LOOK, TAG or ALL. What found no route takes IN: its answer is that nothing is there.
    """
    if rule is None:
        return IN
    if method in ("GET", "HEAD") and rule == _PROGRAM and path.startswith(_DRAWN_WITH):
        return OPEN
    return RIGHTS.get(f"{'GET' if method == 'HEAD' else method} {rule}", ALL)


def holds(may: str, right: str) -> bool:
    """Whether somebody has a right.

    Parameters
    ----------
    may : str
        What he came in by, as `Visitor.may`; empty for who is not in.
    right : str
        As from `right_of`.

    Returns
    -------
    bool
        False also for what nobody knows.
    """
    return may in _HOLDERS.get(right, _HOLDERS[ALL])
