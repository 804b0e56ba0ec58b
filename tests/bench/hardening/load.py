"""Whether readers can stop the tagger: the sample season served, a crowd before it, and a tagger's keys all the while.

The crowd comes from a process of its own (`tests.bench.crowd`), on the loopback address only: connections that never
ask, films taken in at a few KB a second, readers who click without a pause. The keys go into a game that the readers
see, so that every one of them makes a new state of the season.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from dashboard.pages.registry import PAGES
from tests.bench.crowd import click, unchecked
from tests.bench.figure import Figure, at_most
from tests.bench.heavy import percentile
from tests.served import CLONE, Served

NAME = "hardening.load"
ABOUT = (
    "key → on disk, and a new reader's first page, with idle connections, slow downloads and readers; http and https"
)
GAME, BOOK = "g3", "anna"
CROWDS: Mapping[str, dict[str, int]] = {
    "alone": {},
    "200 idle": {"idle": 200},
    "16 slow": {"slow": 16},
    "40 readers": {"readers": 40},
    "all at once": {"idle": 200, "slow": 16, "readers": 40},
}
N_KEYS, KEY_EVERY_S = 150, 0.1
N_NEW = 5
STEP_MS = 7919
FILM_BYTES = 48 * 1024 * 1024


def run() -> list[Figure]:
    """Time keys and new readers before each crowd, plain and under TLS."""
    from dashboard.demo import make_demo

    with tempfile.TemporaryDirectory() as name, own_home(Path(name)):
        folder = Path(name) / "demo"
        make_demo(folder)
        film = long_film(folder)
        figures = []
        for way, more in (("http", ()), ("https", ("--https",))):
            served = Served(folder, *more)
            try:
                figures += _figures(way, served.address, folder, film)
            finally:
                served.stop()
    return figures


@contextmanager
def own_home(folder: Path) -> Iterator[None]:
    """Let nothing that is made be kept in the user's own folder: the certificate is."""
    before = dict(os.environ)
    os.environ.update({name: str(folder) for name in ("XDG_DATA_HOME", "LOCALAPPDATA", "HOME")})
    try:
        yield
    finally:
        os.environ.clear()
        os.environ.update(before)


def _figures(way: str, address: str, folder: Path, film: str) -> Iterator[Figure]:
    alone = 0.0
    pages = [page.address.format(game="g3", player="14", set="lantern") for page in PAGES.values()]
    first_page(address)  # the season is folded once after the start; `page` measures that
    for name, wanted in CROWDS.items():
        with crowd(address, {**wanted, "film": film, "pages": pages}) as got:
            time.sleep(2)
            keys, firsts = tagged(address, folder)
        p95 = percentile(keys, 0.95)
        alone = alone or p95
        yield Figure(f"{way}, {name}: key to disk, p50", percentile(keys, 0.5), "ms")
        yield at_most(f"{way}, {name}: key to disk, p95", p95, "ms", 40)
        yield Figure(f"{way}, {name}: p95 to that of nobody there", p95 / alone, "times")
        yield at_most(f"{way}, {name}: a new reader’s first page, slowest", max(firsts), "s", 2)
        if got["page_ms"]:
            yield Figure(f"{way}, {name}: all came at once, until the last had a page", got["first_s"], "s")
            yield Figure(f"{way}, {name}: pages read", len(got["page_ms"]), "pages")
            yield Figure(f"{way}, {name}: a page, median", statistics.median(got["page_ms"]), "ms")
            yield Figure(f"{way}, {name}: a page, p95", percentile(got["page_ms"], 0.95), "ms")


def long_film(folder: Path) -> str:
    """Give the season a film too long for any buffer, and say its address: a short one with room behind it."""
    from tagger.film.fingerprint import fingerprint
    from tagger.film.index import build_index
    from tagger.season import Season
    from tagger.shelf.films import NewFilm
    from tests.film.maker import Recipe, make

    path = make(Recipe("long", n_frames=100), folder.parent)
    room = FILM_BYTES - path.stat().st_size
    with path.open("ab") as film:
        film.write(room.to_bytes(4, "big") + b"free" + bytes(room - 8))
    season = Season.open(folder)
    try:
        index = build_index(path)
        season.games.add("long", "2026-01-02", "Quarry Hill", True)
        season.shelf.enter(
            "long",
            [
                NewFilm(
                    id="long.1",
                    name=path.name,
                    duration_ms=index.duration_ms,
                    path=path,
                    size_bytes=path.stat().st_size,
                    fingerprint=fingerprint(path, index),
                    index=index,
                )
            ],
        )
    finally:
        season.close()
    return "/film/long.1"


