"""The numbers of a book's entries: how far ahead a new one may be, and what one far beyond all others counts as.

An entry's `n` is 1 + the highest that its client has seen, so it is never further ahead than what several people
entered without seeing each other. One that is absurdly far ahead would leave no number for any entry after it. A new
one such is refused; one that lies in a book from before counts as the next one at its place of arrival, which never
changes: what arrived before it is all that this depends on.

An `n` may be 10,000 beyond the highest of its book, those that come with it counted; in books from before, one more
than a million beyond all that arrived earlier counts as the next.
"""

from __future__ import annotations

from collections.abc import Iterable

MOST_AHEAD = 10_000
ABSURDLY_AHEAD = 1_000_000


def lifted(numbers: Iterable[int]) -> list[int]:
    """The numbers of a book's entries with the absurd ones put right.

    Parameters
    ----------
    numbers : iterable of int
        In order of arrival.

    Returns
    -------
    list of int
        Those of any ordinary book as they are.
    """
    made: list[int] = []
    highest = 0
    for n in numbers:
        made.append(n if n <= highest + ABSURDLY_AHEAD else highest + 1)
        highest = max(highest, made[-1])
    return made


def reach(highest: int, numbers: Iterable[int]) -> int:
    """The highest of some new numbers that a book can take.

    Parameters
    ----------
    highest : int
        The highest that the book holds; 0 when it holds nothing.
    numbers : iterable of int
        What is to come in together, in any order: they may lead on to one another.

    Returns
    -------
    int
        At least `highest`; whatever is above it is too far ahead.
    """
    for n in sorted(numbers):
        if n > highest + MOST_AHEAD:
            break
        highest = max(highest, n)
    return highest
