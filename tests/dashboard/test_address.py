"""Where a season is served, under which names."""

import pytest

from dashboard.address import has_screen, is_loopback, listening_on, names_of


@pytest.mark.parametrize(
    ("host", "alone"),
    [
        ("127.0.0.1", True),
        ("localhost", True),
        ("::1", True),
        ("0.0.0.0", False),
        ("192.168.1.20", False),
        ("bench", False),
    ],
)
def test_what_only_this_machine_reaches(host, alone):
    assert is_loopback(host) is alone


def test_localhost_is_listened_on_by_its_number():
    assert listening_on("localhost") == listening_on(" LocalHost ") == "127.0.0.1"


def test_nobody_else_has_a_name_for_the_loopback_address():
    assert names_of("127.0.0.1") == ()


def test_an_address_is_its_own_name_and_the_newer_kind_stands_in_brackets():
    assert names_of("192.168.1.20") == ("192.168.1.20",)
    assert names_of("fd00::7") == ("[fd00::7]",)


def test_every_address_has_the_machine_s_names_and_no_loopback_among_them():
    names = names_of("0.0.0.0")
    assert any(name.endswith(".local") for name in names)
    assert not any(is_loopback(name.strip("[]")) for name in names)


def test_a_browser_is_opened_only_where_there_is_a_screen():
    assert has_screen("win32", {}) and has_screen("darwin", {})
    assert has_screen("linux", {"DISPLAY": ":0"}) and has_screen("linux", {"WAYLAND_DISPLAY": "wayland-0"})
    assert not has_screen("linux", {"DISPLAY": ""})
