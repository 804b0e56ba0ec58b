"""How much one sender may send, so that neither a mistake nor a grudge fills the coach's disk."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection
from dataclasses import dataclass

from dashboard.doors.guests import Guest
from dashboard.doors.patience import household
from tagger.screen.answers import Refused

STAY_FREE_BYTES = 5_000_000_000
_GB = 1_000_000_000


@dataclass
class _Sent:
    label: str
    whence: str
    size_bytes: int
    whole: bool = False


class Quota:
    """What each sender has sent since the season was opened; one sender is one browser, or one address.

    Parameters
    ----------
    most_bytes : int
        How much one may send.
    most_files : int
        How many films one may have begun and not whole.
    """

    def __init__(self, most_bytes: int, most_files: int) -> None:
        self.most_bytes = most_bytes
        self.most_files = most_files
        self._guard = threading.Lock()
        self._sent: dict[str, list[_Sent]] = {}

    def begin(
        self, guest: Guest, size_bytes: int, held: str, begun: Collection[str], begins: Callable[[], str]
    ) -> None:
        """Let a sender begin a film, if that leaves him within what he may.

        Parameters
        ----------
        guest : Guest
            Who sends.
        size_bytes : int
            How large the film is.
        held : str
            The arrival that this film is already; empty for a new one.
        begun : collection of str
            Ids of all arrivals that are not whole.
        begins : callable
            Begins it and gives the arrival's id.

        Raises
        ------
        Refused
            413 or 409: it would be too much; nothing was begun.
        """
        with self._guard:
            mine = self._mine(guest, begun)
            others = [one for id_, one in mine if id_ != held]
            used = sum(one.size_bytes for one in others)
            if used + size_bytes > self.most_bytes:
                may = f"you may send {self.most_bytes / _GB:.0f} GB, and {used / _GB:.1f} GB of it are used"
                raise Refused(413, "quota", f"{may}; this film has {size_bytes / _GB:.1f} GB. Ask the coach")
            if sum(not one.whole for one in others) >= self.most_files:
                text = f"{self.most_files} films of yours are begun and not whole; send one of them to its end first"
                raise Refused(409, "quota", text)
            id_ = begins()
            whose = self._sent.setdefault(id_, [])
            if not any(one.label == guest.label for one in whose):
                whose.append(_Sent(guest.label, household(guest.address), size_bytes))

    def finished(self, id_: str) -> None:
        """Note that a film came whole: it still counts, but is begun no more.

        Parameters
        ----------
        id_ : str
            The arrival's.
        """
        with self._guard:
            for one in self._sent.get(id_, ()):
                one.whole = True

    def owns(self, guest: Guest, id_: object) -> bool:
        """Whether a film is one that this very browser sends.

        Parameters
        ----------
        guest : Guest
            Who asks.
        id_ : object
            The arrival's id, as it was sent or held.

        Returns
        -------
        bool
            Not for another browser at the same address.
        """
        with self._guard:
            return any(one.label == guest.label for one in self._sent.get(str(id_), ()))

    def left_bytes(self, guest: Guest, begun: Collection[str]) -> int:
        """How much a sender may still send.

        Parameters
        ----------
        guest : Guest
            Who asks.
        begun : collection of str
            Ids of all arrivals that are not whole.

        Returns
        -------
        int
            In bytes; what he has begun is taken off whole.
        """
        with self._guard:
            used = sum(one.size_bytes for _, one in self._mine(guest, begun))
        return max(0, self.most_bytes - used)

    def _mine(self, guest: Guest, begun: Collection[str]) -> list[tuple[str, _Sent]]:
        """One for each film of his; what was cleared before it was whole counts no more."""
        for id_ in [id_ for id_, those in self._sent.items() if id_ not in begun and not those[0].whole]:
            del self._sent[id_]
        whence = household(guest.address)
        found = {}
        for id_, those in self._sent.items():
            for one in those:
                if one.label == guest.label or one.whence == whence:
                    found[id_] = one
        return list(found.items())
