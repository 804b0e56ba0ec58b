"""The season's own server, in this process, under the network's name: peers are other addresses of this machine."""

from __future__ import annotations

import http.client
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

from flask import Flask
from waitress import wasyncore

from dashboard.serving.listener import Serving


@contextmanager
def listening(app: Flask, host: str) -> Iterator[int]:
    """Serve until the block ends; yields the port, on the host and on 127.0.0.1."""
    serving = Serving(app, host, 0, here_too=True)
    stopped = threading.Event()

    def run() -> None:
        while not stopped.is_set():
            wasyncore.loop(0.02, use_poll=True, map=serving._map, count=1)

    loop = threading.Thread(target=run)
    loop.start()
    try:
        yield serving.port
    finally:
        stopped.set()
        loop.join()
        serving.close()


class Peer:
    """A connection from one address of this machine to another, asking under a name.

    Parameters
    ----------
    port : int
        The server's.
    whence : str
        The address that it comes from, as 127.0.0.2.
    name : str
        The Host that it asks for.
    at : str
        The address that it connects to.
    """

    def __init__(self, port: int, whence: str, name: str, at: str = "127.0.0.1") -> None:
        self.connection = http.client.HTTPConnection(at, port, timeout=30, source_address=(whence, 0))
        self.host = f"{name}:{port}"
        self.cookie = ""

    def ask(self, method: str, path: str, form: dict[str, str] | None = None, **headers: str) -> int:
        kind = {"Content-Type": "application/x-www-form-urlencoded"} if form is not None else {}
        held = {"Cookie": self.cookie} if self.cookie else {}
        body = urlencode(form) if form is not None else None
        self.connection.request(method, path, body, {"Host": self.host, **kind, **held, **headers})
        answer = self.connection.getresponse()
        answer.read()
        given = answer.getheader("Set-Cookie")
        if given:
            self.cookie = given.split(";")[0]
        return answer.status

    def close(self) -> None:
        self.connection.close()
