"""A server for tests in a browser; unlike the program's own, it can be ended from another thread."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

Application = Callable[[dict[str, Any], Any], Iterable[bytes]]


def closed_at_last(app: Application) -> Application:
    """The same application, whose answers are closed even where the browser went away in their middle.

    The server for development leaves such an answer open: it closes it after what is left of the request is read, and
    reading raises. Python then warns of a file left open, in whichever test runs at the time.
    """

    def answered(environ: dict[str, Any], begin: Any) -> Iterator[bytes]:
        answer: Any = app(environ, begin)
        try:
            yield from answer
        finally:
            getattr(answer, "close", lambda: None)()

    return answered


@contextmanager
def listening(app: Application, port: int = 0) -> Iterator[int]:
    """Serve the application on a port of this machine, a free one unless said, until the block ends."""
    from werkzeug.serving import make_server

    server = make_server("127.0.0.1", port, closed_at_last(app), threaded=True)  # type: ignore[arg-type]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield server.port
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
