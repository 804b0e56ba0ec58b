"""Who has come in: each browser that knew a phrase, under a token of its own, in memory for as long as it is served."""

from __future__ import annotations

import hashlib
import secrets
import threading
import time
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from flask import g, has_request_context

from tagger.marks.entries import BOOK_RULE, PUT_BACK, is_book_name
from tagger.screen.visitor import TAG

MOST_OF_A_KEY = 200
_HIDDEN = frozenset({"Cf", "Cc", "Mn"})


class NameRefused(ValueError):
    """A name that nobody can tag under here; says why and what would do."""


@dataclass
class Guest:
    """A browser that knew a phrase.

    Attributes
    ----------
    key : str
        Which phrase: SEND, LOOK or TAG.
    address : str
        Where he came from.
    label : str
        What the laptop's page knows him by; opens nothing.
    came_at, heard_at : float
        Seconds since 1970.
    name : str
        The name he tags under; empty until he has said it.
    games : dict of str to str
        The games that film of his was put to → as which camera's; empty for the game's own film.
    """

    key: str
    address: str
    label: str
    came_at: float
    heard_at: float
    name: str = ""
    games: dict[str, str] = field(default_factory=dict)


class Guests:
    """Everybody who is in.

    Parameters
    ----------
    wall : callable, optional
        Seconds since 1970.
    """

    def __init__(self, wall: Callable[[], float] = time.time) -> None:
        self._wall = wall
        self._guard = threading.Lock()
        self._in: dict[str, Guest] = {}  # by the digest of the token
        self._laptops: set[str] = {_spoken(PUT_BACK)}

    def welcome(self, key: str, address: str) -> str:
        """Let somebody in.

        Parameters
        ----------
        key : str
            By which phrase.
        address : str
            Where he comes from.

        Returns
        -------
        str
            The token that his browser keeps. When two hundred are in by one key, the one not heard of longest makes
            room.
        """
        token = secrets.token_urlsafe(32)
        now = self._wall()
        with self._guard:
            alike = [digest for digest, one in self._in.items() if one.key == key]
            if len(alike) >= MOST_OF_A_KEY:
                del self._in[min(alike, key=lambda digest: self._in[digest].heard_at)]
            self._in[_digest(token)] = Guest(key, address, secrets.token_hex(6), now, now)
        return token

    def known(self, token: str | None) -> Guest | None:
        """Who a token was given to.

        Parameters
        ----------
        token : str or None
            The cookie's value.

        Returns
        -------
        Guest or None
            None for what was never given out, or was taken back.
        """
        if not token:
            return None
        with self._guard:
            guest = self._in.get(_digest(token))
            if guest is not None:
                guest.heard_at = self._wall()
            return guest

    def call(self, guest: Guest, name: str) -> None:
        """Give a tagger the name that he says, once; all that he enters stands under it.

        Parameters
        ----------
        guest : Guest
            Who came in to tag.
        name : str
            As he typed it.

        Raises
        ------
        NameRefused
            It can't be a name, or somebody else acts under it: at the laptop, or on a device at another address.
        """
        name = unicodedata.normalize("NFC", " ".join(name.split()))
        if not is_book_name(name):
            raise NameRefused(f"that can’t be a name here: {BOOK_RULE.partition(' is ')[2]}")
        with self._guard:
            if _spoken(name) in self._laptops:
                raise NameRefused(f"{name} is who tags at the laptop itself; say another name")
            others = [
                (digest, one)
                for digest, one in self._in.items()
                if one is not guest and one.name and _spoken(one.name) == _spoken(name)
            ]
            if any(one.address != guest.address for _, one in others):
                raise NameRefused(f"{name} is in already, on another device; say another name, or ask at the laptop")
            for digest, _ in others:  # the same device, which has lost its cookie
                del self._in[digest]
            guest.name = name

    def at_laptop(self, names: Iterable[str]) -> None:
        """Note under which names is tagged at the laptop: no guest gets them.

        Parameters
        ----------
        names : iterable of str
            As its entries say.
        """
        fresh = {_spoken(name) for name in names if name} - self._laptops
        if fresh:
            with self._guard:
                self._laptops |= fresh

    def put_out(self, key: str) -> int:
        """Put out everybody who came in by a phrase.

        Parameters
        ----------
        key : str
            Which.

        Returns
        -------
        int
            How many.
        """
        return self._forget(lambda one: one.key == key)

    def put_out_one(self, label: str) -> int:
        """Put one out.

        Parameters
        ----------
        label : str
            His label.

        Returns
        -------
        int
            1, or 0 when he was out already.
        """
        return self._forget(lambda one: one.label == label)

    def all(self) -> list[Guest]:
        """Who is in.

        Returns
        -------
        list of Guest
            In the order in which they came.
        """
        with self._guard:
            return list(self._in.values())

    def _forget(self, whom: Callable[[Guest], bool]) -> int:
        with self._guard:
            gone = [digest for digest, one in self._in.items() if whom(one)]
            for digest in gone:
                del self._in[digest]
            return len(gone)


def present_guest() -> Guest | None:
    """Whose request is being answered.

    Returns
    -------
    Guest or None
        None at the laptop.
    """
    found: Guest | None = g.get("floorbook_guest") if has_request_context() else None
    return found


def is_named(guest: Guest) -> bool:
    """Whether a guest has said all that his key needs.

    Parameters
    ----------
    guest : Guest
        Anybody who is in.

    Returns
    -------
    bool
        False for a tagger without a name.
    """
    return guest.key != TAG or bool(guest.name)


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _spoken(name: str) -> str:
    """Names that look or sound alike are one: neither case nor invisible signs tell people apart."""
    folded = unicodedata.normalize("NFKD", name).casefold()
    return " ".join("".join(char for char in folded if unicodedata.category(char) not in _HIDDEN).split())
