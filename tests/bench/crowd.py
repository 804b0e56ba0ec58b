"""The crowd that stands before a served season, from a process of its own: `python -m tests.bench.crowd ADDRESS JSON`.

It opens what JSON says and prints "on"; when its input closes it prints what it got, as JSON, and ends. It asks only
on the loopback address, of the server that its caller started. A crowd brings computers of its own, so here it takes
of this one's cores what server and tagger leave.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import socket
import ssl
import sys
import time
from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

SIP_BYTES, SIP_EVERY_S = 2048, 0.5
HALF = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Half: "


def click(path: str) -> bytes:
    """The body of what a page of the dashboard sends when its address becomes this one."""
    outputs = [{"id": "page", "property": "children"}, {"id": "header", "property": "children"}]
    inputs = [
        {"id": "url", "property": "pathname", "value": path},
        {"id": "url", "property": "search", "value": ""},
    ]
    told = {"output": "..page.children...header.children..", "outputs": outputs, "inputs": inputs}
    return json.dumps(told | {"changedPropIds": ["url.pathname"]}).encode()


class Crowd:
    """Connections to one server, and what came over them.

    Parameters
    ----------
    address : str
        Where the season is served, as a browser has it.
    n_readers : int
        How many will click.
    pages : sequence of str
        Addresses of the pages they click to, one after the other.
    """

    def __init__(self, address: str, n_readers: int, pages: Sequence[str] = ()) -> None:
        found = urlsplit(address)
        if found.hostname not in ("127.0.0.1", "localhost"):
            raise SystemExit("a crowd stands only before this machine's own server")
        self.port = int(found.port or 0)
        self.tls = unchecked() if found.scheme == "https" else None
        self.pages = pages
        self.page_ms: list[float] = []
        self.n_refused = 0
        self.n_film_bytes = 0
        self._come = [asyncio.Event() for _ in range(n_readers)]
        self._held: list[socket.socket] = []

    def idle(self, n: int) -> None:
        """Open connections that never ask; every second one sends half a request."""
        for each in range(n):
            held = socket.create_connection(("127.0.0.1", self.port), timeout=5)
            if each % 2:
                held.sendall(HALF if self.tls is None else b"\x16\x03\x01")
            self._held.append(held)

    async def reader(self, first: int) -> None:
        """Click from page to page, each as soon as the last is there."""
        place = first
        while True:
            with contextlib.suppress(OSError, asyncio.IncompleteReadError):
                reading, writing = await self._connect()
                while True:
                    path = self.pages[place % len(self.pages)]
                    place += 1
                    start = time.perf_counter()
                    status, _ = await self._ask(reading, writing, "POST", "/_dash-update-component", click(path))
                    self.page_ms.append((time.perf_counter() - start) * 1000)
                    self.n_refused += status != 200
                    self._come[first].set()
            await asyncio.sleep(0.2)

    async def all_read(self) -> None:
        """Wait until every reader has had a page."""
        for one in self._come:
            await one.wait()

    async def sipper(self, film: str, whole: bool) -> None:
        """Take a film in at a few KB a second, whole or in ranges, again from the start when it ends."""
        while True:
            with contextlib.suppress(OSError, asyncio.IncompleteReadError):
                reading, writing = await self._connect(narrow=True)
                extra = "" if whole else "Range: bytes=0-\r\n"
                writing.write(f"GET {film} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n{extra}\r\n".encode())
                while data := await reading.read(SIP_BYTES):
                    self.n_film_bytes += len(data)
                    await asyncio.sleep(SIP_EVERY_S)
            await asyncio.sleep(0.2)

    async def _connect(self, *, narrow: bool = False) -> tuple[asyncio.StreamReader, asyncio.StreamWriter]:
        plain = socket.socket()
        if narrow:
            plain.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 8192)
        plain.setblocking(False)
        await asyncio.get_running_loop().sock_connect(plain, ("127.0.0.1", self.port))
        name = "127.0.0.1" if self.tls else None
        limit = SIP_BYTES if narrow else 1 << 20
        return await asyncio.open_connection(sock=plain, ssl=self.tls, server_hostname=name, limit=limit)

    async def _ask(
        self, reading: asyncio.StreamReader, writing: asyncio.StreamWriter, verb: str, path: str, body: bytes
    ) -> tuple[int, bytes]:
        kind = f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n"
        writing.write(f"{verb} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n{kind}\r\n".encode() + body)
        head = (await reading.readuntil(b"\r\n\r\n")).decode("latin-1")
        size = next(int(line[15:]) for line in head.split("\r\n") if line.lower().startswith("content-length:"))
        return int(head.split(" ", 2)[1]), await reading.readexactly(size)


def unchecked() -> ssl.SSLContext:
    """A context for this machine's own server, whose certificate nobody signed."""
    made = ssl.create_default_context()
    made.check_hostname = False
    made.verify_mode = ssl.CERT_NONE
    return made


async def stand(address: str, wanted: dict[str, Any]) -> dict[str, Any]:
    """Stand there until the input closes.

    Parameters
    ----------
    address : str
        Of the server.
    wanted : dict
        `idle`, `slow`, `readers`: how many; `film`: the address of a film, for the slow ones; `pages`:
        addresses of pages, for the readers.

    Returns
    -------
    dict
        `first_s`: until every reader had a page; `page_ms`: what each click took; `n_refused`; `n_film_bytes`.
    """
    crowd = Crowd(address, wanted.get("readers", 0), wanted.get("pages", ()))
    crowd.idle(wanted.get("idle", 0))
    slow = [crowd.sipper(wanted["film"], whole=bool(each % 2)) for each in range(wanted.get("slow", 0))]
    readers = [crowd.reader(each) for each in range(wanted.get("readers", 0))]
    tasks = [asyncio.ensure_future(each) for each in (*slow, *readers)]
    start = time.perf_counter()
    await crowd.all_read()
    first_s = time.perf_counter() - start
    print("on", flush=True)
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)
    for task in tasks:
        task.cancel()
    await asyncio.gather(*tasks, return_exceptions=True)
    return {
        "first_s": first_s,
        "page_ms": crowd.page_ms,
        "n_refused": crowd.n_refused,
        "n_film_bytes": crowd.n_film_bytes,
    }


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(10)
    print(json.dumps(asyncio.run(stand(sys.argv[1], json.loads(sys.argv[2])))), flush=True)
