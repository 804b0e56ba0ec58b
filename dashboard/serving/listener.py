"""What listens: waitress, with a place for everybody who asks and none to stand in.

A connection that asks nothing is worth nothing to whoever holds it: none is kept for long, and where all places are
taken, a new one gets the place of the one that is of least use: of the address that has the most, the one that never
asked or did so the longest ago. So nobody is shut out by connections alone, however many there are.
"""

from __future__ import annotations

import errno
import sys
from collections import Counter
from typing import TYPE_CHECKING, Any

from waitress import wasyncore
from waitress.adjustments import Adjustments
from waitress.server import TcpWSGIServer

from dashboard.address import LOOPBACK, is_loopback
from dashboard.errors import PortTaken
from dashboard.serving.connection import Connection, SecretConnection
from dashboard.serving.lanes import Lanes

if TYPE_CHECKING:
    import ssl

    from flask import Flask

SWITCH_S = 0.0001  # how long a thread that works something out keeps a key's thread waiting, each time that one reads
N_PLACES = 500
FEWEST_PLACES = 60
ANY = "0.0.0.0"
MOST_BODY_BYTES = 16 * 1024 * 1024
_CHECK_EVERY_S = 5
_FILES_BESIDE = 200
_SELECTED = 450  # what Windows can watch at once, with room for the program's own


class Listener(TcpWSGIServer):
    """Listens on one address.

    Parameters
    ----------
    n_places : int
        How many connections there may be.
    tls : SSLContext, optional
        For connections under TLS.
    **waitress
        What waitress wants.
    """

    def __init__(self, app: Flask, n_places: int, tls: ssl.SSLContext | None = None, **waitress: Any) -> None:
        self.n_places = n_places
        self.tls = tls
        self.channel_class = Connection if tls is None else SecretConnection
        super().__init__(app, **waitress)

    def handle_accept(self) -> None:
        """Take a connection in, in the place of another one where there is none left."""
        if len(self.active_channels) >= self.n_places:
            self.make_room()
        try:
            super().handle_accept()
        except OSError:  # gone before it was greeted
            self.logger.debug("a connection went before it was greeted", exc_info=True)

    def make_room(self) -> None:
        """Close the connection that is of least use; one that is being answered never."""
        held = [one for one in self.active_channels.values() if not one.requests and not one.will_close]
        waiting = [one for one in held if one.is_idle] or held
        n_of = Counter(one.addr[0] for one in waiting)
        least = min(
            waiting,
            key=lambda one: (is_loopback(one.addr[0]), -n_of[one.addr[0]], one.n_asked > 0, one.last_activity),
            default=None,
        )
        if least is not None:
            least.handle_close()

    def maintenance(self, now: float) -> None:
        """Close what has been held long enough.

        Parameters
        ----------
        now : float
            The time.
        """
        for one in self.active_channels.values():
            if one.is_over(now):
                one.will_close = True


class Serving:
    """An application, listening; one address may mean several (IPv4 and IPv6 of a name). `scheme` is http or https.

    Parameters
    ----------
    app : Flask
        The application.
    host : str
        Address to listen on.
    port : int
        0 takes any that is free.
    tls : SSLContext, optional
        Serve by https.
    here_too : bool
        Listen on this machine's own address as well, at the same port, whatever the host is.

    Raises
    ------
    PortTaken
        It can't be served from there.
    """

    def __init__(
        self, app: Flask, host: str, port: int, tls: ssl.SSLContext | None = None, *, here_too: bool = False
    ) -> None:
        n_places = places()
        try:
            told = Adjustments(
                host=host,
                port=port,
                clear_untrusted_proxy_headers=False,  # what was passed on is not this machine's own: the gate looks
                ident="floorbook",
                max_request_body_size=MOST_BODY_BYTES,
                connection_limit=n_places + FEWEST_PLACES,
                cleanup_interval=_CHECK_EVERY_S,
                channel_request_lookahead=1,  # so that one who went away is known to have gone before he is answered
                asyncore_use_poll=True,
                url_scheme="http" if tls is None else "https",
            )
        except ValueError:
            raise PortTaken(f"can't serve from {host} (no address of this machine); say another --host") from None
        self.scheme = told.url_scheme
        self._map: dict[int, Any] = {}
        self._lanes = Lanes()
        waitress = {"map": self._map, "dispatcher": self._lanes, "adj": told}
        self._listening: list[Listener] = []
        try:
            for each in told.listen:
                self._listening.append(Listener(app, n_places, tls, sockinfo=each, **waitress))
            if here_too and host not in (ANY, LOOPBACK):
                [here] = Adjustments(host=LOOPBACK, port=self.port).listen
                self._listening.append(Listener(app, n_places, tls, sockinfo=here, **waitress))
        except OSError as fault:
            self.close()
            if fault.errno in (errno.EADDRINUSE, errno.EACCES, getattr(errno, "WSAEADDRINUSE", -1)):
                told_port = f"port {port} is taken by another program; close that one, or say --port NUMBER"
                raise PortTaken(told_port) from None
            raise PortTaken(f"can't serve from {host} ({fault.strerror}); say another --host") from None

    @property
    def port(self) -> int:
        """The port that is listened on."""
        return int(self._listening[0].effective_port)

    def run(self) -> None:
        """Serve until interrupted."""
        sys.setswitchinterval(SWITCH_S)
        self._listening[0].run()

    def close(self) -> None:
        """Let go of everything."""
        self._lanes.shutdown()
        for each in self._listening:
            for one in list(each.active_channels.values()):
                one.handle_close()
        wasyncore.close_all(self._map)


def places() -> int:
    """How many connections this machine lets a program hold, up to what is of use; the limit is raised where it can be.

    Returns
    -------
    int
        At least `FEWEST_PLACES`.
    """
    import select

    most = N_PLACES if hasattr(select, "poll") else _SELECTED
    try:
        import resource
    except ImportError:
        return most
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = N_PLACES + _FILES_BESIDE
    if soft != resource.RLIM_INFINITY and soft < wanted:
        soft = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    return most if soft == resource.RLIM_INFINITY else max(FEWEST_PLACES, min(most, soft - _FILES_BESIDE))
