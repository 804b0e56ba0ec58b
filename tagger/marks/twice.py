"""One thing marked twice: by two people of one book within a moment, or taken over from another book by both.

One kind, within 1.5 s, no answer differing; or taken over twice. Two turnovers make a possession of 0.2 s that nobody
saw.
"""

from __future__ import annotations

from collections.abc import Iterable

from tagger.marks.problems import Problem
from tagger.marks.resolve import Mark
from tagger.marks.vocabulary import Language

NEAR_MS = 1500
"""Two marks of one kind by two people this near are taken for one thing seen by both; chosen, from no source."""


def marked_twice(standing: Iterable[tuple[Mark, int | None]], language: Language) -> list[Problem]:
    """Marks that say what another one says already.

    Parameters
    ----------
    standing : iterable of (Mark, int or None)
        In order of game time, with that.
    language : Language
        The vocabulary.

    Returns
    -------
    list of Problem
        One at the later mark of each pair, with what would resolve it.
    """
    found: list[Problem] = []
    copies: dict[str, Mark] = {}
    lately: list[tuple[Mark, int]] = []
    for mark, at_ms in standing:
        traits = language.traits.get(mark.kind)
        if traits is None or at_ms is None:
            continue
        if mark.copied_from and mark.copied_from in copies:
            words = "Taken over twice from the other book; remove one of the two"
            found.append(Problem("marked_twice", words, mark.id, at_ms))
            continue
        if mark.copied_from:
            copies[mark.copied_from] = mark
        lately = [(one, ms) for one, ms in lately if at_ms - ms <= NEAR_MS]
        twin = next((one for one, _ in lately if _same(one, mark)), None)
        if twin is not None and not traits.often:
            name = language.kinds[mark.kind]["name"]
            words = f"{twin.by} marked a {name} here too; remove one of the two if it is the same"
            found.append(Problem("marked_twice", words[:1].upper() + words[1:], mark.id, at_ms))
        lately.append((mark, at_ms))
    return found


def _same(one: Mark, other: Mark) -> bool:
    """Whether two people may mean one thing: the same kind, and nothing that both said differs."""
    if one.kind != other.kind or one.by == other.by:
        return False
    return all(other.answers.get(code, value) == value for code, value in one.answers.items())
