"""Film sent from another device: who may, what is taken and what is refused, and that it becomes film of the season."""

from __future__ import annotations

import http.client
import json
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from flask import Flask, send_from_directory

from dashboard.doors.door import create_door
from dashboard.doors.gate import Gate
from dashboard.doors.threshold import SERVED
from dashboard.film_page.blueprint import create_film_page
from dashboard.film_page.listing import FILM_SUFFIXES, Listing
from dashboard.server import create_app
from tagger.screen import guard
from tagger.screen.blueprint import create_screen
from tagger.screen.visitor import SEND
from tagger.season import Season
from tagger.work.arrivals import FOLDER, PIECE_BYTES, Arrivals
from tagger.work.jobs import JobList
from tagger.work.queue import Queue
from tests.dashboard.film_page.conftest import ASSETS, wait_for
from tests.served import Served

if TYPE_CHECKING:
    from flask.testing import FlaskClient
    from werkzeug.test import TestResponse

PIECE = 16 * 1024
LAN = "192.0.2.7:8765"
NEW = {"new": {"date": "2026-03-14", "opponent": "Quarry Hill", "home": True}}


def gated_app(season: Season, home: Path, hosts: tuple[str, ...] = ("192.0.2.7",)) -> Flask:
    """The pages as another device gets them, sending in small pieces."""
    made = Flask("film_page", static_folder=None)
    made.config[guard.SETTING] = hosts
    gate = Gate()
    gate.install(made)
    made.register_blueprint(create_door(gate))
    made.register_blueprint(create_screen(season))
    arrivals = Arrivals(season.folder / "film", piece_bytes=PIECE)
    made.register_blueprint(create_film_page(season, listing=Listing(home), arrivals=arrivals))
    made.add_url_rule("/assets/<path:name>", "assets", lambda name: send_from_directory(ASSETS, name))
    return made


def phrase_of(app: Flask, key: str = SEND) -> str:
    """The phrase that opens an application just now."""
    gate = app.config[SERVED]
    assert isinstance(gate, Gate)
    return gate.phrases.of(key)


class Phone:
    """Another device, on which somebody came in to send film."""

    def __init__(self, client: FlaskClient, address: str = "192.0.2.9") -> None:
        self.client = client
        self.how: dict[str, Any] = {"base_url": f"http://{LAN}", "environ_base": {"REMOTE_ADDR": address}}

    def enter(self) -> Phone:
        phrase = phrase_of(self.client.application)
        assert self.client.post("/enter", data={"phrase": phrase}, **self.how).status_code == 303
        return self

    def get(self, path: str, **more: Any) -> TestResponse:
        return self.client.get(path, **self.how, **more)

    def post(self, path: str, body: object = None, **more: Any) -> TestResponse:
        return self.client.post(path, json=body if body is not None else {}, **self.how, **more)

    def begin(self, data: bytes, name: str = "IMG_1.mp4", **more: Any) -> TestResponse:
        last = (len(data) - 1) // PIECE * PIECE
        told = {"size": len(data), "first": zlib.crc32(data[:PIECE]), "last": zlib.crc32(data[last:]), "name": name}
        return self.post("/films/send/begin", {**told, **NEW, **more})

    def piece(self, id_: str, data: bytes, at: int, crc: int | None = None, **more: Any) -> TestResponse:
        piece = data[at : at + PIECE]
        query = zlib.crc32(piece) if crc is None else crc
        how = {"content_type": "application/octet-stream", **self.how, **more}
        return self.client.post(f"/films/send/{id_}/{at}?crc={query}", data=piece, **how)


@pytest.fixture
def phone(season: Season, home: Path) -> Phone:
    return Phone(gated_app(season, home).test_client()).enter()


@pytest.fixture
def data(films: Path) -> bytes:
    return (films / "b first.mp4").read_bytes()


def test_what_may_be_sent_is_what_is_shown_as_film(phone: Phone) -> None:
    text = phone.get("/films").get_data(as_text=True)
    offered = text.partition('accept="')[2].partition('"')[0].split(",")
    assert offered[0] == "video/*" and set(offered[1:]) == FILM_SUFFIXES


