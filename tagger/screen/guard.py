"""Who may ask: only pages of this very server, under a name it is known by.

A page of another site that the same browser shows could send requests here, or point a name of its own at this
machine; the Host header gives away the second, Origin and Sec-Fetch-Site the first. Where the program is served on
purpose to other devices, their name for it is put into the application's setting `ALLOWED_HOSTS`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from tagger.screen.answers import Refused

LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})
SETTING = "ALLOWED_HOSTS"


class Headers(Protocol):
    """A request's headers: what one of them says, or None."""

    def get(self, name: str, /) -> str | None:
        """The header of a name."""
        ...


_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


def check(method: str, host: str, headers: Headers, scheme: str, allowed: Iterable[str] = ()) -> None:
    """Refuse a request that does not come from a page of this server.

    Parameters
    ----------
    method : str
        HTTP method.
    host : str
        The Host header, with its port.
    headers : Headers
        The request's headers.
    scheme : str
        "http" or "https".
    allowed : iterable of str
        Host names, without port, beside the loopback ones.

    Raises
    ------
    Refused
        403.
    """
    name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
    if name.lower() not in LOOPBACK | {one.lower() for one in allowed}:
        raise Refused(403, "foreign_host", f"this floorbook is not known as “{name}”; open it as localhost")
    origin = headers.get("Origin")
    if origin is not None and origin != f"{scheme}://{host}":
        raise Refused(403, "foreign_origin", "another site’s page asked for this; only floorbook’s own pages may")
    if method not in _SAFE and headers.get("Sec-Fetch-Site") not in (None, "same-origin", "none"):
        raise Refused(403, "foreign_origin", "another site’s page asked for this; only floorbook’s own pages may")
