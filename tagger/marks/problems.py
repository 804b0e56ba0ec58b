"""A problem: something in a book that a person should look at, with what would resolve it. Never an exception."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing to look at.

    Attributes
    ----------
    code : str
        Which kind of problem.
    text : str
        What is wrong and what would resolve it.
    of : str
        Id of the mark or the entry at whose place it stands.
    at_ms : int or None
        Game time, None where it has none.
    """

    code: str
    text: str
    of: str
    at_ms: int | None = None
