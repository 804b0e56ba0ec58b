"""Who may come in when a season is served to other devices, and who is turned away always."""

from __future__ import annotations

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from dashboard.doors.threshold import COOKIE, inside
from dashboard.server import create_app
from tagger.screen.visitor import LOOK, SEND, TAG
from tagger.season import Season
from tests.dashboard.doors.conftest import Clock
from tests.dashboard.doors.device import LAN, Device, laptop


@pytest.fixture
def open_app(season: Season) -> FlaskClient:
    return create_app(season).test_client()


def get(client: FlaskClient, path: str = "/", host: str = "127.0.0.1:8765", **headers: str) -> TestResponse:
    return client.get(path, base_url=f"http://{host}", headers=headers)


def test_this_machine_needs_no_phrase(open_app: FlaskClient) -> None:
    assert get(open_app).status_code == 200


def test_a_name_pointed_at_this_machine_from_outside_is_refused(open_app: FlaskClient) -> None:
    answer = get(open_app, host="evil.example:8765")
    assert answer.status_code == 403 and answer.json["error"]["code"] == "foreign_host"


@pytest.mark.parametrize("path", ["/", "/clips", "/_dash-update-component", "/_dash-layout", "/assets/dock.js"])
def test_another_sites_page_is_refused_everywhere(open_app: FlaskClient, path: str) -> None:
    for method in (open_app.get, open_app.post):
        answer = method(path, base_url="http://127.0.0.1:8765", headers={"Origin": "http://evil.example"})
        assert answer.status_code == 403 and answer.json["error"]["code"] == "foreign_origin"


def test_localhost_leads_to_the_one_address_that_browsers_keep_things_for(open_app: FlaskClient) -> None:
    answer = get(open_app, "/sets?team=theirs", host="localhost:8765")
    assert answer.status_code == 302 and answer.headers["Location"] == "http://127.0.0.1:8765/sets?team=theirs"


def test_every_answer_keeps_other_sites_from_loading_it(app: Flask, phone: Device, season: Season) -> None:
    here = laptop(app)
    film = season.shelf.films("g1")[0].id
    asked = ["/", "/tag/g1", f"/film/{film}", f"/film/{film}/still/1000.jpg", "/assets/dock.js", "/screen/tokens.css"]
    for path in [*asked, "/films", "/doors", "/clips", "/nothing/at/all.json", "/_dash-layout", "/enter"]:
        for device in (here, phone):
            answer = device.get(path)
            assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin", path
            if answer.mimetype == "text/html":
                policy = answer.headers["Content-Security-Policy"]
                assert "default-src" in policy and "frame-ancestors" in policy, path


def test_a_device_on_the_network_is_asked_first(phone: Device) -> None:
    answer = phone.page("/sets?side=left")
    assert answer.status_code == 302 and answer.headers["Location"] == "/enter?next=/sets%3Fside%3Dleft"
    for path in ("/_dash-layout", "/tag/g1/start.json", "/film/x", "/tag/g1", "/screen/view/main.js"):
        assert phone.get(path).status_code == 401
    page = phone.get("/enter")
    assert "Pass-phrase" in page.text
    assert "<style" not in page.text and "style=" not in page.text and "unsafe" not in str(page.headers)
    for path in ("/screen/tokens.css", "/screen/fonts.css", "/enter/static/doors.css", "/enter/static/door.js"):
        assert phone.get(path).status_code == 200, "what the door is drawn with"


def test_who_knows_the_phrase_comes_in_and_stays_in(phone: Device) -> None:
    phrase = phone.gate.phrases.of(LOOK)
    answer = phone.try_phrase(f" {phrase.replace('-', ' ').title()} ", "/sets")
    assert answer.status_code == 303 and answer.headers["Location"] == "/sets"
    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith(f"{COOKIE}=") and "HttpOnly" in cookie and "SameSite=Lax" in cookie
    assert "Secure" not in cookie and phrase[:4] not in cookie
    assert phone.get("/_dash-layout").status_code == 200


def test_over_https_the_token_never_goes_over_plain_http(app: Flask) -> None:
    phone = Device(app, base=LAN.replace("http:", "https:"))
    answer = phone.try_phrase(phone.gate.phrases.of(LOOK))
    assert "Secure" in answer.headers["Set-Cookie"]


def test_two_browsers_get_two_tokens(app: Flask) -> None:
    tokens = {
        Device(app, f"192.0.2.{n}").try_phrase(app.config["FLOORBOOK_GATE"].phrases.of(LOOK)).headers["Set-Cookie"]
        for n in (8, 9)
    }
    assert len(tokens) == 2


