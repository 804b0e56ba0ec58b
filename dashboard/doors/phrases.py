"""The three phrases: to send film, to look, to tag. Each is made by chance, and withdrawn by itself."""

from __future__ import annotations

import hmac
import secrets
import threading

from tagger.screen.visitor import LOOK, SEND, TAG

KEYS = (SEND, LOOK, TAG)
_N_SYLLABLES = 8


def new_phrase() -> str:
    """Make a pass-phrase that can be read out across a room.

    Returns
    -------
    str
        Four words of two syllables, 50 bits of chance.
    """
    syllables = [secrets.choice("bdfghklmnprstvwz") + secrets.choice("aeiou") for _ in range(_N_SYLLABLES)]
    return "-".join("".join(syllables[place : place + 2]) for place in range(0, _N_SYLLABLES, 2))


class Phrases:
    """The phrases that open just now, one for each key or none."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._held: dict[str, str] = {key: new_phrase() for key in KEYS}

    def of(self, key: str) -> str:
        """The phrase of a key.

        Parameters
        ----------
        key : str
            One of KEYS.

        Returns
        -------
        str
            Empty while it is withdrawn.
        """
        return self._held[key]

    def key_of(self, phrase: str) -> str:
        """Which key a phrase is.

        Parameters
        ----------
        phrase : str
            As it was typed: in any case, with spaces or hyphens.

        Returns
        -------
        str
            Empty for none. Every phrase is compared, each in a time that says nothing of how near it came.
        """
        typed = plain(phrase).encode()
        found = ""
        for key in KEYS:
            held = self._held[key]
            same = hmac.compare_digest(typed, plain(held).encode())
            found = key if same and held else found
        return found

    def withdraw(self, key: str) -> None:
        """Let a phrase open nothing any more.

        Parameters
        ----------
        key : str
            One of KEYS.
        """
        with self._guard:
            self._held[key] = ""

    def renew(self, key: str) -> str:
        """Make a new phrase for a key; the one before opens nothing any more.

        Parameters
        ----------
        key : str
            One of KEYS.

        Returns
        -------
        str
            The new one.
        """
        with self._guard:
            self._held[key] = new_phrase()
            return self._held[key]


def plain(phrase: str) -> str:
    """A phrase without what differs between how people type it.

    Parameters
    ----------
    phrase : str
        As typed.

    Returns
    -------
    str
        Small letters, hyphens between words.
    """
    return "-".join(phrase.lower().replace("-", " ").split())
