"""A device on the network, and what it can try at a season that is served there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from werkzeug.routing import Rule

from dashboard.doors.gate import Gate
from dashboard.doors.phrases import KEYS
from dashboard.doors.rights import holds, right_of
from dashboard.doors.threshold import SERVED
from tagger.screen.visitor import TAG

if TYPE_CHECKING:
    from flask import Flask
    from werkzeug.test import TestResponse

NETWORK_NAME = "192.0.2.7"
LAN = f"http://{NETWORK_NAME}:8765"
SHUT = (401, 403)


class Device:
    """One browser, at an address of its own; with `base` and `address` of this machine, the laptop's."""

    def __init__(self, app: Flask, address: str = "192.0.2.9", base: str = LAN) -> None:
        self.app = app
        self.client = app.test_client()
        self.address, self.base = address, base

    @property
    def gate(self) -> Gate:
        held = self.app.config[SERVED]
        assert isinstance(held, Gate)
        return held

    def ask(self, method: str, path: str, **more: Any) -> TestResponse:
        return self.client.open(
            path,
            method=method,
            base_url=self.base,
            environ_overrides={"REMOTE_ADDR": self.address},
            buffered=True,  # files are closed
            **more,
        )

    def get(self, path: str, **more: Any) -> TestResponse:
        return self.ask("GET", path, **more)

    def page(self, path: str) -> TestResponse:
        """As a browser asks for a page."""
        return self.get(path, headers={"Accept": "text/html"})

    def post(self, path: str, **more: Any) -> TestResponse:
        return self.ask("POST", path, **more)

    def try_phrase(self, phrase: str, after: str = "/") -> TestResponse:
        return self.post(f"/enter?next={after}", data={"phrase": phrase})

    def come_in(self, key: str, name: str = "Ann") -> Device:
        """By the phrase of a key, with a name where one is asked for."""
        assert self.try_phrase(self.gate.phrases.of(key)).status_code == 303
        if key == TAG:
            assert self.post("/enter/name", data={"name": name}).status_code == 303
        return self


def laptop(app: Flask) -> Device:
    return Device(app, "127.0.0.1", "http://127.0.0.1:8765")


def requests_of(rules: Sequence[Rule], game: str, film: str) -> Iterator[tuple[str, str, str]]:
    """Every method of every route: method, rule, an address that it answers to, with things of this season in it."""
    filled = {
        "filename": "tokens.css",
        "game": game,
        "film": film,
        "at_ms": "1000",
        "path": "sets",
        "token": "x",
        "key": "look",
        "id_": "1",
        "act": "pause",
        "at": "0",
        "package_name": "dash",
        "fingerprinted_path": "x.js",
    }
    for rule in rules:
        parts = "".join(filled[text] if is_variable else text for is_variable, text in _parts(rule))
        for method in (*sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}), "OPTIONS", "HEAD"):
            if method in (rule.methods or set()):
                yield method, rule.rule, parts


def _parts(rule: Rule) -> Iterator[tuple[bool, str]]:
    text = rule.rule
    while text:
        before, opened, rest = text.partition("<")
        yield False, before
        if not opened:
            return
        name, _, text = rest.partition(">")
        yield True, name.rpartition(":")[2]


def beyond_the_table(app: Flask, game: str, film: str) -> tuple[int, list[str]]:
    """Try every route as every role that is not the laptop.

    Parameters
    ----------
    app : Flask
        A season that is served to a network.
    game, film : str
        Ids of it.

    Returns
    -------
    tuple of int and list of str
        How many requests were tried, and what was answered otherwise than the table says.
    """
    roles: dict[str, Device] = {"": Device(app, "192.0.2.30")}
    for place, key in enumerate(KEYS):
        roles[key] = Device(app, f"192.0.2.{40 + place}").come_in(key)
    unnamed = Device(app, "192.0.2.50")
    unnamed.try_phrase(unnamed.gate.phrases.of(TAG))
    n, wrong = 0, []
    for who, device, may in [*((key, one, key) for key, one in roles.items()), ("unnamed", unnamed, "")]:
        for method, rule, path in requests_of(list(app.url_map.iter_rules()), game, film):
            if rule.startswith(("/enter", "/doors/<key>")) and method == "POST":
                continue  # would change who he is
            n += 1
            status = device.ask(method, path, json={} if method == "POST" else None).status_code
            is_open = status not in SHUT
            if is_open != holds(may, right_of(method, rule, path)) and (rule, may) not in _SAYS_NO_ITSELF:
                wrong.append(f"{who or 'nobody'}: {method} {path} → {status}")
    return n, wrong


_SAYS_NO_ITSELF = frozenset({("/films", "look"), ("/films", "tag")})