def test_wrong_phrases_slow_their_own_address_and_no_other(app: Flask, clock: Clock) -> None:
    wrong, right = Device(app, "192.0.2.66"), Device(app, "192.0.2.9")
    assert wrong.try_phrase("wrong").status_code == 403
    for _ in range(20):
        answer = wrong.try_phrase("wrong")
        assert answer.status_code == 429 and "wait" in answer.text
    assert wrong.try_phrase(wrong.gate.phrases.of(LOOK)).status_code == 429, "his own address waits, whatever he says"
    assert right.try_phrase(right.gate.phrases.of(LOOK)).status_code == 303
    clock.now += 1.5
    assert wrong.try_phrase(wrong.gate.phrases.of(LOOK)).status_code == 303


def test_a_made_up_token_is_none(phone: Device) -> None:
    phone.client.set_cookie(COOKIE, "0" * 43, domain="192.0.2.7")
    assert phone.get("/_dash-layout").status_code == 401


@pytest.mark.parametrize("path", ["//evil.example", "https://evil.example", "/\\evil.example", "evil", "/a\nb", ""])
def test_the_door_leads_nowhere_else(path: str) -> None:
    assert inside(path) == "/"


def test_the_laptop_needs_no_phrase_when_others_are_let_in_and_is_told_so(app: Flask) -> None:
    here = laptop(app)
    assert here.get("/_dash-layout").status_code == 200 and here.get("/films/places.json").status_code == 200
    assert "You are at the computer where floorbook runs" in here.get("/enter").text
    assert "no phrase is asked here" in here.get("/doors").text


@pytest.mark.parametrize(
    ("address", "base", "headers"),
    [
        ("192.0.2.9", "http://127.0.0.1:8765", {}),
        ("192.0.2.9", "http://[::1]:8765", {}),
        ("192.0.2.9", LAN, {"X-Forwarded-For": "127.0.0.1", "X-Real-IP": "127.0.0.1"}),
        ("192.0.2.9", LAN, {"Forwarded": "for=127.0.0.1", "X-Forwarded-Host": "127.0.0.1"}),
        ("127.0.0.1", LAN, {}),
        ("127.0.0.1", "http://127.0.0.1:8765", {"X-Forwarded-For": "192.0.2.9"}),
        ("127.0.0.1", "http://127.0.0.1:8765", {"Via": "1.1 proxy"}),
        ("", "http://127.0.0.1:8765", {}),
    ],
)
def test_no_header_makes_a_request_the_laptops(app: Flask, address: str, base: str, headers: dict[str, str]) -> None:
    device = Device(app, address, base)
    for path in ("/doors", "/films/places.json", "/_dash-layout"):
        assert device.get(path, headers=headers).status_code == 401


def test_a_phrase_is_withdrawn_while_open_and_who_came_in_by_it_is_out(app: Flask) -> None:
    looker, tagger, here = Device(app, "192.0.2.9").come_in(LOOK), Device(app, "192.0.2.10").come_in(TAG), laptop(app)
    old = looker.gate.phrases.of(LOOK)
    assert here.post("/doors/look/withdraw").status_code == 303
    assert looker.get("/_dash-layout").status_code == 401
    assert tagger.get("/_dash-layout").status_code == 200, "the other phrases hold"
    assert looker.try_phrase(old).status_code == 403
    for place, nothing in enumerate(("", "-", " ")):
        assert Device(app, f"198.51.100.{place}").try_phrase(nothing).status_code == 403
    assert "Withdrawn" in here.get("/doors").text
    here.post("/doors/look/renew")
    fresh = looker.gate.phrases.of(LOOK)
    assert fresh and fresh != old and fresh in here.get("/doors").text
    assert Device(app, "192.0.2.11").try_phrase(fresh).status_code == 303


def test_one_who_is_in_is_put_out_alone(app: Flask) -> None:
    ann, ben = Device(app, "192.0.2.9").come_in(TAG, "Ann"), Device(app, "192.0.2.10").come_in(TAG, "Ben")
    [label] = [one.label for one in ann.gate.guests.all() if one.name == "Ann"]
    assert label not in str(ann.client.get_cookie(COOKIE, domain="192.0.2.7"))
    assert laptop(app).post("/doors/out", data={"who": label}).status_code == 303
    assert ann.get("/_dash-layout").status_code == 401 and ben.get("/_dash-layout").status_code == 200


