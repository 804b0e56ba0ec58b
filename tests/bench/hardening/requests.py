"""Every route of the whole application asked in ways that no page of ours asks: nothing may end in a 500.

The routes are read from the application itself, so a new one is in by itself. For each, hypothesis puts together paths,
arguments, headers and bodies: what a page would send with one thing wrong, and things that nobody would send.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from flask import Flask
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from werkzeug.routing import Rule
from werkzeug.test import EnvironBuilder, run_wsgi_app

from dashboard.doors.gate import Gate
from dashboard.server import create_app
from tagger.season import Season
from tests.bench.figure import Figure, at_least, at_most

NAME = "hardening.requests"
ABOUT = "every route asked in malformed ways: answers that are a 500, and refusals that are not in the one shape"
N_REQUESTS = 6000
N_AT_THE_DOOR = 1000
FORM = "/enter"  # asked by people only: what is wrong is said in its page
HERE, ELSEWHERE = "127.0.0.1", "192.0.2.7"

_DEEP = "[" * 100_000
_DIGITS = "9" * 5000
_TEXTS = (
    *("", " ", "\x00", "a\x00b", "..", "../../season.toml", "%", "%zz", "\x1b[2J", "\u202egnp", "😀", "é" * 2000),
    *(
        "00",
        "-1",
        "1e9",
        "1e999",
        "NaN",
        "9" * 20,
        "9" * 40,
        _DIGITS,
        "²",
        "１２",
        "null",
        "{}",
        "<script>",
        "a" * 10_000,
    ),
)
_VALUES = (
    *(None, True, False, 0, -1, 1, 2**31, 2**53 - 1, 2**53, 2**63, -(2**63) - 1, 10**39, 0.5, 1e308, float("nan")),
    *(float("inf"), [], {}, [[]], [None], {"": None}, [{}] * 3, "\ud800", "a\udfffb"),
)
_KNOWN = ("g1", "g2", "nowhere", "coach", "14", "lantern", "state", "withdraw", "2026-02-30", "2026-03-14", "ours")
_NAMES = (
    *("season", "book", "entries", "film", "of_film", "at_ms", "of_ms", "table", "ids", "player", "files", "sort"),
    *("keep", "game", "new", "camera", "size", "first", "last", "name", "folder", "does", "text", "measure", "one_set"),
    *("other_set", "since", "by", "takes", "v", "width", "crc", "next", "phrase", "at", "team", "output", "inputs"),
)
_ENTRY = {
    "v": 1,
    "id": "e1",
    "n": 18,
    "by": "anna",
    "wall": "",
    "does": "mark",
    "kind": "note",
    "film": "f",
    "at_ms": 4,
}
_CALL = {
    "output": "..page.children...header.children..",
    "outputs": [{"id": "page", "property": "children"}, {"id": "header", "property": "children"}],
    "inputs": [
        {"id": "url", "property": "pathname", "value": "/sets"},
        {"id": "url", "property": "search", "value": "?team=ours"},
    ],
    "changedPropIds": ["url.pathname"],
    "state": [],
}
_SENT: tuple[dict[str, Any], ...] = (
    {"season": "saltmarsh-u17-2026", "book": "coach", "entries": [{**_ENTRY, "answers": {"text": "x"}}]},
    {"season": "saltmarsh-u17-2026", "book": "coach", "entries": [{**_ENTRY, "does": "retime", "of": "g1-1"}]},
    {"film": "g1.1", "at_ms": 0, "of_film": "g1.1", "of_ms": 40},
    {"table": "shots", "ids": ["g1-6", "g1@40"]},
    {"player": "14"},
    {"files": ["token"], "game": "g1"},
    {"files": ["token"], "new": {"date": "2026-03-14", "opponent": "Quarry Hill", "home": True}, "camera": "goal"},
    {"size": 5000, "first": 1, "last": 1, "name": "goal.mp4", "game": "g1"},
    {"folder": "token"},
    _CALL,
)
_RAW = (
    *(b"", b"{", b"[]", b"null", b"\xff\xfe", b"\xef\xbb\xbf{}", b'{"a":1,"a":2}', b'{"n":NaN}', b'{"n":-Infinity}'),
    *(_DEEP.encode(), b'{"a":' + _DEEP.encode(), b'{"a":' * 50_000, f'{{"n":{_DIGITS}}}'.encode(), b'{"n":1e999}'),
    *(
        b'{"t":"\\ud800"}',
        b'{"t":"\xed\xa0\x80"}',
        '{"a":1}'.encode("utf-16"),
        b'{"season":' + b'"a' * 1000,
        b"\x00" * 99,
    ),
    *(b'{"file":"floorbook journal","v":1,"season":"saltmarsh-u17-2026","game":"g1","book":"coach","films":7}\n',),
    *(b'{"file":"floorbook journal","v":1e999}\n[]', _DEEP.encode() + b"\n" + _DEEP.encode()),
)
_TYPES = (
    *("application/json", "application/json; charset=utf-16", "application/x-ndjson", "application/octet-stream"),
    *("application/x-www-form-urlencoded", "multipart/form-data", "multipart/form-data; boundary=x", "text/plain", ""),
)
_HEADERS = {
    "Range": ("bytes=0-", "bytes=9-1", f"bytes={_DIGITS}-", f"bytes=-{_DIGITS}", "bytes=-0", "bytes=--", "lines=1-2"),
    "If-Range": ('"x"', "W/", "\xff"),
    "If-None-Match": ("*", '"', 'W/"x", "y'),
    "If-Modified-Since": ("yesterday", "Thu, 99 Nov 99999 99:99:99 GMT", "0"),
    "Accept": ("application/json", "text/html", "*/*;q=NaN", "text/html;level=" + "9" * 400),
    "Cookie": ("floorbook_door=", "a=\xff", "=;=;" * 200),
    "Content-Encoding": ("gzip",),
    "Host": ("localhost:8765", "127.0.0.1:99999999", "[::1]:8765", "[::1", "127.0.0.1:é", "elsewhere.example", ""),
    "Origin": ("null", "http://elsewhere.example"),
    "X-Forwarded-For": ("1.2.3.4, ::::",),
    "Accept-Language": ("de-" * 300,),
    "Authorization": ("Basic !!!", "Bearer " + "a" * 999),
}


@dataclass
class Tally:
    """What came of all requests of one asker: those that ended in a 500, refusals in another shape than the one."""

    asker: str
    n: int = 0
    n_refused: int = 0
    faults: list[str] = field(default_factory=list)
    unshaped: list[str] = field(default_factory=list)

    def take(self, asked: str, status: int, mimetype: str, body: bytes, *, head: bool, html: bool) -> None:
        """Count one answer."""
        self.n += 1
        self.n_refused += status >= 400
        if status == 500:
            self.faults.append(f"{asked}: {body[:300]!r}")
        elif status >= 400 and not head and not (html and mimetype == "text/html") and not _is_shaped(mimetype, body):
            self.unshaped.append(f"{asked}: {status} {mimetype} {body[:100]!r}")


def ask_every_route(app: Flask, season: Season, n_requests: int, asker: str = HERE) -> Tally:
    """Ask every route of an application in malformed ways.

    Parameters
    ----------
    app : Flask
        The whole application.
    season : Season
        The one that it serves: some requests name what is really there.
    n_requests : int
        How many in all, about; each route gets its share.
    asker : str
        The address that asks, and by which the application is asked for.

    Returns
    -------
    Tally
        What came of it.
    """
    tally = Tally(asker)
    there = {
        "game": tuple(game.id for game in season.games.all()),
        "film": tuple(x.id for x in season.shelf.all_films()),
    }
    routes = [(rule, method, part) for rule in app.url_map.iter_rules() for method, part in _methods(rule).items()]
    share = n_requests / sum(part for _, _, part in routes)
    for rule, method, part in routes:
        _ask_one(app, rule, method, -int(-share * part // 1), there, tally)
    return tally


def run() -> list[Figure]:
    """A small season with film, and every route of the program that serves it."""
    from tests.dashboard.herons import build
    from tests.film.maker import Recipe, make

    with tempfile.TemporaryDirectory() as name:
        film = make(Recipe("game", n_frames=1000, gop=25), Path(name))
        season = Season.open(build(Path(name) / "herons", film))
        try:
            app = create_app(season)
            app.logger.disabled = True
            tally = ask_every_route(app, season, N_REQUESTS)
            gated = create_app(season, hosts=(ELSEWHERE,), gate=Gate())
            outside = ask_every_route(gated, season, N_AT_THE_DOOR, ELSEWHERE)
        finally:
            season.close()
    faults, unshaped = tally.faults + outside.faults, tally.unshaped + outside.unshaped
    for line in (*faults[:10], *unshaped[:10]):
        print(line, file=sys.stderr)
    return [
        at_least("malformed requests", tally.n, "requests", 5000),
        Figure("of these refused", tally.n_refused, "requests"),
        Figure("more, of another device without a phrase", outside.n, "requests"),
        at_most("answered with a 500", len(faults), "requests", 0),
        at_most("refused in another shape than the one", len(unshaped), "requests", 0),
    ]


def _methods(rule: Rule) -> dict[str, int]:
    """Those of a route and one that it does not take, each with its part of the requests: most bring a body."""
    parts = {"GET": 5, "HEAD": 1, "POST": 12}
    taken = {method: parts.get(method, 12) for method in sorted(rule.methods or ()) if method != "OPTIONS"}
    return taken | {"DELETE" if "POST" in taken else "POST": 1}


def _ask_one(app: Flask, rule: Rule, method: str, share: int, there: Mapping[str, Sequence[str]], tally: Tally) -> None:
    @settings(
        max_examples=share,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def each(data: st.DataObject) -> None:
        path = "/".join(_part(piece, there, data) for piece in rule.rule.split("/"))
        headers = {name: data.draw(_values_of(name)) for name in data.draw(_some_headers())}
        body, kind = data.draw(_bodies()) if method not in ("GET", "HEAD") else (b"", "")
        _ask(app, method, path, query=data.draw(_arguments()), headers=headers, body=body, kind=kind, tally=tally)

    each()


def _ask(
    app: Flask, method: str, path: str, *, query: str, headers: dict[str, str], body: bytes, kind: str, tally: Tally
) -> None:
    builder = EnvironBuilder(
        method=method, base_url=f"http://{tally.asker}:8765/", data=body or None, content_type=kind or None
    )
    environ = builder.get_environ()
    builder.close()
    environ |= {"PATH_INFO": path, "QUERY_STRING": query, "REMOTE_ADDR": tally.asker}
    environ |= {f"HTTP_{name.upper().replace('-', '_')}": value for name, value in headers.items()}
    answer, status, told = run_wsgi_app(app, environ, buffered=True)
    text = b"".join(answer)
    asked = f"{method} {path[:200]}?{query[:200]} {headers} {kind} {body[:200]!r}"[:900]
    html = "text/html" in headers.get("Accept", "") or path == FORM
    mimetype = (told.get("Content-Type") or "").partition(";")[0]
    tally.take(asked, int(status.split()[0]), mimetype, text, head=method == "HEAD", html=html)


def _is_shaped(mimetype: str, body: bytes) -> bool:
    try:
        told = json.loads(body)
    except ValueError:
        return False
    return (
        mimetype == "application/json"
        and isinstance(told, dict)
        and set(told) == {"error"}
        and set(told["error"]) == {"code", "text"}
        and all(isinstance(each, str) and each for each in told["error"].values())
    )


def _part(piece: str, there: Mapping[str, Sequence[str]], data: st.DataObject) -> str:
    """A part of a route's path as a server hands it on: bytes as latin-1."""
    if "<" not in piece:
        return piece
    before, _, rest = piece.partition("<")
    named, _, after = rest.partition(">")
    kind, _, name = named.rpartition(":")
    usual = there.get(name) or (("0", "40", "1") if kind == "int" else ("coach", "pause", "view/main.js", "dash"))
    part = data.draw(_strange_parts() if data.draw(_one_in_four()) else st.sampled_from(usual))
    return before + part.encode("utf-8", "surrogatepass").decode("latin-1") + after


