"""One connection, plain or under TLS: it gets a part of the loop's time, whatever its size and whoever reads."""

from __future__ import annotations

import socket
import ssl
import time
from contextlib import suppress
from typing import Any

from waitress.channel import HTTPChannel

HEAD_S = 15.0
IDLE_S = 40.0
STUCK_S = 120.0
_TURN_BYTES = 256 * 1024
_RECORD_BYTES = 16 * 1024
_PLAIN = b"This season is served by https; put https:// before the address.\n"
_PLAIN_ANSWER = (
    b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain\r\nConnection: close\r\nContent-Length: %d\r\n\r\n%s"
    % (len(_PLAIN), _PLAIN)
)


class Connection(HTTPChannel):
    """A connection as waitress has it, with turns, and with an end to waiting."""

    n_asked = 0
    _head_since = 0.0
    _left = 0

    def __init__(self, server: Any, sock: Any, addr: Any, adj: Any, map: Any = None) -> None:
        super().__init__(server, sock, addr, adj, map)
        self.sendbuf_len = min(sock.getsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF), _TURN_BYTES)

    @property
    def is_idle(self) -> bool:
        """Whether nothing was asked that isn't answered and taken."""
        return not self.requests and not self.total_outbufs_len

    def is_over(self, now: float) -> bool:
        """Whether it has been held long enough.

        Parameters
        ----------
        now : float
            The time.

        Returns
        -------
        bool
            True where nothing is asked, a request's head does not come to its end, or nobody takes the answer.
        """
        if self.requests:
            return False
        quiet_s, request = now - self.last_activity, self.request
        if self.total_outbufs_len:
            return bool(quiet_s > STUCK_S)
        if request is not None:
            return bool(quiet_s > IDLE_S or (not request.headers_finished and now - self._head_since > HEAD_S))
        return bool(quiet_s > (IDLE_S if self.n_asked else HEAD_S))

    def received(self, data: bytes) -> bool:
        """Take in what came.

        Parameters
        ----------
        data : bytes
            A part of a request, or several.

        Returns
        -------
        bool
            Whether it was of use.
        """
        if self.request is None:
            self._head_since = time.time()
        return bool(super().received(data))

    def service(self) -> None:
        """Answer the request that is first in line."""
        self.n_asked += 1  # before the other end has its answer: from then on it may be asked to make room
        super().service()

    def send(self, data: bytes, do_close: bool = True) -> int:
        """Send what the other end takes, up to the end of this turn.

        Parameters
        ----------
        data : bytes
            To send.
        do_close : bool
            Whether to close when the other end has gone.

        Returns
        -------
        int
            How many bytes went; 0 when it is the others' turn.
        """
        if self._left <= 0 or not data:
            return 0
        n_sent = self._put(data, do_close)
        self._left -= n_sent
        return n_sent

    def _put(self, data: bytes, do_close: bool) -> int:
        return int(super().send(data, do_close=do_close) or 0)

    def _flush_some(self, do_close: bool = True) -> bool:
        self._left = _TURN_BYTES
        return bool(super()._flush_some(do_close=do_close))


class SecretConnection(Connection):
    """A connection under TLS; the server's `tls` is the context. Nobody waits for the other's part of a greeting."""

    _greeted = False
    _greets_back = False

    def __init__(self, server: Any, sock: Any, addr: Any, adj: Any, map: Any = None) -> None:
        sock.setblocking(False)
        wrapped = server.tls.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        super().__init__(server, wrapped, addr, adj, map)
        self.sendbuf_len = _RECORD_BYTES  # more at once is copied for nothing: each call takes one record

    def readable(self) -> bool:
        """Whether to be called when something comes."""
        return not self.will_close if not self._greeted else bool(super().readable())

    def writable(self) -> bool:
        """Whether to be called when something can go."""
        return self._greets_back or self.will_close if not self._greeted else bool(super().writable())

    def handle_read(self) -> None:
        """Go on with the greeting, or take in what came."""
        if not self._greeted:
            self._greet()
            return
        try:
            with self.outbuf_lock:  # a thread may be sending, and a TLS connection does one thing at a time
                data = self.socket.recv(_RECORD_BYTES)
        except (ssl.SSLWantReadError, ssl.SSLWantWriteError):
            return
        except OSError:
            data = b""
        if data:
            self.last_activity = time.time()
            self.received(data)
        else:
            self.handle_close()

    def handle_write(self) -> None:
        """Go on with the greeting, or send."""
        if self._greeted or self.will_close:
            super().handle_write()
        else:
            self._greet()

    def _greet(self) -> None:
        self._greets_back = False
        try:
            self.socket.do_handshake()
        except ssl.SSLWantReadError:
            return
        except ssl.SSLWantWriteError:
            self._greets_back = True
        except (OSError, ValueError) as fault:
            if getattr(fault, "reason", "") == "HTTP_REQUEST":
                self._tell_plain()
            self.handle_close()
        else:
            self._greeted = True

    def _tell_plain(self) -> None:
        """Say to who came without TLS what to do, past the TLS that he doesn't speak."""
        with suppress(OSError):
            socket.socket.recv(self.socket, 65536)
            socket.socket.send(self.socket, _PLAIN_ANSWER)

    def _put(self, data: bytes, do_close: bool) -> int:
        try:
            return int(self.socket.send(data))
        except (ssl.SSLWantReadError, ssl.SSLWantWriteError):
            return 0
        except OSError:
            if do_close:
                self.handle_close()
            else:
                self.will_close = True
            return 0
