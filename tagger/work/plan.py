"""What has to be made of a film so that it can be tagged well, and the room that this takes.

What a browser can't play gets the light copy, not a full-size one: one encoding instead of two, and clips come from
the original anyway. Film that only needs new wrapping keeps its picture.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.shelf.films import PLAYABLE, VIEWING

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.film.probe import FilmFacts

KEEP, STRIP = "keep", "strip"
_REPACKED = 1.05  # new wrapping, and sound that may be encoded anew
URGENCY = {PLAYABLE: 1, VIEWING: 4, KEEP: 3, STRIP: 5}
URGENT_VIEWING = 2  # nothing else of the film can be played


@dataclass(frozen=True)
class Step:
    """One piece of work on a film.

    Attributes
    ----------
    kind : str
        "playable" (new wrapping), "viewing" (a light copy), "keep" (the original copied into the season), "strip"
        (black, standing, cut and damaged stretches, loudness).
    urgency : int
        Smaller is sooner.
    need_bytes : int
        Room that it takes at most while it is made.
    """

    kind: str
    urgency: int
    need_bytes: int = 0


def steps_for(facts: FilmFacts, index: FrameIndex, slow: str, *, keep: bool) -> list[Step]:
    """What has to be made of a film.

    Parameters
    ----------
    facts : FilmFacts
        What it is.
    index : FrameIndex
        Its frames.
    slow : str
        Why seeking in it would be slow; empty when it is not.
    keep : bool
        Whether the original is to be copied into the season.

    Returns
    -------
    list of Step
        The most urgent first.
    """
    from tagger.film.viewing import viewing_bytes

    steps = []
    if facts.repackable and not facts.as_it_lies:
        steps.append(Step(PLAYABLE, URGENCY[PLAYABLE], round(facts.size_bytes * _REPACKED)))
    if not facts.as_it_lies and not facts.repackable:
        steps.append(Step(VIEWING, URGENT_VIEWING, viewing_bytes(index)))
    elif slow:
        steps.append(Step(VIEWING, URGENCY[VIEWING], viewing_bytes(index)))
    if keep:
        steps.append(Step(KEEP, URGENCY[KEEP], facts.size_bytes))
    steps.append(Step(STRIP, URGENCY[STRIP]))
    return sorted(steps, key=lambda step: step.urgency)


def need_of(steps: Iterable[Step]) -> int:
    """Room that several steps take at most.

    Parameters
    ----------
    steps : iterable of Step
        The steps.

    Returns
    -------
    int
        Bytes.
    """
    return sum(step.need_bytes for step in steps)


def free_bytes(folder: Path) -> int:
    """Room on the disk that a folder is on.

    Parameters
    ----------
    folder : Path
        It need not exist yet.

    Returns
    -------
    int
        Bytes; 0 when it can't be told.
    """
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return 0
