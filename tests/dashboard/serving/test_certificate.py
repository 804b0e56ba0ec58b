"""A certificate of this computer's own: made once, kept for its owner, renewed when it ends or lacks a name."""

from __future__ import annotations

import http.client
import os
import socket
import ssl
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from dashboard.serving.certificate import FILE, LASTS, own_certificate, own_folder
from dashboard.serving.words import way_in_words
from tests.dashboard.serving.conftest import connections

NOW = datetime(2026, 11, 25, tzinfo=UTC)
NAMES = ("192.168.1.7", "[fe80::1]", "bench-laptop", "bench-laptop.local", "Büro", "")


def read(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def names_in(path: Path) -> set[str]:
    return {str(one.value) for one in read(path).extensions.get_extension_for_class(x509.SubjectAlternativeName).value}


def test_it_is_made_once_and_names_what_it_is_asked_for_by(tmp_path):
    first = own_certificate(NAMES, tmp_path / "own", NOW)
    assert own_certificate(NAMES, tmp_path / "own", NOW + timedelta(days=300)) == first
    told = names_in(first.path)
    assert told == {"127.0.0.1", "::1", "localhost", "192.168.1.7", "fe80::1", "bench-laptop", "bench-laptop.local"}
    found = read(first.path)
    assert found.not_valid_after_utc - found.not_valid_before_utc == LASTS <= timedelta(days=397)


@pytest.mark.skipif(os.name != "posix", reason="rights as Linux and macOS have them")
def test_the_key_is_its_owners_only(tmp_path):
    made = own_certificate((), tmp_path / "own", NOW)
    assert made.path.stat().st_mode & 0o077 == 0 and made.path.parent.stat().st_mode & 0o077 == 0


def test_one_that_ends_soon_is_made_anew(tmp_path):
    first = own_certificate((), tmp_path, NOW)
    later = NOW + timedelta(days=391)
    second = own_certificate((), tmp_path, later)
    assert second.fingerprint != first.fingerprint and read(second.path).not_valid_after_utc > later + timedelta(390)


def test_at_another_place_the_names_of_the_first_stay_so_that_coming_back_changes_nothing(tmp_path):
    own_certificate(("192.168.1.7",), tmp_path, NOW)
    there = own_certificate(("10.0.0.5",), tmp_path, NOW)
    assert {"192.168.1.7", "10.0.0.5"} <= names_in(there.path)
    assert own_certificate(("192.168.1.7",), tmp_path, NOW) == there


@pytest.mark.parametrize("spoilt", ["", "no certificate", "half"])
def test_a_spoilt_one_is_made_anew(tmp_path, spoilt):
    first = own_certificate((), tmp_path, NOW)
    text = first.path.read_text()
    (tmp_path / FILE).write_text(text[: len(text) // 2] if spoilt == "half" else spoilt)
    assert own_certificate((), tmp_path, NOW).context is not None


def test_a_key_of_another_certificate_is_not_served_with(tmp_path):
    one, other = (own_certificate((), tmp_path / name, NOW).path.read_text() for name in ("a", "b"))
    cut = one.index("-----BEGIN CERTIFICATE")
    (tmp_path / FILE).write_text(one[:cut] + other[other.index("-----BEGIN CERTIFICATE") :])
    assert own_certificate((), tmp_path, NOW).context is not None


@pytest.mark.parametrize(
    ("platform", "environ", "folder"),
    [
        ("linux", {}, "home/.local/share/floorbook"),
        ("linux", {"XDG_DATA_HOME": "relative"}, "home/.local/share/floorbook"),
        ("linux", {"XDG_DATA_HOME": "/data"}, "/data/floorbook"),
        ("darwin", {}, "home/Library/Application Support/floorbook"),
        ("win32", {"LOCALAPPDATA": "local"}, "local/floorbook"),
    ],
)
def test_it_lies_where_the_system_keeps_what_is_ones_own(platform, environ, folder):
    assert own_folder(platform, environ, Path("home")) == Path(folder)


def test_the_words_say_what_plain_http_means_and_show_the_fingerprint(tmp_path):
    assert way_in_words(None, beyond=False) == []
    (plain,) = way_in_words(None, beyond=True)
    assert "phrases and film" in plain and "--https" in plain
    made = own_certificate((), tmp_path, NOW)
    _, *lines = way_in_words(made, beyond=True)
    assert "".join(lines).replace(" ", "") == made.fingerprint and len(made.fingerprint) == 64


@pytest.fixture
def trusted(tmp_path):
    made = own_certificate((), tmp_path / "own")
    return made.context, ssl.create_default_context(cafile=str(made.path))


def test_what_is_served_under_tls_comes_whole_and_from_whom_it_says(small, trusted):
    serves, trusts = trusted
    line = http.client.HTTPSConnection("127.0.0.1", small(tls=serves).serving.port, timeout=20, context=trusts)
    for _ in range(2):  # a film of many records, and the same connection after it
        line.request("GET", "/film/f1")
        assert line.getresponse().read() == b"f" * (24 * 1024 * 1024)
    line.request("POST", "/tag/g1/entries", b"m" * 300_000)
    assert line.getresponse().read() == b"m" * 300_000
    line.request("GET", "/peer")
    assert line.getresponse().read() == b"https 127.0.0.1"
    line.close()


@pytest.mark.parametrize("begun", [b"", b"\x16\x03\x01", b"\x16\x03\x01\x02\x00\x01"])
def test_greetings_that_come_to_no_end_shut_nobody_out(small, trusted, begun):
    serves, trusts = trusted
    port = small(tls=serves, n_places=30).serving.port
    with connections(port, 90, begun):
        line = http.client.HTTPSConnection("127.0.0.1", port, timeout=5, context=trusts)
        line.request("GET", "/peer")
        assert line.getresponse().read() == b"https 127.0.0.1"
        line.close()


def test_who_comes_without_tls_is_told(small, trusted):
    port = small(tls=trusted[0]).serving.port
    with socket.create_connection(("127.0.0.1", port), timeout=5) as plain:
        plain.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        told = plain.recv(4096)
    assert told.startswith(b"HTTP/1.1 400") and b"put https:// before the address" in told
