"""What is damaged in a film, as stretches of film time to be shown on its strip."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tagger.film.index import FrameIndex
from tagger.film.probe import FilmFacts
from tagger.film.scan import Scan

GAP_MS = 1000
GAP_STEPS = 20
CUT_OFF_MS = 1500


@dataclass(frozen=True)
class Damage:
    """One damaged stretch: film time (ms, end exclusive) and one line about it.

    `kind` is "gap" (nothing was recorded or it is lost), "lost" (frames that can't be decoded whole) or "cut off"
    (the file ends before the film does).
    """

    kind: str
    start_ms: int
    end_ms: int
    line: str


def damage_of(facts: FilmFacts, index: FrameIndex, scan: Scan | None = None) -> tuple[Damage, ...]:
    """List a film's damaged stretches in order of time.

    Parameters
    ----------
    facts : FilmFacts
        What the file claims to be.
    index : FrameIndex
        What it shows.
    scan : Scan, optional
        What a look through it found; without it, frames that can't be decoded are not known.

    Returns
    -------
    tuple of Damage
    """
    ms = index.all_ms()
    found: list[Damage] = []
    steps = np.diff(ms)
    usual = float(np.median(steps)) if len(steps) else 40.0
    for frame in np.flatnonzero(steps > max(GAP_MS, GAP_STEPS * usual)):
        start, end = int(ms[frame] + usual), int(ms[frame + 1])
        found.append(Damage("gap", start, end, f"no picture for {(end - start) / 1000:.1f} s from {spoken_ms(start)}"))
    if facts.duration_ms - index.duration_ms > CUT_OFF_MS:
        start, end = index.duration_ms, facts.duration_ms
        found.append(Damage("cut off", start, end, f"the file ends at {spoken_ms(start)} of {spoken_ms(end)}"))
    for first, last in scan.lost if scan is not None else ():
        start, end = int(ms[first]), int(ms[last]) if last < len(ms) else index.duration_ms
        n = last - first
        words = "1 frame" if n == 1 else f"{n} frames"
        found.append(Damage("lost", start, end, f"{words} damaged from {spoken_ms(start)}"))
    return tuple(sorted(found, key=lambda each: (each.start_ms, each.kind)))


def spoken_ms(ms: int) -> str:
    """A film time as people read it, e.g. '1:02:03'."""
    minutes, seconds = divmod(ms // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{seconds:02d}" if hours else f"{minutes}:{seconds:02d}"
