"""Who may come in when a season is served to other devices, and who is turned away always."""

import pytest

from dashboard.gate import COOKIE, Gate, _inside, new_phrase
from dashboard.server import create_app
from tagger.screen.answers import Refused

LAN = "192.168.1.20:8765"


class Clock:
    """Seconds by hand."""

    now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def open_app(season):
    return create_app(season).test_client()


@pytest.fixture
def gated(season, clock):
    return create_app(season, hosts=["192.168.1.20"], gate=Gate("badu-kelo", clock)).test_client()


def get(client, path="/", host="127.0.0.1:8765", **headers):
    return client.get(path, base_url=f"http://{host}", headers=headers)


def test_this_machine_needs_no_phrase(open_app):
    assert get(open_app).status_code == 200


def test_a_name_pointed_at_this_machine_from_outside_is_refused(open_app):
    answer = get(open_app, host="evil.example:8765")
    assert answer.status_code == 403 and answer.get_json()["error"]["code"] == "foreign_host"


@pytest.mark.parametrize("path", ["/", "/clips", "/_dash-update-component", "/_dash-layout", "/assets/dock.js"])
def test_another_sites_page_is_refused_everywhere(open_app, path):
    for method in (open_app.get, open_app.post):
        answer = method(path, base_url="http://127.0.0.1:8765", headers={"Origin": "http://evil.example"})
        assert answer.status_code == 403 and answer.get_json()["error"]["code"] == "foreign_origin"


def test_localhost_leads_to_the_one_address_that_browsers_keep_things_for(open_app):
    answer = get(open_app, "/sets?team=theirs", host="localhost:8765")
    assert answer.status_code == 302 and answer.headers["Location"] == "http://127.0.0.1:8765/sets?team=theirs"


def test_a_device_on_the_network_is_asked_first(gated):
    answer = get(gated, "/sets?side=left", LAN, Accept="text/html")
    assert answer.status_code == 302 and answer.headers["Location"] == "/enter?next=/sets%3Fside%3Dleft"
    for path in ("/_dash-layout", "/tag/g1/start.json", "/film/x", "/tag/g1"):
        assert get(gated, path, LAN).status_code == 401
    assert b"Pass-phrase" in get(gated, "/enter", LAN).data


def test_who_knows_the_phrase_comes_in_and_stays_in(gated):
    answer = gated.post("/enter?next=/sets", base_url=f"http://{LAN}", data={"phrase": " Badu Kelo "})
    assert answer.status_code == 303 and answer.headers["Location"] == "/sets"
    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith(f"{COOKIE}=") and "HttpOnly" in cookie and "SameSite=Lax" in cookie
    assert "badu" not in cookie
    assert get(gated, "/_dash-layout", LAN).status_code == 200


def test_a_wrong_phrase_is_told_and_the_next_try_has_to_wait(gated, clock):
    def enter(phrase):
        return gated.post("/enter", base_url=f"http://{LAN}", data={"phrase": phrase}).status_code

    assert enter("wrong") == 403
    assert enter("badu-kelo") == 429
    clock.now += 1.5
    assert enter("badu-kelo") == 303


def test_a_made_up_cookie_is_none(gated):
    gated.set_cookie(COOKIE, "0" * 64, domain="192.168.1.20")
    assert get(gated, "/_dash-layout", LAN).status_code == 401


def test_phrases_are_long_and_never_the_same():
    phrases = {new_phrase() for _ in range(50)}
    assert len(phrases) == 50 and all(len(phrase.replace("-", "")) == 16 for phrase in phrases)


@pytest.mark.parametrize("path", ["//evil.example", "https://evil.example", "/\\evil.example", "evil", "/a\nb", ""])
def test_the_door_leads_nowhere_else(path):
    assert _inside(path) == "/"


def test_one_try_a_second_counts_for_everybody(clock):
    gate = Gate("a-b", clock)
    assert gate.answer("x") is None
    with pytest.raises(Refused):
        gate.answer("a-b")
