"""From rows of event tables to stretches of film: which part of which film shows what a row says.

Pure: rows and where the films lie in, spans out. A thing that happened at one moment is shown from some seconds before
it to a little after, by kind (`KINDS`); a screen to the end of its run, since its numbers say what came of it. A run or
a possession is shown whole, and from at least as long before its end, since what decides it stands there. Nothing is
cut at the border between two films: the clip then has two pieces.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

STRETCHES = ("runs", "possessions", "periods")
MOMENTS = "moments"
"""Asked for in place of an event table: moments of games, as of a book that is not the counted one."""


@dataclass(frozen=True)
class Timing:
    """How much film a clip shows, in ms.

    Attributes
    ----------
    before_ms, after_ms : int
        Before and after the key moment. From 5–8 s before to 2–3 s after is common practice, no source.
    lead_ms : int
        Before the first moment of a run or a possession.
    most_ms : int
        The longest a run is shown, counted back from its end: a possession's shot clock is 30 s.
    open_ms : int
        How much is shown of a stretch whose end is not marked.
    """

    before_ms: int = 6000
    after_ms: int = 2500
    lead_ms: int = 1000
    most_ms: int = 60_000
    open_ms: int = 30_000


USUAL = Timing()
SHORTEST_MS = 1000


@dataclass(frozen=True)
class More:
    """How much more than usual each clip shows before and after, in ms; below 0: less."""

    before_ms: int = 0
    after_ms: int = 0


AS_USUAL = More()


@dataclass(frozen=True)
class Shown:
    """How the rows of a table are shown that are one moment.

    Attributes
    ----------
    before_ms, after_ms : int or None
        Before and after the moment; None: as the timing says.
    through : bool
        To the end of the row's run: what came of it is part of what its number says.
    whole : bool
        The row's whole run: what it says is of all of it, wherever it was marked.
    """

    before_ms: int | None = None
    after_ms: int | None = None
    through: bool = False
    whole: bool = False


MOST_THROUGH_MS = 30_000
"""No longer than a shot clock is a moment's run shown after it."""
KINDS: Mapping[str, Shown] = {
    "screens": Shown(through=True),  # “then a shot”: the shot, and what came of it
    "shots": Shown(after_ms=3500),  # the rebound
    "faceoffs": Shown(before_ms=3000, after_ms=5000),  # who came out with it
    "loose_balls": Shown(before_ms=5000),
    "grades": Shown(whole=True),
    "roles": Shown(whole=True),
}
"""Lead and tail by kind, where they are not the timing's. Chosen, from no source."""
PLAIN = Shown()


class OnTimeLine(Protocol):
    """A film where it lies on its game's time line; `tagger.shelf.films.Film` is one."""

    @property
    def id(self) -> str:
        """Its id."""

    @property
    def offset_ms(self) -> int:
        """Where its first frame lies."""

    @property
    def duration_ms(self) -> int:
        """Its length."""


@dataclass(frozen=True)
class Piece:
    """A stretch of one film, ms from its first frame; the end is exclusive."""

    film: str
    start_ms: int
    end_ms: int


@dataclass(frozen=True)
class Clip:
    """What shows one or several rows of a game.

    Attributes
    ----------
    game : str
        Its id.
    rows : tuple of (str, str)
        Table and id of the rows it shows.
    start_ms, end_ms : int
        On the game's time line, end exclusive.
    key_ms : int or None
        The moment without which the rest shows nothing; None for a stretch.
    """

    game: str
    rows: tuple[tuple[str, str], ...]
    start_ms: int
    end_ms: int
    key_ms: int | None = None

    def widened(self, more: More) -> Clip:
        """The same with more or less of what is around it.

        Parameters
        ----------
        more : More
            How much.

        Returns
        -------
        Clip
            Its key moment stays in it; what would be shorter than `SHORTEST_MS` begins as it began and is that long.
        """
        start, end = max(0, self.start_ms - more.before_ms), self.end_ms + more.after_ms
        if self.key_ms is not None:
            start, end = min(start, self.key_ms), max(end, self.key_ms + 1)
        return replace(self, start_ms=start, end_ms=max(end, start + SHORTEST_MS))

    def pieces(self, films: Sequence[OnTimeLine]) -> tuple[Piece, ...]:
        """The stretches of film that show it.

        Parameters
        ----------
        films : sequence of film
            The game's films that may be used, in any order.

        Returns
        -------
        tuple of Piece
            In order of time; empty when no film shows it, or none shows its key moment.
        """
        found = []
        key = self.key_ms
        if key is not None and not any(one.offset_ms <= key < one.offset_ms + one.duration_ms for one in films):
            return ()
        for film in sorted(films, key=lambda film: film.offset_ms):
            start = max(self.start_ms, film.offset_ms)
            end = min(self.end_ms, film.offset_ms + film.duration_ms)
            if start < end:
                found.append(Piece(film.id, start - film.offset_ms, end - film.offset_ms))
        return tuple(found)


