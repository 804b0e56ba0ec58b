"""Where a request comes from: this very machine, or another one.

Whoever sits at the machine that serves may do everything, so nothing that a header says makes a request the laptop's; a
header can only show that it is not: that it was asked for under the network's name, or passed on by another program.
"""

from __future__ import annotations

from ipaddress import ip_address

from flask import Request

from dashboard.serving.peer import peer_address
from tagger.screen import guard

_PASSED_ON = ("Forwarded", "Via", "X-Forwarded-For", "X-Real-IP")


def address_of(request: Request) -> str:
    """The address that a request's connection comes from.

    Parameters
    ----------
    request : Request
        The present one.

    Returns
    -------
    str
        As the server saw it; empty where it saw none.
    """
    return peer_address(request.environ)


def from_this_machine(request: Request) -> bool:
    """Whether it is this machine that asks, under its own name, and not for somebody else.

    Parameters
    ----------
    request : Request
        The present one.

    Returns
    -------
    bool
        False in doubt.
    """
    name = request.host.rsplit(":", 1)[0] if not request.host.endswith("]") else request.host
    if name.lower() not in guard.LOOPBACK or any(header in request.headers for header in _PASSED_ON):
        return False
    try:
        return ip_address(address_of(request)).is_loopback
    except ValueError:
        return False