@contextmanager
def crowd(address: str, wanted: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """A crowd before a server, for the length of a block.

    Parameters
    ----------
    address : str
        The server's.
    wanted : dict
        See `tests.bench.crowd.stand`.

    Yields
    ------
    dict
        Empty; afterwards what the crowd got.
    """
    command = [sys.executable, "-m", "tests.bench.crowd", address, json.dumps(wanted)]
    process = subprocess.Popen(command, cwd=CLONE, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdin is not None and process.stdout is not None
    got: dict[str, Any] = {"page_ms": []}
    try:
        if process.stdout.readline().strip() != "on":
            raise RuntimeError("the crowd did not come")
        yield got
        told, _ = process.communicate(timeout=30)
        got.update(json.loads(told))
    finally:
        process.kill()
        process.communicate()


def tagged(address: str, folder: Path, n_keys: int = N_KEYS, n_new: int = N_NEW) -> tuple[list[float], list[float]]:
    """Tag at an even pace, and let a new reader come now and then.

    Parameters
    ----------
    address : str
        The server's.
    folder : Path
        The season's.
    n_keys, n_new : int
        How many keys and readers.

    Returns
    -------
    tuple of list of float
        Milliseconds of each key to its acknowledgement; seconds of each reader's first page.
    """
    import threading

    keys: list[float] = []
    firsts: list[float] = []
    mark, n = last_mark(folder)
    season = re.search(r'^id = "(.*)"', (folder / "season.toml").read_text(encoding="utf-8"), re.MULTILINE)
    assert season is not None

    def tag() -> None:
        line = connection(address)
        for each in range(n_keys):
            start = time.perf_counter()
            at_ms = (n + each) * STEP_MS % mark["at_ms"]  # all over the game: marks pile up on no frame
            entry = mark | {"id": uuid.uuid4().hex, "n": n + each + 1, "at_ms": at_ms}
            body = json.dumps({"season": season[1], "book": BOOK, "entries": [entry]}).encode()
            told = json.loads(asked(line, "POST", f"/tag/{GAME}/entries", body))
            assert told["added"][0]["state"] == "stored", told
            keys.append((time.perf_counter() - start) * 1000)
            time.sleep(max(0.0, KEY_EVERY_S - (time.perf_counter() - start)))
        line.close()

    tagger = threading.Thread(target=tag)
    tagger.start()
    for _ in range(n_new):
        firsts.append(first_page(address))
        time.sleep(n_keys * KEY_EVERY_S / (n_new + 1) / 2)
    tagger.join()
    if len(keys) != n_keys:
        raise RuntimeError("a key was not stored")
    return keys, firsts


def last_mark(folder: Path) -> tuple[dict[str, Any], int]:
    """A mark of the game to make others after, and its book's highest n."""
    from tagger.season import Season

    season = Season.open(folder)
    try:
        entries = [json.loads(body) for body in season.journal.bodies(GAME, BOOK)[0]]
    finally:
        season.store.close()
    marks = [each for each in entries if each["does"] == "mark"]
    return max(marks, key=lambda mark: int(mark["at_ms"])), max(each["n"] for each in entries)


def first_page(address: str) -> float:
    """Seconds for what a browser asks before the first page can be read, over one connection without anything kept."""
    start = time.perf_counter()
    line = connection(address)
    text = asked(line, "GET", "/").decode()
    for path in re.findall(r'(?:src|href)="(/[^"]+)"', text):
        asked(line, "GET", path)
    for path in ("/_dash-layout", "/_dash-dependencies"):
        asked(line, "GET", path)
    asked(line, "POST", "/_dash-update-component", click("/"))
    line.close()
    return time.perf_counter() - start


def connection(address: str) -> http.client.HTTPConnection:
    """A connection to a server, by http or https."""
    found = urlsplit(address)
    if found.scheme == "https":
        return http.client.HTTPSConnection(str(found.hostname), found.port, timeout=120, context=unchecked())
    return http.client.HTTPConnection(str(found.hostname), found.port, timeout=120)


def asked(line: http.client.HTTPConnection, verb: str, path: str, body: bytes | None = None) -> bytes:
    """One request over a connection that stays."""
    line.request(verb, path, body, {"Content-Type": "application/json"} if body is not None else {})
    answer = line.getresponse()
    data = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"{verb} {path}: {answer.status} {data[:200]!r}")
    return data