def test_a_sent_film_becomes_film_of_the_season_under_an_invented_name(
    phone: Phone, season: Season, data: bytes
) -> None:
    begun = phone.begin(data, "../../Coach's <b>game</b>.MP4").json
    assert begun["piece"] == PIECE and begun["missing"] == [[0, -(-len(data) // PIECE)]]
    for at in reversed(range(0, len(data), PIECE)):
        assert season.games.all() == [] and JobList(season.store).all() == []
        told = phone.piece(begun["id"], data, at)
        assert told.status_code == 200, told.text
    assert told.json == {"missing": [], "there": len(data)}
    done = phone.post(f"/films/send/{begun['id']}/finish").json
    again = phone.post(f"/films/send/{begun['id']}/finish").json
    assert done == again == {"job": done["job"]}, "the answer may have got lost; it names no game"
    queue = Queue(season)
    try:
        queue.start()
        wait_for(lambda: phone.get(f"/films/send/job/{done['job']}.json").json["state"] == "done")
    finally:
        queue.close()
    (film,) = season.shelf.films("2026-03-14-quarry-hill")
    assert film.state == "ready" and film.name.startswith("sent-20") and film.name.endswith("-1.mp4")
    path = season.folder / "film" / film.name
    assert path.read_bytes() == data
    everything = {one.name for one in season.folder.rglob("*")} | {one.name for one in season.folder.parent.iterdir()}
    assert not any("game" in name or "Coach" in name for name in everything)


def test_a_sent_file_that_is_no_film_ends_in_one_line(phone: Phone, season: Season, films: Path) -> None:
    text = phone.begin(b"dear team, " * 3000, "letter.mp4").json
    told = phone.piece(text["id"], b"dear team, " * 3000, 0)
    assert (told.status_code, told.json["error"]["code"]) == (400, "film")
    assert told.json["error"]["text"] == "letter.mp4: this is text, not a film; choose the film file"
    torn = (films / "broken.mp4").read_bytes()
    begun = phone.begin(torn).json
    phone.piece(begun["id"], torn, 0)
    job = phone.post(f"/films/send/{begun['id']}/finish").json["job"]
    queue = Queue(season)
    try:
        queue.start()
        seen = wait_for(lambda: failed(phone, job))
    finally:
        queue.close()
    assert seen["why"].startswith("sent-") and "\n" not in seen["why"] and season.games.all() == []
    assert seen["why"].endswith("; what was sent was removed")
    assert [path for path in (season.folder / "film").rglob("*") if path.is_file()] == [], "nothing of it lies there"


def failed(phone: Phone, job: int) -> Any:
    told = phone.get(f"/films/send/job/{job}.json").json
    return told if told["state"] == "failed" else None


def test_pieces_that_are_wrong_are_refused_by_name(phone: Phone, season: Season, data: bytes) -> None:
    id_ = phone.begin(data).json["id"]
    for told, status, code in (
        (phone.piece(id_, data, 0, crc=1), 422, "torn_piece"),
        (phone.piece(id_, data, 5), 400, "stray_piece"),
        (phone.piece(id_, data + bytes(PIECE * 9), len(data) // PIECE * PIECE + PIECE), 400, "stray_piece"),
        (phone.piece(id_, data[:10], 0), 400, "stray_piece"),
        (phone.piece(id_, b"\0" * PIECE, 0), 409, "other_file"),
        (phone.piece("0" * 16, data, 0), 404, "no_arrival"),
        (phone.piece("..", data, 0), 404, "no_arrival"),
        (phone.piece(id_, data, 0, crc=1 << 40), 400, "no_crc"),
        (phone.piece(id_, data, 0, content_type="text/plain"), 415, "no_piece"),
        (phone.post(f"/films/send/{id_}/finish"), 400, "stray_piece"),
    ):
        assert (told.status_code, told.json["error"]["code"]) == (status, code)
    large = phone.client.post(
        f"/films/send/{id_}/0?crc=0", data=bytes(PIECE + 1), content_type="application/octet-stream", **phone.how
    )
    assert (large.status_code, large.json["error"]["code"]) == (413, "too_much")
    assert phone.begin(data).json["there"] == 0


@pytest.mark.parametrize(
    ("change", "status", "code"),
    [
        ({"size": 0}, 400, "no_size"),
        ({"size": -5}, 400, "no_size"),
        ({"size": True}, 400, "no_size"),
        ({"size": "10"}, 400, "no_size"),
        ({"size": 1 << 49}, 507, "no_room"),
        ({"first": 1 << 32}, 400, "no_first"),
        ({"last": None}, 400, "no_last"),
        ({"name": ""}, 400, "no_name"),
        ({"new": {"date": "14.3.", "opponent": "Millrace"}}, 400, "bad_game"),
        ({"camera": "x" * 200}, 400, "no_camera"),
    ],
)
def test_what_cannot_be_sent_is_said_before_it_begins(
    phone: Phone, season: Season, data: bytes, change: dict[str, Any], status: int, code: str
) -> None:
    told = phone.begin(data, **change)
    assert (told.status_code, told.json["error"]["code"]) == (status, code), told.text
    assert not list((season.folder / "film").rglob("*.part"))


def test_a_fourth_film_waits_and_what_is_begun_can_be_cleared(phone: Phone, season: Season, data: bytes) -> None:
    ids = [phone.begin(data[:-1] + bytes([n])).json["id"] for n in range(3)]
    told = phone.begin(data[:-1] + b"!")
    assert (told.status_code, told.json["error"]["code"]) == (429, "too_many")
    assert phone.post(f"/films/send/{ids[0]}/rest").status_code == 200
    seen = {one["id"]: one["coming"] for one in phone.get("/films/send/state.json").json["coming"]}
    assert seen == {ids[0]: False, ids[1]: True, ids[2]: True}
    here = phone.client.get("/films/state.json").json
    assert [one["what"] for one in here["coming"]] == ["IMG_1.mp4"] * 3, "the coach sees what is coming in"
    for id_ in ids:
        assert phone.post(f"/films/send/{id_}/clear").status_code == 403, "clearing is the laptop's"
        phone.client.post(f"/films/send/{id_}/clear", json={})
    assert list((season.folder / "film" / FOLDER).iterdir()) == []
    assert phone.get("/films/send/state.json").json["coming"] == []


def test_without_the_pass_phrase_nothing_is_taken(season: Season, home: Path, data: bytes) -> None:
    stranger = Phone(gated_app(season, home).test_client())
    for told in (
        stranger.begin(data),
        stranger.piece("0" * 16, data, 0),
        stranger.get("/films/send/state.json"),
        stranger.post(f"/films/send/{'0' * 16}/clear"),
    ):
        assert (told.status_code, told.json["error"]["code"]) == (401, "no_phrase")
    assert not (season.folder / "film").exists()


def test_served_on_this_machine_alone_no_other_device_may_send(client: FlaskClient, data: bytes) -> None:
    device = Phone(client)
    for told in (device.begin(data), device.get("/films/send/state.json"), device.get("/films/static/send.js")):
        assert told.status_code == 403


def test_another_device_sees_no_folder_of_this_machine(phone: Phone) -> None:
    for path in ("/films/state.json", "/films/places.json", "/films/folder/x.json", "/films/glance/x.json"):
        told = phone.get(path)
        assert (told.status_code, told.json["error"]["code"]) == (403, "may_not")
    for path in ("/films/bring", "/films/find", "/films/jobs/pause", "/films/jobs/1/drop", "/films/x/light"):
        assert phone.post(path).status_code == 403
    page = phone.get("/films").text
    assert "Send a film" in page and "On this computer" not in page


def test_another_sites_page_can_send_nothing(phone: Phone, data: bytes) -> None:
    for headers in ({"Origin": "http://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}):
        assert phone.post("/films/send/begin", {}, headers=headers).status_code == 403
        assert phone.piece("0" * 16, data, 0, headers=headers).status_code == 403
    foreign = {**phone.how, "base_url": "http://elsewhere.example:8765"}
    assert phone.client.post("/films/send/begin", json={}, **foreign).status_code in (401, 403)
    form = phone.client.post("/films/send/begin", data="{}", content_type="text/plain", **phone.how)
    assert form.status_code == 415


def test_the_program_lets_devices_send_where_it_asks_for_the_phrase(season: Season, data: bytes) -> None:
    phone = Phone(create_app(season, hosts=("192.0.2.7",), gate=Gate()).test_client()).enter()
    assert phone.get("/films/send/state.json").json["piece"] == PIECE_BYTES
    assert phone.get("/films").status_code == 200


@pytest.mark.browser
def test_the_pages_checksum_is_zlibs(page: Any, served: str, films: Path) -> None:
    page.goto(f"{served}/films")
    code = """async (lengths) => {
      const { crc32 } = await import("/films/static/crc.js");
      return lengths.map((n) => crc32(Uint8Array.from({ length: n }, (_, at) => (at * 7919 + (at >> 3)) & 255)));
    }"""
    lengths = [0, 1, 7, 8, 9, 15, 16, 1000, 65_537]
    expected = [zlib.crc32(bytes((at * 7919 + (at >> 3)) & 255 for at in range(n))) for n in lengths]
    assert page.evaluate(code, lengths) == expected


def test_the_program_itself_takes_pieces_of_its_full_size(tmp_path: Path, data: bytes) -> None:
    """Over its own server, with its own limits and buffers; the film is padded with a box that players skip."""
    folder = tmp_path / "herons"
    folder.mkdir()
    (folder / "season.toml").write_text('id = "s1"\nteam = "Saltmarsh Herons"\n', encoding="utf-8")
    Season.open(folder, make=True).close()
    film = data + (2 * PIECE_BYTES + 8).to_bytes(4, "big") + b"free" + bytes(2 * PIECE_BYTES)
    program = Served(folder, "--host", "0.0.0.0")
    try:
        told = program.phrases()
        there = http.client.HTTPConnection("127.0.0.1", int(told["host"].rsplit(":", 1)[1]), timeout=60)

        def ask(path: str, body: bytes, kind: str, cookie: str = "") -> http.client.HTTPResponse:
            there.request("POST", path, body, {"Content-Type": kind, "Cookie": cookie, "Host": told["host"]})
            return there.getresponse()

        entered = ask("/enter", f"phrase={told['send']}".encode(), "application/x-www-form-urlencoded")
        entered.read()
        cookie = (entered.getheader("Set-Cookie") or "").split(";")[0]
        last = (len(film) - 1) // PIECE_BYTES * PIECE_BYTES
        known = {"size": len(film), "first": zlib.crc32(film[:PIECE_BYTES]), "last": zlib.crc32(film[last:])}
        body = json.dumps({**known, "name": "a.mp4", **NEW}).encode()
        begun = json.loads(ask("/films/send/begin", body, "application/json", cookie).read())
        for at in range(0, len(film), PIECE_BYTES):
            piece = film[at : at + PIECE_BYTES]
            path = f"/films/send/{begun['id']}/{at}?crc={zlib.crc32(piece)}"
            got = json.loads(ask(path, piece, "application/octet-stream", cookie).read())
        assert got == {"missing": [], "there": len(film)}
        ask(f"/films/send/{begun['id']}/finish", b"{}", "application/json", cookie).read()
        there.close()
        wait_for(lambda: list((folder / "film").glob("sent-*.mp4")))
        wait_for(lambda: _films(folder, "2026-03-14-quarry-hill"))
    finally:
        program.stop()
    assert next((folder / "film").glob("sent-*.mp4")).read_bytes() == film


def _films(folder: Path, game: str) -> list[str]:
    season = Season.open(folder)
    try:
        return (
            [film.name for film in season.shelf.films(game)]
            if any(one.id == game for one in season.games.all())
            else []
        )
    finally:
        season.close()
