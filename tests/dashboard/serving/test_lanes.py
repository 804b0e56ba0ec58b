"""Requests go by lanes: nobody who reads takes the thread of who tags, and keys go first."""

from __future__ import annotations

import http.client
import threading
import time

import pytest

from dashboard.serving.lanes import N_THREADS, Lanes, Quiet, lane_of
from dashboard.serving.turns import Turns, aside
from tests.dashboard.serving.conftest import PAGE_S, connections


@pytest.mark.parametrize(
    ("asked", "lane"),
    [
        ("POST /tag/g1/entries", "keys"),
        ("GET /tag/g1/entries", "tagging"),
        ("GET /tag/g1/folded.json", "tagging"),
        ("GET /tag/g1", "tagging"),
        ("GET /film/f1", "film"),
        ("POST /films/send/1", "sending"),
        ("POST /enter", "door"),
        ("GET /_dash-component-suites/dash/x.js", "files"),
        ("POST /_dash-update-component", "pages"),
        ("GET /", "rest"),
        ("POST /clips", "rest"),
    ],
)
def test_each_request_has_its_lane(asked, lane):
    assert lane_of(*asked.split(" ")) == lane and lane in N_THREADS


def test_a_key_waits_for_no_reader(small):
    port = small().serving.port
    with connections(port, 20, b"GET /page HTTP/1.1\r\nHost: x\r\n\r\n"):
        time.sleep(0.05)
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        start = time.perf_counter()
        line.request("POST", "/tag/g1/entries", b"a mark")
        assert line.getresponse().read() == b"a mark"
        assert time.perf_counter() - start < PAGE_S  # twenty pages, two at a time, take ten times as long
        line.close()


@pytest.mark.parametrize("extra", ["", "Range: bytes=0-\r\n"])
def test_who_takes_a_film_in_slowly_holds_no_thread(small, extra):
    port = small().serving.port
    with connections(port, 12, f"GET /film/f1 HTTP/1.1\r\nHost: x\r\n{extra}\r\n".encode()) as slow:
        for one in slow:
            assert one.recv(200).startswith(b"HTTP/1.1 20")
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        line.request("GET", "/film/f1", headers={"Range": "bytes=5-9"})
        assert line.getresponse().read() == b"fffff"
        line.close()


def test_a_film_asked_for_whole_comes_whole(small):
    line = http.client.HTTPConnection("127.0.0.1", small().serving.port, timeout=20)
    line.request("GET", "/film/f1")
    assert len(line.getresponse().read()) == 24 * 1024 * 1024
    line.close()


class Told:
    """A task that says when it is answered."""

    def __init__(self, command, path, done, wait=None, wait_s=5.0):
        self.requests = [type("Asked", (), {"command": command, "path": path})()]
        self.done, self.wait, self.wait_s = done, wait, wait_s

    def service(self):
        if self.wait is not None:
            self.wait.wait(self.wait_s)
        self.done.append(self.requests[0].path)

    def cancel(self):
        pass


def test_no_page_is_begun_while_a_key_is_on_its_way():
    lanes, done, release = Lanes(), [], threading.Event()
    lanes.add_task(Told("POST", "/tag/g1/entries", done, release))
    lanes.add_task(Told("GET", "/", done))
    time.sleep(0.01)
    assert done == []
    release.set()
    lanes.shutdown(cancel_pending=False)
    assert done == ["/tag/g1/entries", "/"]


def test_keys_without_end_hold_up_no_page_for_long():
    quiet = Quiet()
    quiet.begin()
    start = time.perf_counter()
    quiet.wait()
    assert time.perf_counter() - start < 1


def test_pages_go_one_at_a_time_but_who_waits_lets_others_pass():
    turns, done, waits = Turns(), [], threading.Event()

    def first():
        with turns.taken():
            done.append("first begins")
            with aside():
                waits.wait(5)
            done.append("first ends")

    def second():
        with turns.taken():
            done.append("second")
            waits.set()

    threads = [threading.Thread(target=first), threading.Thread(target=second)]
    for one in threads:
        one.start()
        time.sleep(0.02)
    for one in threads:
        one.join()
    assert done == ["first begins", "second", "first ends"]


def test_half_of_the_pages_time_is_left_to_keys_while_somebody_tags():
    lanes, done, slow = Lanes(), [], threading.Event()

    def seconds_for_four() -> float:
        start, n = time.monotonic(), len(done)
        for _ in range(4):
            lanes.add_task(Told("POST", "/_dash-update-component", done, slow, 0.02))
        while len(done) < n + 4:
            time.sleep(0.001)
        return time.monotonic() - start

    lanes.add_task(Told("POST", "/tag/g1/entries", done))
    while "/tag/g1/entries" not in done:
        time.sleep(0.001)
    assert seconds_for_four() > 0.135  # four of 20 ms, one at a time, and as long again after each of the first three
    lanes.shutdown()
