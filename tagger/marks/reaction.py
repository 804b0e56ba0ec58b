"""Reaction: a person presses a key a moment after what he saw, while the film runs on.

The stored time of a mark stays the frame that was on screen. A kind's reaction offset (a setting) says how much earlier
a mark counts that was made while the film ran forwards, in real time: at double speed the film ran on twice as far. One
made on held film, or put on its frame later by hand, counts where it stands. No mark is moved before another that it
stood after, nor before its film: the order in which marks stand, and so what each of them means, is never changed.

Stored beside the frame is how fast the film ran (`speed`, left out when held, void once the mark is put on a frame by
hand). All offsets are 0 until a season sets one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tagger.marks.resolve import Mark


def counted(
    standing: Iterable[tuple[Mark, int]], starts: Mapping[str, int], reaction_ms: Mapping[str, int]
) -> list[int]:
    """When each mark counts.

    Parameters
    ----------
    standing : iterable of (Mark, int)
        Marks in their order, each with the game time of its frame, ms.
    starts : mapping of str to int
        Film id → game time of its first frame, ms.
    reaction_ms : mapping of str to int
        Kind → offset in ms of real time; none for a kind that is not there.

    Returns
    -------
    list of int
        Game time, ms, never falling; no later than the mark's frame.
    """
    found: list[int] = []
    for mark, at_ms in standing:
        late_ms = round(reaction_ms.get(mark.kind, 0) * max(0.0, mark.speed))
        least = max(found[-1] if found else 0, min(at_ms, starts[mark.film]))
        found.append(max(at_ms - late_ms, least))
    return found