def clip_of(table: str, row: Mapping[str, Any], timing: Timing = USUAL, run: Mapping[str, Any] | None = None) -> Clip:
    """The clip that shows one row.

    Parameters
    ----------
    table : str
        The row's event table.
    row : mapping
        Its `game`, `id`, and `at_ms`, or `start_ms` and `end_ms` (ms of game time line).
    timing : Timing
        How much is shown.
    run : mapping, optional
        The run that the row falls in, where it does.

    Returns
    -------
    Clip
        Of this row alone.
    """
    key: int | None = None
    shown = KINDS.get(table, PLAIN)
    if shown.whole and run is not None:
        of_run = clip_of("runs", run, timing)
        at_ms = row.get("at_ms")
        end = of_run.end_ms if at_ms is None else max(of_run.end_ms, int(at_ms))
        return Clip(str(row["game"]), ((table, str(row["id"])),), of_run.start_ms, end, None)
    after_ms = timing.after_ms
    if "start_ms" in row:
        start = int(row["start_ms"])
        if table not in ("runs", "possessions"):
            end = start + timing.before_ms
        elif row.get("end_ms") is None:
            end = start + timing.open_ms
        else:
            end = int(row["end_ms"])
        first = min(start - timing.lead_ms, end - timing.before_ms)
        if table == "runs":
            first = max(first, end - timing.most_ms)
    else:
        key = end = int(row["at_ms"])
        first = end - (timing.before_ms if shown.before_ms is None else min(shown.before_ms, timing.before_ms))
        if shown.after_ms is not None:
            after_ms = max(after_ms, shown.after_ms)
        if shown.through and run is not None and run.get("end_ms") is not None:
            end = max(end, min(int(run["end_ms"]), end + MOST_THROUGH_MS))
            after_ms = max(after_ms, KINDS["shots"].after_ms or 0) if run.get("ended") == "shot" else after_ms
    return Clip(str(row["game"]), ((table, str(row["id"])),), max(0, first), end + after_ms, key)


def moment_row(id_: str) -> dict[str, Any] | None:
    """A moment of a game as a row.

    Parameters
    ----------
    id_ : str
        Game and ms of its time line: "g1@68000".

    Returns
    -------
    dict or None
        `game`, `id`, `at_ms`; None when it is no moment.
    """
    game, _, at = id_.rpartition("@")
    if not game or not (at.isascii() and at.isdecimal()) or len(at) > 9:
        return None
    return {"game": game, "id": id_, "at_ms": int(at)}


def in_order(clips: Iterable[Clip], games: Sequence[str]) -> list[Clip]:
    """Clips in the order of the season.

    Parameters
    ----------
    clips : iterable of Clip
        In any order.
    games : sequence of str
        Ids in order of date.

    Returns
    -------
    list of Clip
        By game, then by time.
    """
    place = {game: number for number, game in enumerate(games)}
    return sorted(clips, key=lambda clip: (place.get(clip.game, len(place)), clip.start_ms, clip.end_ms, clip.rows))


def merged(clips: Iterable[Clip]) -> list[Clip]:
    """Put clips together where they show the same moments, so that nothing is watched twice.

    Parameters
    ----------
    clips : iterable of Clip
        In any order.

    Returns
    -------
    list of Clip
        By game (in order of id) and time; no two of a game share a millisecond.
    """
    made: list[Clip] = []
    for clip in sorted(clips, key=lambda clip: (clip.game, clip.start_ms, clip.end_ms, clip.rows)):
        last = made[-1] if made else None
        if last is not None and last.game == clip.game and clip.start_ms < last.end_ms:
            rows = tuple(dict.fromkeys((*last.rows, *clip.rows)))
            made[-1] = Clip(last.game, rows, last.start_ms, max(last.end_ms, clip.end_ms))
        else:
            made.append(clip)
    return made
