"""Where a season is served: which address, under which names, and how to tell people."""

from __future__ import annotations

import ipaddress
import os
import socket
import sys
import webbrowser
from collections.abc import Mapping
from contextlib import suppress

LOOPBACK = "127.0.0.1"
_ANY = ("0.0.0.0", "::")
_NOWHERE = ("192.0.2.1", 9)  # an address of documentation (RFC 5737): nothing is sent, the system only picks a way


def listening_on(host: str) -> str:
    """The address to listen on for what the user said.

    Parameters
    ----------
    host : str
        As given.

    Returns
    -------
    str
        One canonical address for this machine alone: what a browser keeps, it keeps per address.
    """
    return LOOPBACK if host.strip().lower() == "localhost" else host.strip()


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach an address.

    Parameters
    ----------
    host : str
        An address or a name.

    Returns
    -------
    bool
        A name other than localhost counts as reachable.
    """
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def names_of(host: str) -> tuple[str, ...]:
    """The names under which other devices may ask for this machine.

    Parameters
    ----------
    host : str
        The address that is listened on.

    Returns
    -------
    tuple of str
        The most telling one first; empty for the loopback address.
    """
    if is_loopback(host):
        return ()
    if host not in _ANY:
        return (_bracketed(host),)
    own = socket.gethostname()
    found = [_way_out()]
    with suppress(OSError):
        found += [str(each[4][0]) for each in socket.getaddrinfo(own, None, type=socket.SOCK_STREAM)]
    found = [_bracketed(each) for each in found if each and not is_loopback(each)]
    return tuple(dict.fromkeys([*found, own.lower(), f"{own.lower()}.local"]))


def has_screen(platform: str, environ: Mapping[str, str]) -> bool:
    """Whether a browser window can be shown.

    Parameters
    ----------
    platform : str
        As `sys.platform`.
    environ : mapping of str to str
        The environment's variables.

    Returns
    -------
    bool
        On Windows and macOS always.
    """
    return platform in ("win32", "darwin") or bool(environ.get("DISPLAY") or environ.get("WAYLAND_DISPLAY"))


def show(address: str) -> bool:
    """Open an address in the user's browser, where there is a screen.

    Parameters
    ----------
    address : str
        To open.

    Returns
    -------
    bool
        Whether a browser was found.
    """
    return has_screen(sys.platform, os.environ) and webbrowser.open(address)


def _bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host and not host.startswith("[") else host


def _way_out() -> str:
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(_NOWHERE)
            return str(probe.getsockname()[0])
    except OSError:
        return ""
