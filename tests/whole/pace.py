"""How fast a practised person types a game: the keystroke-level model of Card, Moran & Newell (1983).

K = 0.28 s for a key of an average typist and M = 1.35 s for making up one's mind are the book's (chapter 8; "The
keystroke-level model for user performance time", Communications of the ACM 23, 1980); both from memory. M is spent once
a mark, before its first key; Shift held for a capital is a key of its own, as there. Pointing does not occur. Nothing
is charged for watching while the film plays by itself; `replay_s` is what seeing four seconds again takes at half
speed.

A person who tags while the film plays on begins with a mark when it happens, or when the mark before is done, whichever
is later. The mark stands on the frame of its first key.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tests.whole.typist import Typed

K_S = 0.28
M_S = 1.35
REPLAYED_S = 4.0


@dataclass(frozen=True)
class Timed:
    """One mark in time, in seconds since the film began to play.

    Attributes
    ----------
    seen_s : float
        When it happens in the film.
    begun_s : float
        When the person turns to it.
    keys_s : tuple of float
        When each stroke is pressed.
    """

    seen_s: float
    begun_s: float
    keys_s: tuple[float, ...]

    @property
    def behind_s(self) -> float:
        """How long it had to wait for the person."""
        return self.begun_s - self.seen_s

    @property
    def done_s(self) -> float:
        """When its last key is pressed."""
        return self.keys_s[-1] if self.keys_s else self.begun_s


def n_keys(stroke: str) -> int:
    """Keys of one stroke: two where Shift is held; of a text only the Enter that ends it."""
    return 2 if stroke.startswith("Shift+") or (len(stroke) == 1 and stroke.isupper()) else 1


def work_s(typed: Sequence[Typed]) -> float:
    """What typing marks takes, one after the other."""
    return len(typed) * M_S + K_S * sum(n_keys(stroke) for one in typed for stroke in one.strokes)


def while_it_plays(seen_ms: Sequence[int], typed: Sequence[Typed]) -> list[Timed]:
    """Every mark in time, where the film plays on whatever is being answered.

    Parameters
    ----------
    seen_ms : sequence of int
        When each mark happens, game time, rising.
    typed : sequence of Typed
        Its strokes.

    Returns
    -------
    list of Timed
        In the same order.
    """
    free_s = 0.0
    found = []
    for at_ms, one in zip(seen_ms, typed, strict=True):
        begun = max(at_ms / 1000, free_s)
        free_s = begun + M_S
        keys = []
        for stroke in one.strokes:
            free_s += K_S * n_keys(stroke)
            keys.append(free_s)
        found.append(Timed(at_ms / 1000, begun, tuple(keys)))
    return found


def with_holds(seen_ms: Sequence[int], typed: Sequence[Typed], length_s: float, most_s: float) -> tuple[float, int]:
    """How long a pass takes where the film is held whenever the person would fall behind by more than a while.

    Parameters
    ----------
    seen_ms, typed : sequence
        As in `while_it_plays`.
    length_s : float
        Of the film.
    most_s : float
        How far behind the film the person lets himself fall. Holding and going on is a key each.

    Returns
    -------
    tuple of float and int
        Seconds from the film's first frame to its last or the last key, whichever is later, and how often it was held.
    """
    held_s, free_s, n_holds = 0.0, 0.0, 0
    for at_ms, one in zip(seen_ms, typed, strict=True):
        seen = at_ms / 1000 + held_s
        if free_s - seen > most_s:
            held_s += free_s - seen + 2 * K_S
            free_s += 2 * K_S
            seen = free_s
            n_holds += 1
        free_s = max(seen, free_s) + work_s([one])
    return max(length_s + held_s, free_s), n_holds


def replay_s(n_runs: int) -> float:
    """Seeing four seconds again at half speed once a run, with its key: the film stands still meanwhile."""
    return n_runs * (REPLAYED_S / 0.5 + K_S)
