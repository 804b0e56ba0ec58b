"""Who is at the other end of a connection."""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from typing import Any


def peer_address(environ: Mapping[str, Any]) -> str:
    """The address that a request comes from, by the connection itself: no header can say another.

    Parameters
    ----------
    environ : mapping
        The request's, as WSGI has it.

    Returns
    -------
    str
        Canonical; an IPv4 address that came over IPv6 as IPv4. Empty where there is none.
    """
    told = str(environ.get("REMOTE_ADDR") or "")
    try:
        found = ipaddress.ip_address(told.partition("%")[0])
    except ValueError:
        return told
    return str(getattr(found, "ipv4_mapped", None) or found)