@cache
def _strange_parts() -> st.SearchStrategy[str]:
    return st.one_of(st.sampled_from(_TEXTS), st.text(max_size=12))


@cache
def _one_in_four() -> st.SearchStrategy[bool]:
    return st.sampled_from((False, False, False, True))


@cache
def _values_of(header: str) -> st.SearchStrategy[str]:
    return st.sampled_from(_HEADERS[header])


@cache
def _some_headers() -> st.SearchStrategy[list[str]]:
    """Mostly none, so that most requests come as far as the route itself."""
    listed = st.lists(st.sampled_from(sorted(_HEADERS)), min_size=1, max_size=3, unique=True)
    return st.one_of(st.just([]), st.just([]), listed)


@cache
def _arguments() -> st.SearchStrategy[str]:
    value = st.one_of(st.sampled_from(_KNOWN), st.sampled_from(_TEXTS))
    pair = st.tuples(st.sampled_from(_NAMES), value).map(lambda one: f"{one[0]}={quote(one[1])}")
    raw = st.sampled_from(("&&==", "since=%ff%fe", "book=%ed%a0%80", "%00", "v", "a=" * 300))
    return st.lists(st.one_of(pair, pair, raw), max_size=3).map("&".join)


@cache
def _json_values() -> st.SearchStrategy[Any]:
    leaf = st.one_of(st.sampled_from(_VALUES), st.sampled_from(_TEXTS), st.sampled_from(_KNOWN))
    return st.recursive(
        leaf, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(_NAMES), inner, max_size=3)
    )


@cache
def _bodies() -> st.SearchStrategy[tuple[bytes, str]]:
    wrong = st.tuples(st.sampled_from(_SENT), st.randoms(use_true_random=False), _json_values()).map(_one_thing_wrong)
    strange = st.dictionaries(st.sampled_from(_NAMES), _json_values(), max_size=5)
    written = st.one_of(wrong, wrong, strange).map(lambda sent: (json.dumps(sent).encode(), "application/json"))
    form = st.tuples(_arguments().map(str.encode), st.just("application/x-www-form-urlencoded"))
    raw = st.tuples(st.sampled_from(_RAW), st.sampled_from(_TYPES))
    return st.one_of(written, written, form, raw)


def _one_thing_wrong(told: tuple[dict[str, Any], Any, Any]) -> dict[str, Any]:
    """What a page would send, with one value in it exchanged."""
    sent, chance, value = told
    made = json.loads(json.dumps(sent))
    holder, name = chance.choice(list(_places(made)))
    holder[name] = value
    return made


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    for name, each in value.items() if isinstance(value, dict) else enumerate(value):
        yield value, name
        if isinstance(each, dict | list):
            yield from _places(each)
