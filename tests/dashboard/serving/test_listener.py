"""Who asks gets a place: connections that stand in cost nobody anything, however many there are."""

from __future__ import annotations

import http.client
import time
from types import SimpleNamespace

import pytest

from dashboard.errors import PortTaken
from dashboard.serving.connection import HEAD_S, IDLE_S, STUCK_S, Connection
from dashboard.serving.listener import N_PLACES, Listener, Serving, places
from dashboard.serving.peer import peer_address
from tests.dashboard.serving.conftest import connections


def asked(port: int, path: str = "/peer") -> str:
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    line.request("GET", path)
    told = line.getresponse().read().decode()
    line.close()
    return told


@pytest.mark.parametrize("begun", [b"", b"GET / HTTP/1.1\r\nX-Half: "])
def test_three_times_as_many_as_there_are_places_shut_nobody_out(small, begun):
    port = small(n_places=30).serving.port
    with connections(port, 90, begun):
        start = time.perf_counter()
        for _ in range(5):
            assert asked(port) == "http 127.0.0.1"
        assert time.perf_counter() - start < 2


def test_a_connection_that_was_of_use_outlives_those_that_were_not(small):
    port = small(n_places=30).serving.port
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    line.request("GET", "/peer")
    line.getresponse().read()
    mine = line.sock
    with connections(port, 60):
        asked(port)
        line.request("GET", "/peer")
        assert line.getresponse().read() and line.sock is mine
    line.close()


def one(address: str, last: float, n_asked: int = 0, busy: bool = False) -> SimpleNamespace:
    made = SimpleNamespace(addr=(address, 1), last_activity=last, n_asked=n_asked, will_close=False, closed=False)
    made.requests, made.is_idle = ["asked"] if busy else [], not busy
    made.handle_close = lambda: setattr(made, "closed", True)
    return made


@pytest.mark.parametrize(
    ("held", "goes"),
    [
        ([one("10.0.0.1", 1), one("10.0.0.2", 5), one("10.0.0.2", 4)], 2),
        ([one("10.0.0.1", 1, 3), one("10.0.0.1", 5)], 1),
        ([one("127.0.0.1", 1), one("127.0.0.1", 1), one("10.0.0.1", 5, 9)], 2),
        ([one("10.0.0.1", 1, busy=True), one("10.0.0.1", 5, 9)], 1),
        ([one("10.0.0.1", 1, busy=True)], None),
    ],
    ids=["of the address with most", "never asked", "the laptop last", "not while it is answered", "nobody"],
)
def test_the_one_of_least_use_makes_room(held, goes):
    Listener.make_room(SimpleNamespace(active_channels=dict(enumerate(held))))
    assert [place for place, each in enumerate(held) if each.closed] == ([] if goes is None else [goes])
    for each in held:
        each.closed = False


HEAD = SimpleNamespace(headers_finished=False)
BODY = SimpleNamespace(headers_finished=True)


@pytest.mark.parametrize(
    ("state", "lasts_s"),
    [
        ({}, HEAD_S),
        ({"n_asked": 2}, IDLE_S),
        ({"request": HEAD}, HEAD_S),
        ({"request": BODY}, IDLE_S),
        ({"total_outbufs_len": 5}, STUCK_S),
    ],
    ids=["never asked", "has asked", "half a head", "a part of a body", "an answer nobody takes"],
)
def test_waiting_has_an_end(state, lasts_s):
    usual = {"requests": [], "request": None, "total_outbufs_len": 0, "n_asked": 0, "last_activity": 100.0}
    held = SimpleNamespace(**{**usual, "_head_since": 100.0, **state})
    assert not Connection.is_over(held, 100 + lasts_s - 1) and Connection.is_over(held, 100 + lasts_s + 1)
    held.requests = ["asked"]
    assert not Connection.is_over(held, 1e9)


def test_a_head_that_comes_letter_by_letter_has_an_end_too():
    held = SimpleNamespace(requests=[], request=HEAD, total_outbufs_len=0, n_asked=0, last_activity=120.0)
    held._head_since = 100.0
    assert Connection.is_over(held, 120.0)


def test_there_are_places_enough_and_files_left():
    assert 60 <= places() <= N_PLACES


@pytest.mark.parametrize("host", ["192.0.2.77", "no.such.host.invalid"])
def test_an_address_that_is_not_this_machines_is_said_to_be(host):
    with pytest.raises(PortTaken, match="say another --host"):
        Serving(None, host, 0)


@pytest.mark.parametrize(
    ("told", "address"),
    [("10.0.0.7", "10.0.0.7"), ("::ffff:10.0.0.7", "10.0.0.7"), ("fe80::1%eth0", "fe80::1"), ("", "")],
)
def test_the_other_end_has_one_name(told, address):
    assert peer_address({"REMOTE_ADDR": told, "HTTP_X_FORWARDED_FOR": "10.9.9.9"}) == address
