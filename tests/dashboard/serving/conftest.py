"""A small application served in this process, as the program serves the season."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import pytest
from flask import Flask, request
from waitress import wasyncore

from dashboard.serving.listener import Serving
from dashboard.serving.peer import peer_address

PAGE_S = 0.3


class Small:
    """A served application with a page that takes its time, a film, and a place for marks."""

    def __init__(self, film: Any, tls: Any = None, n_places: int = 30) -> None:
        self.app = Flask("small")
        self.app.add_url_rule("/page", "page", view_func=self.page)
        self.app.add_url_rule("/peer", "peer", view_func=lambda: f"{request.scheme} {peer_address(request.environ)}")
        self.app.add_url_rule("/tag/g1/entries", "entries", view_func=lambda: request.get_data(), methods=["POST"])
        self.app.add_url_rule("/film/f1", "film", view_func=film)
        self.serving = Serving(self.app, "127.0.0.1", 0, tls)
        for one in self.serving._listening:
            one.n_places = n_places
        self.stopped = threading.Event()
        self.loop = threading.Thread(target=self._run)
        self.loop.start()

    def page(self) -> str:
        time.sleep(PAGE_S)
        return "a page"

    def _run(self) -> None:
        while not self.stopped.is_set():
            wasyncore.loop(0.02, use_poll=True, map=self.serving._map, count=1)

    def close(self) -> None:
        self.stopped.set()
        self.loop.join()
        self.serving.close()


@pytest.fixture
def small(tmp_path: Any) -> Iterator[Callable[..., Small]]:
    """Makes such servers; all are closed at the end."""
    from tagger.screen.ranges import file_answer

    path = tmp_path / "film.mp4"
    path.write_bytes(b"f" * (24 * 1024 * 1024))
    with ExitStack() as held:

        def made(**named: Any) -> Small:
            one = Small(lambda: file_answer(request, path, "video/mp4"), **named)
            held.callback(one.close)
            return one

        yield made


@contextmanager
def connections(port: int, n: int, begun: bytes = b"") -> Iterator[list[socket.socket]]:
    """Connections that ask nothing, or not to the end."""
    with ExitStack() as held:
        made = [held.enter_context(socket.create_connection(("127.0.0.1", port), timeout=10)) for _ in range(n)]
        for one in made:
            one.sendall(begun)
        yield made
