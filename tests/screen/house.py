"""A season with games to tag, a server that can be killed, and the page as a person uses it."""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.film.fingerprint import fingerprint
from tagger.film.index import build_index
from tagger.season import Season
from tagger.shelf.films import NewFilm

if TYPE_CHECKING:
    from playwright.sync_api import Page

CLONE = Path(__file__).resolve().parents[2]
# The log and the strip are drawn with the picture after a key press, at the latest with the one after that.
NEXT_PICTURE = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"


@dataclass
class House:
    """A season folder and its server.

    Attributes
    ----------
    folder : Path
        The season's folder.
    film : Path
        A film file that every game gets, each under an id of its own.
    port : int
        Where it is served, the same after a restart.
    vocabulary : mapping or None
        What can be marked; None: the package's own.
    """

    folder: Path
    film: Path
    port: int = 0
    vocabulary: Mapping[str, Any] | None = None
    process: subprocess.Popen[bytes] | None = None
    season: Season = field(init=False)
    n_games: int = 0

    def __post_init__(self) -> None:
        shutil.copytree(CLONE / "sample_data" / "season", self.folder, ignore=shutil.ignore_patterns("games.json"))
        self.season = Season.open(self.folder, make=True, vocabulary=self.vocabulary)
        self.index = build_index(self.film)
        self.print = fingerprint(self.film, self.index)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]

    @property
    def address(self) -> str:
        """Where the server answers."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start the server and wait until it answers."""
        command = [sys.executable, "-m", "tests.screen.serve", str(self.folder), str(self.port)]
        if self.vocabulary is not None:
            told = self.folder.with_name("vocabulary.json")
            told.write_text(json.dumps(self.vocabulary), encoding="utf-8")
            command.append(str(told))
        self.process = subprocess.Popen(command, cwd=CLONE)
        end = time.monotonic() + 20
        while time.monotonic() < end:
            try:
                urllib.request.urlopen(f"{self.address}/screen/tokens.css", timeout=1).close()
                return
            except OSError:
                time.sleep(0.05)
        raise TimeoutError("the server did not answer in 20 s")

    def kill(self) -> None:
        """Kill the server as a power cut would."""
        assert self.process is not None
        self.process.kill()
        self.process.wait()

    def close(self) -> None:
        """Kill the server and let go of the database."""
        if self.process is not None:
            self.kill()
        self.season.close()

    def game(self, *, n_films: int = 1, opponent: str = "Quarry Hill") -> str:
        """Make a game with the film, or with several parts, or without."""
        self.n_games += 1
        game = f"game-{self.n_games}"
        self.season.games.add(game, "2026-03-14", opponent, True)
        for part in range(n_films):
            self.season.shelf.enter(
                game,
                [
                    NewFilm(
                        id=f"{game}.{part + 1}",
                        name=self.film.name,
                        duration_ms=self.index.duration_ms,
                        path=self.film,
                        size_bytes=self.film.stat().st_size,
                        fingerprint=f"{self.print}.{game}.{part}",
                        index=self.index,
                    )
                ],
            )
        return game

    def entries(self, game: str, book: str = "coach") -> list[dict[str, Any]]:
        """What is on disk, in order of arrival."""
        return [json.loads(entry.as_json()) for entry in self.season.journal.entries(game, book)[0]]

    def wait_for(self, game: str, n: int, book: str = "coach") -> list[dict[str, Any]]:
        """Wait until so many entries are on disk."""
        end = time.monotonic() + 10
        while len(found := self.entries(game, book)) < n and time.monotonic() < end:
            time.sleep(0.02)
        assert len(found) == n, found
        return found


def press(page: Page, keys: str) -> None:
    """Press keys, with spaces between, and see the next picture; a capital is pressed with Shift, as on a keyboard."""
    for key in keys.split():
        page.keyboard.press(f"Shift+{key}" if len(key) == 1 and key.isupper() else key)
    page.evaluate(NEXT_PICTURE)


def opened(page: Page, house: House, game: str, query: str = "", ready: str = "film") -> Page:
    """Open a game's tagging page and wait until it takes keys."""
    page.goto(f"{house.address}/tag/{game}{query}")
    page.wait_for_selector(f'body[data-ready="{ready}"]')
    return page


def said(page: Page) -> list[str]:
    """The log's sentences, in order."""
    return [text.strip() for text in page.locator("#log .m").all_text_contents()]


def frame_on_screen(page: Page) -> int:
    """The number drawn into the picture that the video element shows."""
    import numpy as np

    from tests.film.maker import read_number

    data, height, width = page.evaluate(
        """() => {
          const video = document.getElementById("video");
          const canvas = document.createElement("canvas");
          canvas.width = video.videoWidth; canvas.height = video.videoHeight;
          const brush = canvas.getContext("2d", {willReadFrequently: true});
          brush.drawImage(video, 0, 0);
          const {data} = brush.getImageData(0, 0, canvas.width, canvas.height / 8);
          return [Array.from(data), canvas.height, canvas.width];
        }"""
    )
    band = np.array(data, dtype=np.uint8).reshape(-1, width, 4)[..., :3]
    picture = np.zeros((height, width, 3), dtype=np.uint8)
    picture[: len(band)] = band
    return read_number(picture)
