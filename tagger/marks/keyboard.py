"""What keys can say, and a key as people find it on the keyboard."""

from __future__ import annotations

NO_KEYS = ("place",)
"""Types of question that no key answers, so that nobody is asked: a place on the floor, until it can be pointed at."""


def on_keyboard(key: str) -> str:
    """A key as a person finds it on the keyboard.

    Parameters
    ----------
    key : str
        As in the vocabulary, where a capital means the letter with Shift.

    Returns
    -------
    str
        "⇧D" for "D", everything else as it is.
    """
    return f"⇧{key}" if len(key) == 1 and key.isupper() else key