def test_the_page_of_phrases_is_the_laptops_alone(app: Flask) -> None:
    for key in (SEND, LOOK, TAG):
        device = Device(app, f"192.0.2.{len(key)}0").come_in(key)
        for method, path in (("GET", "/doors"), ("POST", f"/doors/{key}/renew"), ("POST", "/doors/out")):
            assert device.ask(method, path).status_code == 403
    text = laptop(app).get("/doors").text
    assert all(laptop(app).gate.phrases.of(key) in text for key in (SEND, LOOK, TAG)) and text.count("<svg") == 3


def test_served_to_this_machine_alone_the_page_says_how_to_let_others_in(open_app: FlaskClient) -> None:
    assert "--host 0.0.0.0" in get(open_app, "/doors").text
    assert get(open_app, "/enter").status_code == 200
    answer = open_app.post("/doors/look/renew", base_url="http://127.0.0.1:8765")
    assert (answer.status_code, answer.json["error"]["code"]) == (404, "no_door")


def test_a_tagger_says_his_name_before_anything_opens(app: Flask) -> None:
    device = Device(app)
    answer = device.try_phrase(device.gate.phrases.of(TAG), "/tag/g1")
    assert answer.headers["Location"] == "/enter?next=/tag/g1"
    assert device.get("/tag/g1/start.json").json["error"]["code"] == "no_name"
    assert "Who tags?" in device.get("/enter?next=/tag/g1").text
    for name in ("", "a/b", "x" * 61, "<b>", "\u202eAnn"):
        answer = device.post("/enter/name?next=/tag/g1", data={"name": name})
        assert answer.status_code == 400 and "can’t be a name" in answer.text
    answer = device.post("/enter/name?next=/tag/g1", data={"name": "  Ann   Lee "})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/tag/g1")
    assert 'data-by="Ann Lee"' in device.get("/tag/g1?by=coach").text
    device.post("/enter/name", data={"name": "coach"})
    assert 'data-by="Ann Lee"' in device.get("/tag/g1").text, "a name is said once"


def test_nobody_comes_in_under_a_name_that_another_acts_under(app: Flask) -> None:
    Device(app, "192.0.2.9").come_in(TAG, "Ann")
    laptop(app).get("/tag/g1/entries?by=Coach&book=coach")

    def named(name: str, address: str) -> Any:
        device = Device(app, address)
        device.try_phrase(device.gate.phrases.of(TAG))
        return device.post("/enter/name", data={"name": name})

    for taken in ("Ann", "ann", "ANN", "Ａnn", "coach", "COACH"):
        answer = named(taken, "192.0.2.10")
        assert answer.status_code == 400 and "another name" in answer.text, taken
    assert named("Ben", "192.0.2.10").status_code == 303
    assert named("Ann", "192.0.2.9").status_code == 303, "the same device, which lost its cookie"
    assert [one.name for one in laptop(app).gate.guests.all() if one.name == "Ann"] == ["Ann"]


def test_another_phrase_makes_another_of_the_same_browser(phone: Device) -> None:
    phone.come_in(SEND)
    assert phone.get("/_dash-layout").status_code == 403
    phone.come_in(LOOK)
    assert phone.get("/_dash-layout").status_code == 200 and len(phone.gate.guests.all()) == 1
    phone.come_in(LOOK)
    assert len(phone.gate.guests.all()) == 1, "the same again changes nothing"


def test_what_he_may_not_open_is_told_with_a_way_on(app: Flask) -> None:
    sender, looker = Device(app, "192.0.2.9").come_in(SEND), Device(app, "192.0.2.10").come_in(LOOK)
    assert sender.page("/").headers["Location"] == "/films"
    page = sender.page("/sets")
    assert page.status_code == 403 and "you came in to send film" in page.text and 'href="/films"' in page.text
    answer = looker.post("/question", data={"does": "withdraw"})
    assert (answer.status_code, answer.json["error"]["code"]) == (403, "may_not")
    assert "at the computer where floorbook runs" in answer.json["error"]["text"]
    assert "Send a film" in looker.page("/films").text


def test_the_code_for_a_phone_holds_the_phrase_where_no_log_keeps_it(phone: Device) -> None:
    from dashboard.doors.door import qr_of

    made = qr_of("http://192.0.2.7:8765/enter#badu-kelo-foma-zeni")
    assert made.startswith("<svg") and "<script" not in made and "style=" not in made
    assert "#" not in phone.get("/enter").headers.get("Location", "")
