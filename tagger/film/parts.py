"""Several files that a camera split, as one film.

Cameras cut a recording into files of a few gigabytes, or a coach starts and stops. Together the files are one
film: its time runs on through every part, and where the camera stood still between two parts the gap is kept as
film time and said. The parts' order is the given one, or is found by their clocks and names.

The parts are never joined into one file: what is done of one is never lost to another, and marks keep the file they
were made on.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from tagger.film.errors import BadClip
from tagger.film.index import FrameIndex, build_index
from tagger.film.source import opened
from tagger.progress import Progress, Stop

SEAMLESS_MS = 1500  # file clocks count whole seconds
LONGEST_GAP_MS = 6 * 3600 * 1000


@dataclass(frozen=True)
class FilmPart:
    """One file of a film.

    `start_ms` is when it begins in the film's time; `gap_before_ms` how long the camera stood still before it, and
    `gap_from` how that is known: "clock" (the recording's own clock runs on), "date" (the files' dates), or
    "assumed" (nothing tells; taken as none).
    """

    path: Path
    index: FrameIndex
    start_ms: int
    gap_before_ms: int
    gap_from: str

    @property
    def end_ms(self) -> int:
        """When it ends in the film's time."""
        return self.start_ms + self.index.duration_ms


@dataclass(frozen=True)
class _Clock:
    """What a file says of its own time: when its recording began, and where its time stamps stand (s)."""

    date: datetime | None
    first_s: Fraction
    end_s: Fraction


def join_parts(
    paths: Sequence[Path | str],
    *,
    in_order: bool = True,
    indexes: Sequence[FrameIndex] | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> list[FilmPart]:
    """Take several files as one film.

    Parameters
    ----------
    paths : sequence of Path or str
        The files.
    in_order : bool
        Whether they are given in their order; else it is found.
    indexes : sequence of FrameIndex, optional
        Their indexes, if known already.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    list of FilmPart
        In order, one after the other in the film's time.

    Raises
    ------
    BadClip
        When no file, or the same file twice, is given.
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmStopped
    """
    files = [Path(path) for path in paths]
    if not files:
        raise BadClip("no file was given", Path("film"), "name at least one film file")
    doubled = next((path for n, path in enumerate(files) if path in files[:n]), None)
    if doubled is not None:
        raise BadClip("is given twice", doubled, "name every part once")
    known = list(indexes) if indexes is not None else []
    for n, path in enumerate(files[len(known) :]):
        share = (n / len(files), 1 / len(files))
        report = None if progress is None else _part_of(progress, share)
        known.append(build_index(path, progress=report, stop=stop))
    clocks = [_clock(path, index) for path, index in zip(files, known, strict=True)]
    if not in_order:
        order = _found_order(files, clocks)
        files, known, clocks = ([column[n] for n in order] for column in (files, known, clocks))  # type: ignore[assignment]
    parts: list[FilmPart] = []
    for n, (path, index) in enumerate(zip(files, known, strict=True)):
        gap_ms, source = _gap(clocks[n - 1], clocks[n], parts[-1]) if n else (0, "assumed")
        start_ms = parts[-1].end_ms + gap_ms if n else 0
        parts.append(FilmPart(path, index, start_ms, gap_ms, source))
    return parts


def _part_of(progress: Progress, share: tuple[float, float]) -> Progress:
    return lambda done, text: progress(share[0] + share[1] * done, text)


def _clock(path: Path, index: FrameIndex) -> _Clock:
    with opened(path) as container:
        text = container.metadata.get("creation_time", "")
    date = None
    if text:
        try:
            date = datetime.fromisoformat(text)
        except ValueError:
            date = None
    if date is not None:
        date = date if date.tzinfo else date.replace(tzinfo=UTC)
        if date.year < 1990:  # a camera whose clock was never set
            date = None
    return _Clock(date, int(index.pts[0]) * index.time_base, index.end_pts * index.time_base)


def _found_order(files: list[Path], clocks: list[_Clock]) -> list[int]:
    """By date where the dates differ, by running time stamps where those tell, else by name as people count."""
    names = [_natural(path.name) for path in files]
    dates = [clock.date for clock in clocks]
    by_name = sorted(range(len(files)), key=lambda n: names[n])
    known = [date for date in dates if date is not None]
    if len(known) == len(files) and len(set(known)) == len(files):
        return sorted(range(len(files)), key=lambda n: known[n])
    by_clock = sorted(range(len(files)), key=lambda n: clocks[n].first_s)
    if all(_runs_on(clocks[a], clocks[b]) for a, b in pairwise(by_clock)):
        return by_clock
    return by_name


def _natural(name: str) -> list[tuple[int, int, str]]:
    """A key that sorts 'part 10' after 'part 9'."""
    pieces = re.findall(r"\d+|\D+", name.casefold())
    return [(0, int(piece), "") if piece.isdigit() else (1, 0, piece) for piece in pieces]


def _runs_on(one: _Clock, other: _Clock) -> bool:
    """Whether the second file's time stamps go on where the first one's end, as in streams of one recording."""
    step_ms = (other.first_s - one.end_s) * 1000
    return one.first_s != other.first_s and -100 <= step_ms <= LONGEST_GAP_MS


def _gap(one: _Clock, other: _Clock, before: FilmPart) -> tuple[int, str]:
    if _runs_on(one, other):
        return max(0, round((other.first_s - one.end_s) * 1000)), "clock"
    if one.date is not None and other.date is not None:
        between_ms = round((other.date - one.date).total_seconds() * 1000) - before.index.duration_ms
        if SEAMLESS_MS < between_ms <= LONGEST_GAP_MS:
            return between_ms, "date"
        if -SEAMLESS_MS <= between_ms <= SEAMLESS_MS:
            return 0, "date"
    return 0, "assumed"
