"""Wrong phrases slow down the address that they come from, and no other.

The wait doubles with each wrong one. Only so many addresses are remembered; the networks of IPv6 that one household
gets (/64) count as one address, since a single device may take any address in its own.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from ipaddress import IPv6Address, ip_address

FIRST_S, LONGEST_S = 1.0, 60.0
_QUIET_S = 15 * 60.0
_MOST = 1024
_NETWORK_BITS = 64


class Patience:
    """How long each address has to wait before it is listened to again.

    Parameters
    ----------
    clock : callable, optional
        Seconds that only grow.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._guard = threading.Lock()
        self._held: dict[str, tuple[int, float]] = {}  # wrong ones in a row, until when it waits; the oldest first

    def try_one(self, address: str, right: Callable[[], bool]) -> float | None:
        """Let an address try once.

        Parameters
        ----------
        address : str
            Where the try comes from.
        right : callable
            Whether it is right; not even asked while the address has to wait.

        Returns
        -------
        float or None
            None when it is right. Else the seconds until this address may try again: 0 for a try that was heard and
            wrong, more for one that came too soon.
        """
        whose = household(address)
        with self._guard:
            now = self._clock()
            n_wrong, until = self._held.get(whose, (0, now))
            if now < until:
                return until - now
            if now - until > _QUIET_S:
                n_wrong = 0
            self._held.pop(whose, None)
            if right():
                return None
            self._held[whose] = (n_wrong + 1, now + min(LONGEST_S, FIRST_S * 2.0**n_wrong))
            while len(self._held) > _MOST:
                del self._held[next(iter(self._held))]
            return 0.0


def household(address: str) -> str:
    """The part of an address that its device can't change by itself.

    Parameters
    ----------
    address : str
        An IP address, or anything.

    Returns
    -------
    str
        The /64 network of an IPv6 address; an IPv4 address, also one written as IPv6, as it is.

    Examples
    --------
    >>> household("2001:db8::7:1") == household("2001:db8::7:2")
    True
    >>> household("::ffff:192.0.2.7")
    '192.0.2.7'
    """
    try:
        found = ip_address(address.partition("%")[0])
    except ValueError:
        return address[:64]
    if not isinstance(found, IPv6Address):
        return str(found)
    if found.ipv4_mapped is not None:
        return str(found.ipv4_mapped)
    return f"{IPv6Address(int(found) >> _NETWORK_BITS << _NETWORK_BITS)}/{_NETWORK_BITS}"
