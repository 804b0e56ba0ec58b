"""The doors under attack: wrong phrases from one address, every route as every role, forged authors."""

from __future__ import annotations

import tempfile
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.figure import Figure, at_least, at_most

if TYPE_CHECKING:
    from flask import Flask

NAME = "hardening.doors"
ABOUT = "seconds to get in while another address guesses; accesses beyond the table of rights; forged authors taken"
NAME_IN_NETWORK = "laptop.test"
_FORGERIES = 500


def run() -> list[Figure]:
    """Measure a small season that is served to a network.

    Returns
    -------
    list of Figure
        What the attacks came to.
    """
    from dashboard.doors.gate import Gate
    from dashboard.server import create_app
    from tagger.season import Season
    from tagger.shelf.films import NewFilm
    from tests.dashboard.doors.device import NETWORK_NAME, beyond_the_table
    from tests.dashboard.herons import OTHER_MARKS, UNFILMED, tag, texts

    with tempfile.TemporaryDirectory() as folder:
        season = Season.open(texts(Path(folder) / "herons"), make=True)
        try:
            season.games.add("g2", "2026-03-21", "Millrace", False)
            season.shelf.enter("g2", [NewFilm(id=UNFILMED, name="Millrace, not filmed", duration_ms=60_000)])
            tag(season, "g2", UNFILMED, OTHER_MARKS)
            app = create_app(season, hosts=[NAME_IN_NETWORK, NETWORK_NAME], gate=Gate())
            n_wrong, seconds = locked_out_s(app, n_threads=4, for_s=5.0)
            n_tried, beyond = beyond_the_table(app, "g2", UNFILMED)
            n_forged, taken = forged(app, season.texts.settings.id)
        finally:
            season.close()
    return [
        at_least("wrong phrases tried by 4 threads of one address", n_wrong, "tries", 100),
        at_most("right phrase from another address, slowest of all", max(seconds), "s", 0.5),
        Figure("requests, every route as every role", n_tried, "requests"),
        at_most("accesses beyond the table", len(beyond), "accesses", 0),
        Figure("entries under another's name, undoings of another's", n_forged, "entries"),
        at_most("forged authors accepted", taken, "entries", 0),
    ]


def locked_out_s(app: Flask, n_threads: int, for_s: float) -> tuple[int, list[float]]:
    """Try wrong phrases from one address without a rest, and come in with the right one from another all the while.

    Parameters
    ----------
    app : Flask
        A season that is served to a network under `NAME_IN_NETWORK`.
    n_threads : int
        How many guess.
    for_s : float
        How long.

    Returns
    -------
    tuple of int and list of float
        How many wrong ones were tried, and how many seconds each coming in took.
    """
    from dashboard.doors.threshold import SERVED
    from tagger.screen.visitor import LOOK
    from tests.dashboard.doors.listening import Peer, listening

    right = app.config[SERVED].phrases.of(LOOK)
    seconds: list[float] = []
    tried = [0] * n_threads
    ended = threading.Event()
    with listening(app, "127.0.0.1") as port:

        def guess(place: int) -> None:
            peer = Peer(port, "127.0.0.2", NAME_IN_NETWORK)
            while not ended.is_set():
                if peer.ask("POST", "/enter", {"phrase": f"guess-{place}-{tried[place]}"}) in (403, 429):
                    tried[place] += 1
            peer.close()

        threads = [threading.Thread(target=guess, args=(place,)) for place in range(n_threads)]
        for one in threads:
            one.start()
        try:
            end = time.monotonic() + for_s
            time.sleep(for_s / 10)
            while time.monotonic() < end or not seconds:
                peer = Peer(port, "127.0.0.3", NAME_IN_NETWORK)
                began = time.monotonic()
                if peer.ask("POST", "/enter", {"phrase": right}) == 303 and peer.ask("GET", "/_dash-layout") == 200:
                    seconds.append(time.monotonic() - began)
                else:
                    seconds.append(float("inf"))
                peer.close()
        finally:
            ended.set()
            for one in threads:
                one.join()
    return sum(tried), seconds


def forged(app: Flask, season: str) -> tuple[int, int]:
    """Send entries under another's name, and undoings of what another entered, as somebody who came in to tag.

    Parameters
    ----------
    app : Flask
        The season, with game g2 in the book of "coach".
    season : str
        Its id.

    Returns
    -------
    tuple of int and int
        How many were sent, and how many taken.
    """
    from tagger.screen.visitor import TAG
    from tests.dashboard.doors.device import Device

    eve = Device(app, "192.0.2.99").come_in(TAG, "Eve")
    names = ("coach", "eve", "Eve ", "", "EVE", "Еve")  # the last one begins with another alphabet's letter
    sent: list[dict[str, Any]] = []
    for n in range(_FORGERIES):
        made: dict[str, Any] = {"v": 1, "id": f"f{n}", "n": 50 + n, "by": names[n % len(names)], "wall": ""}
        if n % 2:
            made |= {"does": "undo", "of": f"g2-{n % 10 + 1}", "by": "Eve" if n % 4 == 1 else "coach"}
        else:
            made |= {"does": "mark", "kind": "note", "film": "m-g2", "at_ms": 1000, "answers": {"text": "x"}}
        sent.append(made)
    body = {"season": season, "book": "coach", "entries": sent}
    answer = eve.post("/tag/g2/entries?by=coach", json=body).get_json()
    return len(sent), sum(one["state"] != "refused" for one in answer["added"])
