"""A book as it was at an earlier moment: what has to be taken back for it, and which moments there were.

Nothing is deleted. Everything that arrived after a place in the journal is taken back by entries of their own, after
which the book folds to what its first entries alone fold to; and a later place can be put back just so. Places count
entries in the order in which they arrived, since that order is nobody's clock; the wall times in entries come from
people's clocks, and only help a person to find the place.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tagger.marks.entries import PUT_BACK, Entry
from tagger.marks.resolve import resolve

PAUSE_S = 600.0


@dataclass(frozen=True)
class Earlier:
    """A moment of a book: how many entries had arrived, the last one's wall time if it has one, marks that stood."""

    place: int
    wall: datetime.datetime | None
    n_marks: int


def to_take_back(arrived: Sequence[Entry], place: int) -> list[str]:
    """What has to be taken back for a book to be as it was.

    Parameters
    ----------
    arrived : sequence of Entry
        The whole book in the order of arrival.
    place : int
        How many of them had arrived at the moment meant.

    Returns
    -------
    list of str
        Ids of entries; one undo of each by `PUT_BACK`, later than all entries, makes the book fold as its first
        `place` entries do. Empty when it does already.

    Notes
    -----
    An undo reaches only back, so that walking from the last entry to the first settles each before what it acts on.
    A take-back among the later entries that acts on a later entry does what is wanted, and is left standing.
    """
    later = {entry.id for entry in arrived[place:]} - {entry.id for entry in arrived[:place]}
    by_id = {entry.id: entry for entry in arrived}
    void: set[str] = set()
    found = []
    for entry in sorted(by_id.values(), key=lambda one: one.place, reverse=True):
        if entry.id in void:
            continue
        target = by_id.get(entry.of) if entry.does == "undo" else None
        reaches = target is not None and target.place < entry.place and entry.by in (target.by, PUT_BACK)
        if entry.id in later and not (reaches and entry.of in later):
            found.append(entry.id)
        elif reaches:
            void.add(entry.of)
    return found


def place_at(arrived: Sequence[Entry], when: datetime.datetime) -> tuple[int, int]:
    """Which place a moment is, by the clocks of those who tagged.

    Parameters
    ----------
    arrived : sequence of Entry
        The book in the order of arrival.
    when : datetime
        The moment, with its time zone.

    Returns
    -------
    tuple of int
        The place before the first entry that says a later time, and the one after the last that says none later. They
        are equal where the clocks agree; entries without a time belong to what was before them.
    """
    walls = [wall_of(entry) for entry in arrived]
    first = next((at for at, wall in enumerate(walls) if wall is not None and wall > when), len(walls))
    last = max((at + 1 for at, wall in enumerate(walls) if wall is not None and wall <= when), default=0)
    return first, max(first, last)


def moments(arrived: Sequence[Entry], most: int = 12, pause_s: float = PAUSE_S) -> list[Earlier]:
    """The moments of a book that somebody may want back: where tagging paused, and before each putting back.

    Parameters
    ----------
    arrived : sequence of Entry
        The book in the order of arrival.
    most : int
        So many, the latest.
    pause_s : float
        What is a pause.

    Returns
    -------
    list of Earlier
        The latest first; not what the book is now.
    """
    places = []
    before: datetime.datetime | None = None
    for at, entry in enumerate(arrived):
        wall = wall_of(entry)
        paused = wall is not None and before is not None and (wall - before).total_seconds() > pause_s
        put_back = entry.by == PUT_BACK and at > 0 and arrived[at - 1].by != PUT_BACK
        if paused or put_back:
            places.append(at)
        before = wall or before
    return [moment_at(arrived, place) for place in reversed(places[-most:])]


def moment_at(arrived: Sequence[Entry], place: int) -> Earlier:
    """A book at a place.

    Parameters
    ----------
    arrived : sequence of Entry
        The book in the order of arrival.
    place : int
        How many entries had arrived.

    Returns
    -------
    Earlier
        With the marks that stood then.
    """
    wall = next((wall for wall in map(wall_of, reversed(arrived[:place])) if wall is not None), None)
    return Earlier(place, wall, standing(arrived[:place]))


def standing(entries: Iterable[Entry]) -> int:
    """How many marks some entries leave standing.

    Parameters
    ----------
    entries : iterable of Entry
        Of one book.

    Returns
    -------
    int
        Without removed ones.
    """
    return sum(not mark.removed for mark in resolve(entries)[0])


def wall_of(entry: Entry) -> datetime.datetime | None:
    """The time of day that an entry says.

    Parameters
    ----------
    entry : Entry
        Any.

    Returns
    -------
    datetime or None
        With a time zone; None when it says none that can be read.
    """
    try:
        wall = datetime.datetime.fromisoformat(entry.wall)
        return wall.astimezone(datetime.UTC) if wall.tzinfo is not None else None
    except (ValueError, OverflowError):
        return None
