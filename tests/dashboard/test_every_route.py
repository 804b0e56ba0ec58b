"""Whatever is asked of whatever route: never a 500, and every refusal in the one shape."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from dashboard.server import create_app
from tagger.season import Season
from tests.bench.hardening.requests import ask_every_route

DEEP = b'{"a":' * 9000
DIGITS = "9" * 5000
CALL: dict[str, Any] = {
    "output": "..page.children...header.children..",
    "outputs": [{"id": "page", "property": "children"}, {"id": "header", "property": "children"}],
    "inputs": [{"id": "url", "property": "pathname", "value": "/"}, {"id": "url", "property": "search", "value": ""}],
    "changedPropIds": ["url.pathname"],
}


@pytest.fixture(scope="module")
def season(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Season]:
    """One for all that is asked here: nothing of it leaves the small season other than it was."""
    made = Season.open(Path(shutil.copytree(built, tmp_path_factory.mktemp("asked") / "herons")))
    yield made
    made.close()


@pytest.fixture(scope="module")
def client(season: Season) -> FlaskClient:
    app = create_app(season)
    app.config["SERVER_NAME"] = "127.0.0.1:8765"  # “localhost” is led on to it
    return app.test_client()


def shaped(answer: Any, status: int) -> str:
    assert answer.status_code == status, answer.data[:400]
    assert set(answer.json) == {"error"} and set(answer.json["error"]) == {"code", "text"}
    return str(answer.json["error"]["code"])


def test_no_malformed_request_of_three_hundred_is_a_500_or_refused_in_another_shape(
    season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = create_app(season)
    monkeypatch.setattr(app.logger, "disabled", True)
    tally = ask_every_route(app, season, 300)
    assert tally.n >= 300 and tally.n_refused > 100
    assert tally.faults == [] and tally.unshaped == []


BODIES = (
    *(b"", b"{", b"[]", b"\xff\xfe", DEEP, DEEP + b"0" + b"}" * 9000, b'{"a":1,"a":2}', b'{"a":NaN}'),
    *(f'{{"a":{DIGITS}}}'.encode(), b'{"a":1e999}', b'{"a":"\\ud800"}', b'{"a":-9007199254740992}'),
    b'{"a":' + b"[" * 30 + b"]" * 30 + b"}",
)


@pytest.mark.parametrize(
    "path", ["/tag/g1/entries", "/tag/g1/tie", "/clips", "/films/bring", "/_dash-update-component"]
)
def test_a_body_that_no_page_sends_is_refused_the_same_way_everywhere(client: FlaskClient, path: str) -> None:
    for body in BODIES:
        assert shaped(client.post(path, data=body, content_type="application/json"), 400)
        assert shaped(client.post(path, data=body, content_type="text/plain"), 415) == "no_json"


def test_a_body_too_long_is_refused_even_when_its_length_is_not_told(client: FlaskClient) -> None:
    body = b'{"a":"' + b"a" * 300_000 + b'"}'
    for path in ("/films/bring", "/_dash-update-component", "/tag/g1/tie"):
        assert shaped(client.post(path, data=body, content_type="application/json"), 413) == "too_much"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"output": "nothing.children"}, "no such callback"),
        ({"output": ["page.children"]}, "no such callback"),
        ({"output": "title-sink.children"}, "no such callback"),
        ({"outputs": []}, "its outputs"),
        ({"outputs": {"id": "page", "property": "children"}}, "its outputs"),
        ({"inputs": []}, "worked out from something else"),
        ({"inputs": {"id": "url"}}, "worked out from something else"),
        ({"inputs": [[CALL["inputs"][0]], CALL["inputs"][1]]}, "worked out from something else"),
        ({"state": [{"id": "url", "property": "href", "value": ""}]}, "worked out from something else"),
        ({"inputs": [{**CALL["inputs"][0], "value": {"a": 1}}, CALL["inputs"][1]]}, "is a text"),
        ({"inputs": [{**CALL["inputs"][0], "value": "/" * 9000}, CALL["inputs"][1]]}, "is a text"),
        ({"changedPropIds": [{}]}, "what changed"),
    ],
)
def test_a_forged_callback_is_refused_before_dash_reads_it(
    client: FlaskClient, change: dict[str, Any], why: str
) -> None:
    assert client.post("/_dash-update-component", json=CALL).status_code == 200
    answer = client.post("/_dash-update-component", json={**CALL, **change})
    assert shaped(answer, 400) == "no_callback" and why in answer.json["error"]["text"]


@pytest.mark.parametrize(
    "value", ["/%00", "/players/%ff%fe", "//", "/sets/" + "a" * 7000, "/games/g1/agreement/x", "\x00"]
)
def test_any_address_in_a_callback_is_a_page(client: FlaskClient, value: str) -> None:
    call = {
        **CALL,
        "inputs": [{**CALL["inputs"][0], "value": value}, {**CALL["inputs"][1], "value": "?=&a=%ff&team=%00"}],
    }
    assert client.post("/_dash-update-component", json=call).status_code == 200


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/tag/g1/entries?since=99999999999999999999", 400),
        ("/tag/g1/entries?since=-1", 400),
        (f"/tag/g1/entries?since={DIGITS}", 400),
        ("/films/send/job/99999999999999999999.json", 404),
        (f"/film/FILM/still/{DIGITS}.jpg", 404),
        ("/_dash-component-suites/nothing/a.js", 404),
        ("/_dash-component-suites/dash/../../x.js", 404),
        ("/assets/nothing.js", 404),
        ("/screen/nothing.js", 404),
        ("/tag/g1/start.json?book=%00", 400),
        ("/tag/%00", 404),
    ],
)
def test_an_address_that_means_nothing_is_told_so(season: Season, client: FlaskClient, path: str, status: int) -> None:
    film = season.shelf.films("g1")[0].id
    shaped(client.get(path.replace("FILM", film)), status)


def test_a_range_of_thousands_of_digits_is_no_range(season: Season, client: FlaskClient) -> None:
    film = season.shelf.films("g1")[0].id
    for asked in (f"bytes={DIGITS}-", f"bytes=0-{DIGITS}", f"bytes=-{DIGITS}"):
        with client.get(f"/film/{film}", headers={"Range": asked}) as answer:
            assert answer.status_code == 200


def test_a_still_beyond_the_film_is_its_last(season: Season, client: FlaskClient) -> None:
    film = season.shelf.films("g1")[0].id
    answer = client.get(f"/film/{film}/still/9999999999999999.jpg?width=1e9")
    assert answer.status_code == 200 and answer.mimetype == "image/jpeg"


@pytest.mark.parametrize("table", [[], {}, 7, None, "nothing"])
def test_no_table_at_all_is_refused(client: FlaskClient, table: Any) -> None:
    assert shaped(client.post("/clips", json={"table": table, "ids": []}), 400) == "no_table"


def test_a_way_that_an_address_is_not_asked_in_says_which_it_is(client: FlaskClient) -> None:
    answer = client.delete("/clips")
    assert shaped(answer, 405) == "wrong_method" and "POST" in answer.headers["Allow"]


def test_a_browser_that_shows_pages_gets_one(client: FlaskClient) -> None:
    answer = client.get("/screen/nothing.js", headers={"Accept": "text/html,*/*"})
    assert answer.status_code == 404 and answer.mimetype == "text/html"


def test_a_fault_of_ours_is_logged_with_its_place_and_answered_in_the_shape(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("dashboard.play.playlist", lambda *_: 1 // 0)
    answer = client.post("/clips", json={"table": "shots", "ids": []})
    assert shaped(answer, 500) == "fault" and "ZeroDivisionError" in caplog.text and "test_every_route" in caplog.text
    assert json.dumps(answer.json).count("Traceback") == 0
