"""Fixtures of the page where film is brought in: what lies on a coach's card, a season, the page served."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from flask import Flask, send_from_directory

from dashboard.film_page.blueprint import create_film_page
from dashboard.film_page.listing import Listing
from tagger.screen.blueprint import create_screen
from tagger.season import Season
from tests.dashboard.threaded import listening
from tests.film.maker import Recipe, make

if TYPE_CHECKING:
    from flask.testing import FlaskClient

ASSETS = Path(__file__).resolve().parents[3] / "dashboard" / "assets"
SOURCE = "document.getElementById('video').currentSrc"
DATES = ({"creation_time": "2026-03-14T18:00:00Z"}, {"creation_time": "2026-03-14T18:00:30Z"})


@pytest.fixture(scope="session")
def films(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What lies on a coach's card: a game in two files, an old camera's file, a broken one, and other things."""
    folder = tmp_path_factory.mktemp("card") / "DCIM"
    (folder / "warm-up").mkdir(parents=True)
    make(Recipe("b first", n_frames=50, metadata=DATES[0]), folder)
    make(Recipe("a second", n_frames=25, first_number=50, metadata=DATES[1]), folder)
    make(Recipe("old", suffix=".avi", codec="mpeg4", sound="pcm_s16le", n_frames=50), folder)
    (folder / "broken.mp4").write_bytes((folder / "b first.mp4").read_bytes()[:2000])
    os.utime(folder / "broken.mp4", (1_774_000_000, 1_774_000_000))  # nobody is copying it any more
    (folder / "notes.txt").write_text("x", encoding="utf-8")
    (folder / ".hidden.mp4").write_bytes(b"x")
    return folder


@pytest.fixture
def home(tmp_path: Path, films: Path) -> Path:
    folder = tmp_path / "coach"
    (folder / "Documents").mkdir(parents=True)
    shutil.copytree(films, folder / "Videos" / "<b>card")
    return folder


@pytest.fixture
def season(tmp_path: Path) -> Iterator[Season]:
    folder = tmp_path / "herons"
    folder.mkdir()
    text = 'id = "s1"\nteam = "Saltmarsh Herons"\nage_group = "U17"\n'
    (folder / "season.toml").write_text(text, encoding="utf-8")
    made = Season.open(folder, make=True)
    yield made
    made.close()


@pytest.fixture
def app(season: Season, home: Path) -> Flask:
    made = Flask("film_page", static_folder=None)
    made.register_blueprint(create_screen(season))
    made.register_blueprint(create_film_page(season, listing=Listing(home)))
    made.add_url_rule("/assets/<path:name>", "assets", lambda name: send_from_directory(ASSETS, name))
    return made


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def folder_named(client: FlaskClient, *names: str) -> Any:
    """Open folders by their names, as a person does; the first is a place."""
    places = client.get("/films/places.json").json["places"]
    token = next(one["token"] for one in places if one["name"] == names[0])
    for name in names[1:]:
        found = client.get(f"/films/folder/{token}.json").json
        token = next(one["token"] for one in found["folders"] if one["name"] == name)
    return client.get(f"/films/folder/{token}.json").json


def token_of(folder: Any, name: str) -> str:
    return next(one["token"] for one in folder["films"] if one["name"] == name)


def wait_for(what: Callable[[], Any], within_s: float = 120) -> Any:
    end = time.monotonic() + within_s
    while not (found := what()):
        assert time.monotonic() < end, "it never came to be"
        time.sleep(0.05)
    return found


@pytest.fixture
def served(app: Flask) -> Iterator[str]:
    """The application's address."""
    with listening(app) as port:
        yield f"http://127.0.0.1:{port}"
