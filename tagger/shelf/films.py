"""What is known of a film: as it stands in the season, and as it is entered."""

from __future__ import annotations

import stat
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.film.probe import FilmFacts

FILM_FOLDER = "film"
READY, WAITING, AWAY, CHANGED, NONE = "ready", "waiting", "away", "changed", "none"
PLAYABLE, VIEWING, ORIGINAL = "playable", "viewing", "original"


@dataclass(frozen=True)
class Film:
    """A film of a game.

    Attributes
    ----------
    id, game, name : str
        The film's id (from its fingerprint), its game, the file's name.
    offset_ms, duration_ms, n_frames : int
        Where it lies on the game's time line, its length, its frames.
    state : str
        "ready" (can be played, at least its beginning), "waiting" (is being made playable), "away" (the file is not
        where it was), "changed" (another file is there now), "none" (marks only; there never was a file here).
    fingerprint : str
        What it is known by.
    path : str
        Where the original lies; empty for none.
    gap_ms : int
        Time missing before it.
    gap_from : str
        How that is known: "clock", "date", or "assumed" (nothing tells; taken as none); empty for a game's first film.
    original : str
        "ready", "away", "changed" or "none": whether the original file is there, whatever can be played.
    damage : tuple of dict
        Damaged stretches: `kind`, `start_ms`, `end_ms`, `line`.
    camera : str
        Which other camera it is from, as people call it; empty for the film that the game's time line is made of.
    tied : bool
        Whether it is known where it lies on the time line: always for the game's own film, for another camera's once
        somebody has shown one moment in both.
    """

    id: str
    game: str
    name: str
    offset_ms: int
    duration_ms: int
    n_frames: int
    state: str
    fingerprint: str
    path: str
    gap_ms: int = 0
    gap_from: str = ""
    original: str = NONE
    damage: tuple[Any, ...] = ()
    camera: str = ""
    tied: bool = True


@dataclass(frozen=True)
class NewFilm:
    """A film about to be entered.

    Attributes
    ----------
    id, name : str
        Its id and the file's name.
    duration_ms : int
        Its length.
    path : Path or None
        Where the original lies; none for marks without film.
    size_bytes, fingerprint : int, str
        What it is known by.
    gap_ms, gap_from : int, str
        Time missing before it, and how that is known; as in `Film`.
    index : FrameIndex or None
        Its frames.
    facts : FilmFacts or None
        What it is; without them it is taken to play as it lies.
    slow : str
        Why seeking in it is slow; empty when it is not.
    damage : tuple of dict
        Damaged stretches that are known already.
    camera : str
        As in `Film`.
    """

    id: str
    name: str
    duration_ms: int
    path: Path | None = None
    size_bytes: int = 0
    fingerprint: str = ""
    gap_ms: int = 0
    gap_from: str = ""
    index: FrameIndex | None = None
    facts: FilmFacts | None = None
    slow: str = ""
    damage: tuple[dict[str, Any], ...] = ()
    camera: str = ""


def gap_line(film: Film) -> str:
    """What there is to say of the time before a film.

    Parameters
    ----------
    film : Film
        One of a game's.

    Returns
    -------
    str
        Empty where the films follow on each other, and for the first.
    """
    from tagger.film.damage import spoken_ms

    if film.gap_ms:
        known = {"clock": ", by the recording’s own clock", "date": ", by the files’ dates"}.get(film.gap_from, "")
        return f"{spoken_ms(round(film.gap_ms, -3))} not filmed before it{known}"
    return "nothing tells how long was not filmed before it; taken as nothing" if film.gap_from == "assumed" else ""


def film_id(fingerprint: str) -> str:
    """The id of a film in every season.

    Parameters
    ----------
    fingerprint : str
        See `tagger.film.fingerprint`.

    Returns
    -------
    str
        Letters and digits.
    """
    return f"f{fingerprint.rpartition('-')[2][:12]}"


def kept_path(folder: Path, path: Path | None) -> str:
    """How a place is written down: inside the season relative, so that the folder can be moved; outside absolute.

    Parameters
    ----------
    folder : Path
        The season's folder.
    path : Path or None
        The file; none gives an empty text.

    Returns
    -------
    str
        To be joined to the folder.
    """
    if path is None:
        return ""
    full = path.resolve()
    try:
        return full.relative_to(folder.resolve()).as_posix()
    except ValueError:
        return str(full)


def size_of(path: Path) -> int:
    """How large a file is.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    int
        Bytes; -1 when there is none, or it is no plain file.
    """
    try:
        found = path.stat()
    except OSError:
        return -1
    return found.st_size if stat.S_ISREG(found.st_mode) else -1
