"""The laptop is known by its connection, over the program's own server too."""

import sys
from pathlib import Path

import pytest

from dashboard.doors.gate import Gate
from dashboard.server import create_app
from tagger.season import Season
from tests.bench.hardening.doors import NAME_IN_NETWORK, locked_out_s
from tests.dashboard.doors.listening import Peer, listening

MANY = pytest.mark.skipif(sys.platform == "darwin", reason="macOS gives a machine one loopback address")


@MANY
def test_served_under_one_address_of_the_network_the_laptop_has_its_own(season: Season) -> None:
    app = create_app(season, hosts=["127.0.0.9"], gate=Gate())
    with listening(app, "127.0.0.9") as port:
        laptop = Peer(port, "127.0.0.1", "127.0.0.1")
        assert laptop.ask("GET", "/doors") == 200
        for header in ("X-Forwarded-For", "X-Real-IP", "Forwarded", "Via"):
            assert laptop.ask("GET", "/doors", **{header: "192.0.2.9"}) == 401, "what was passed on is not the laptop's"
        laptop.close()
        other = Peer(port, "127.0.0.9", "127.0.0.9", at="127.0.0.9")
        assert other.ask("GET", "/doors") == 401
        other.close()


@MANY
def test_wrong_phrases_from_one_address_do_not_hold_up_another(season: Season, tmp_path: Path) -> None:
    app = create_app(season, hosts=[NAME_IN_NETWORK], gate=Gate())
    n_wrong, seconds = locked_out_s(app, n_threads=4, for_s=0.5)
    assert n_wrong > 4 and max(seconds) < 2.0  # the bench's goal is half a second, on a quiet machine
