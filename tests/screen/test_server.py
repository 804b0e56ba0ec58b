"""The screen's server without a browser: film in capped pieces, one shape of error, nothing for strangers."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tagger.screen.blueprint import create_screen
from tagger.screen.frames import frame_times
from tagger.screen.ranges import MOST_BYTES, span_of
from tests.screen.house import House


@pytest.fixture(scope="module")
def house(practice_film: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    made = House(tmp_path_factory.mktemp("season") / "herons", practice_film)
    yield made
    made.season.close()


@pytest.fixture
def client(house: House) -> FlaskClient:
    app = Flask("screen")
    app.register_blueprint(create_screen(house.season))
    return app.test_client()


def entry(n: int, **more: Any) -> dict[str, Any]:
    made = {"v": 1, "id": f"e{n}-{more.get('kind', 'x')}", "n": n, "by": "anna", "wall": "", "does": "mark"}
    return {**made, "kind": "note", "film": "f", "at_ms": 40, "answers": {}, **more}


def post(client: FlaskClient, game: str, entries: list[Any], **more: Any) -> Any:
    body = {"season": "saltmarsh-u17-2026", "book": "coach", "entries": entries, **more}
    return client.post(f"/tag/{game}/entries", json=body, base_url="http://localhost")


def test_ranges_are_capped() -> None:
    """RFC 9110, 14.1.2: first-last inclusive, open ends, suffixes."""
    size = 10 * MOST_BYTES
    assert span_of("bytes=0-", size) == (0, MOST_BYTES)
    assert span_of("bytes=5-9", size) == (5, 10)
    assert span_of("bytes=-10", size) == (size - 10, size)
    assert span_of(f"bytes={size - 1}-{size + 99}", size) == (size - 1, size)
    for whole in (None, "", "bytes=0-1,5-6", "lines=1-2", "bytes=-", "bytes=9-5"):
        assert span_of(whole, size) is None


def test_film_comes_in_pieces_that_fit(client: FlaskClient, house: House) -> None:
    house.game()
    film = house.film.read_bytes()
    path = f"/film/game-{house.n_games}.1"
    got = client.get(path, headers={"Range": "bytes=1000-1999"})
    assert (got.status_code, got.data) == (206, film[1000:2000])
    assert got.headers["Content-Range"] == f"bytes 1000-1999/{len(film)}" and got.headers["Content-Length"] == "1000"
    assert client.get(path).data == film
    etag = got.headers["ETag"]
    assert client.get(path, headers={"If-None-Match": etag}).status_code == 304
    same = client.get(path, headers={"Range": "bytes=0-9", "If-Range": etag})
    changed = client.get(path, headers={"Range": "bytes=0-9", "If-Range": '"other"'})
    assert (same.status_code, changed.status_code, changed.data) == (206, 200, film)
    beyond = client.get(path, headers={"Range": f"bytes={len(film)}-"})
    assert (beyond.status_code, beyond.headers["Content-Range"]) == (416, f"bytes */{len(film)}")
    head = client.head(path, headers={"Range": "bytes=0-99"})
    assert (head.status_code, head.data, head.headers["Content-Length"]) == (206, b"", "100")
    assert client.post(path).status_code == 405


def test_frame_times_are_the_films_own(client: FlaskClient, house: House) -> None:
    house.game()
    told = client.get(f"/film/game-{house.n_games}.1/frames").json
    num, den = told["base"]
    at, ms = 0, []
    for step, count in told["steps"]:
        for _ in range(count):
            ms.append(round(at * num * 1000 / den))
            at += step
    assert ms == house.index.all_ms().tolist()
    assert {**frame_times(house.index), "version": "original"} == told


def test_a_still_is_a_jpeg(client: FlaskClient, house: House) -> None:
    house.game()
    got = client.get(f"/film/game-{house.n_games}.1/still/5000.jpg?width=200")
    assert got.mimetype == "image/jpeg" and got.data[:2] == b"\xff\xd8"


def test_entries_are_acknowledged_one_by_one(client: FlaskClient, house: House) -> None:
    game = house.game()
    first = post(client, game, [entry(1), {"v": 1}, entry(2, kind="clock")]).json["added"]
    assert [one["state"] for one in first] == ["stored", "refused", "stored"] and "n" in first[1]["why"]
    again = post(client, game, [entry(1), entry(2, kind="clock", at_ms=99)]).json["added"]
    assert [one["state"] for one in again] == ["again", "refused"]
    assert len(client.get(f"/tag/{game}/entries?since=0").json["entries"]) == 2
    start = client.get(f"/tag/{game}/start.json").json
    assert len(start["entries"]) == 2 and start["language"]["sets"][0]["code"] == "lantern"
    assert client.get(f"/tag/{game}/entries?since={start['seq']}").json == {
        "seq": start["seq"],
        "entries": [],
        "people": [],
    }


@pytest.mark.parametrize(
    ("path", "status", "code"),
    [
        ("/tag/nowhere", 404, "no_game"),
        ("/tag/nowhere/start.json", 404, "no_game"),
        ("/tag/nowhere/folded.json", 404, "no_game"),
        ("/film/nothing", 404, "no_film"),
        ("/film/nothing/frames", 404, "no_film"),
        ("/film/..%2f..%2fseason.toml", 404, None),
        ("/tag/game-1?book=../x", 400, "no_book"),
    ],
)
def test_what_is_not_there_is_said_in_one_shape(
    client: FlaskClient, house: House, path: str, status: int, code: Any
) -> None:
    house.game()
    got = client.get(path)
    assert got.status_code == status
    if code:
        assert (
            set(got.json) == {"error"}
            and set(got.json["error"]) == {"code", "text"}
            and got.json["error"]["code"] == code
        )


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        (b"{}", "text/plain", 415),
        (b"{", "application/json", 400),
        (b"[]", "application/json", 400),
        (b'{"season":"x","book":"coach","entries":[]}', "application/json", 409),
        (b'{"season":"saltmarsh-u17-2026","book":"","entries":[]}', "application/json", 400),
        (b'{"season":"saltmarsh-u17-2026","book":"coach","entries":{}}', "application/json", 400),
    ],
)
def test_what_is_no_list_of_entries_is_refused(
    client: FlaskClient, house: House, body: bytes, kind: str, status: int
) -> None:
    game = house.game()
    got = client.post(f"/tag/{game}/entries", data=body, content_type=kind)
    assert got.status_code == status and got.json["error"]["text"]


@pytest.mark.parametrize(
    ("host", "headers", "status"),
    [
        ("localhost:8765", {}, 200),
        ("127.0.0.1:8765", {}, 200),
        ("[::1]:8765", {}, 200),
        ("localhost:8765", {"Origin": "http://localhost:8765"}, 200),
        ("herons.example:8765", {}, 403),
        ("localhost.herons.example", {}, 403),
        ("localhost:8765", {"Origin": "http://herons.example"}, 403),
        ("localhost:8765", {"Origin": "http://localhost:9999"}, 403),
        ("localhost:8765", {"Origin": "null"}, 403),
    ],
)
def test_strangers_are_turned_away(client: FlaskClient, house: House, host: str, headers: Any, status: int) -> None:
    game = house.game()
    assert client.get(f"/tag/{game}/start.json", base_url=f"http://{host}", headers=headers).status_code == status


def test_another_sites_form_cannot_enter_marks(client: FlaskClient, house: House) -> None:
    game = house.game()
    got = client.post(f"/tag/{game}/entries", json={}, headers={"Sec-Fetch-Site": "cross-site"})
    assert (got.status_code, got.json["error"]["code"]) == (403, "foreign_origin")


def test_a_name_for_other_devices_is_let_in_when_it_is_set(house: House) -> None:
    app = Flask("screen")
    app.config["ALLOWED_HOSTS"] = ("bench.example",)
    app.register_blueprint(create_screen(house.season))
    game = house.game()
    assert app.test_client().get(f"/tag/{game}", base_url="http://bench.example:8765").status_code == 200


def test_the_page_holds_names_as_text_and_no_script_of_its_own(client: FlaskClient, house: House) -> None:
    game = house.game(opponent='<script>alert("x")</script>')
    got = client.get(f"/tag/{game}")
    text = got.text
    assert "&lt;script&gt;" in text and "<script>alert" not in text
    assert re.findall(r"<script(?![^>]*\bsrc=)", text) == []
    assert "default-src 'self'" in got.headers["Content-Security-Policy"]


def test_the_opening_of_an_empty_game_is_whole(client: FlaskClient, house: House) -> None:
    game = house.game(n_films=0)
    told = json.loads(client.get(f"/tag/{game}/start.json").data)
    assert told["entries"] == [] and told["films"] == [] and told["book"] == "coach"
    assert client.get(f"/tag/{game}/folded.json").json["problems"] == []
