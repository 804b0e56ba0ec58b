"""What a look and a listen through a film found, kept for the strip under it and for later use."""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from tagger.progress import Progress, Stop
from tagger.store.database import Store

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.film.probe import FilmFacts

VERSION = 2
_LISTENING = 0.15  # its share of the time
_SERIES = ("change", "loudness", "low", "high")


Span = tuple[int, int]


@dataclass(frozen=True, eq=False)
class Strip:
    """A film looked and listened through. All times are film time, ms; span ends are exclusive.

    Attributes
    ----------
    black, standing : tuple of (int, int)
        Where the picture is black, and where it stands still.
    cuts : tuple of int
        Where a new view begins.
    damage : tuple of dict
        As in `tagger.shelf.films.Film`.
    integrated : float
        Loudness of the whole film, LUFS.
    change : float32[n]
        How much each frame differs from the one before it; see `tagger.film.scan.Scan`.
    loudness : float32[m]
        Momentary loudness every 100 ms, LUFS; see `tagger.film.loudness.SoundOutline`.
    low, high : float32[k]
        Extremes of every 20 ms, -1 to 1, kept in steps of 1/127.
    """

    black: tuple[Span, ...]
    standing: tuple[Span, ...]
    cuts: tuple[int, ...]
    damage: tuple[dict[str, Any], ...]
    integrated: float
    change: NDArray[np.float32]
    loudness: NDArray[np.float32]
    low: NDArray[np.float32]
    high: NDArray[np.float32]

    def to_bytes(self) -> bytes:
        """A compact stored form, read back by `from_bytes`."""
        words = json.dumps(
            {
                "black": self.black,
                "standing": self.standing,
                "cuts": self.cuts,
                "damage": self.damage,
                "integrated": self.integrated,
            }
        )
        made = io.BytesIO()
        np.savez_compressed(
            made,
            words=np.frombuffer(words.encode("utf-8"), dtype=np.uint8),
            change=self.change.astype(np.float16),
            loudness=self.loudness.astype(np.float16),
            low=np.floor(self.low * 127).clip(-128, 127).astype(np.int8),
            high=np.ceil(self.high * 127).clip(-128, 127).astype(np.int8),
        )
        return made.getvalue()

    @classmethod
    def from_bytes(cls, data: bytes) -> Strip:
        """Read what `to_bytes` wrote."""
        with np.load(io.BytesIO(data), allow_pickle=False) as held:
            words = json.loads(held["words"].tobytes().decode("utf-8"))
            series = {name: held[name].astype(np.float32) for name in _SERIES}
        series["low"] /= 127
        series["high"] /= 127
        return cls(
            black=tuple((a, b) for a, b in words["black"]),
            standing=tuple((a, b) for a, b in words["standing"]),
            cuts=tuple(words["cuts"]),
            damage=tuple(words["damage"]),
            integrated=words["integrated"],
            **series,
        )


def make_strip(
    path: Path,
    index: FrameIndex,
    facts: FilmFacts,
    *,
    n_threads: int = 0,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Strip:
    """Listen and look through a whole film.

    Parameters
    ----------
    path : Path
        The film.
    index : FrameIndex
        Its frames.
    facts : FilmFacts
        What it is.
    n_threads : int
        Threads to work with; 0 for as many as there are cores.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    Strip
        Also for a damaged film.

    Raises
    ------
    tagger.film.errors.FilmError
        Not one frame can be decoded, or it was stopped.
    """
    from tagger.film.damage import damage_of
    from tagger.film.loudness import outline_sound
    from tagger.film.scan import scan_pictures

    sound = outline_sound(path, index, progress=_part(progress, 0.0, _LISTENING), stop=stop)
    scan = scan_pictures(path, index, n_threads=n_threads, progress=_part(progress, _LISTENING, 1.0), stop=stop)
    ms = np.append(index.all_ms(), index.duration_ms)
    spans = {
        name: tuple((int(ms[a]), int(ms[b])) for a, b in found)
        for name, found in (("black", scan.black), ("standing", scan.standing))
    }
    return Strip(
        black=spans["black"],
        standing=spans["standing"],
        cuts=tuple(int(ms[frame]) for frame in scan.cuts),
        damage=tuple(asdict(one) for one in damage_of(facts, index, scan)),
        integrated=sound.integrated,
        change=scan.change,
        loudness=sound.loudness,
        low=sound.low,
        high=sound.high,
    )


def keep_strip(store: Store, film: str, strip: Strip) -> None:
    """Keep what was found, in the place of what was there.

    Parameters
    ----------
    store : Store
        The season's database.
    film : str
        The film's id.
    strip : Strip
        What was found.
    """
    body = strip.to_bytes()
    with store.writing() as db:
        db.execute("INSERT OR REPLACE INTO strips (film, version, body) VALUES (?, ?, ?)", (film, VERSION, body))


def kept_strip(store: Store, film: str) -> Strip | None:
    """What was found in a film.

    Parameters
    ----------
    store : Store
        The season's database.
    film : str
        The film's id.

    Returns
    -------
    Strip or None
        None as long as nobody looked through it with this version, and where what was found can't be read.
    """
    sql = "SELECT body FROM strips WHERE film = ? AND version = ?"
    row = store.connection().execute(sql, (film, VERSION)).fetchone()
    body: bytes | None = row["body"] if row is not None else None
    try:
        return Strip.from_bytes(body) if body is not None else None
    except (ValueError, TypeError, LookupError, OSError, EOFError, zlib.error, zipfile.BadZipFile):
        return None  # damaged: as if nobody had looked through it yet


def _part(progress: Progress | None, start: float, end: float) -> Progress | None:
    if progress is None:
        return None
    tell = progress
    return lambda done, text: tell(start + (end - start) * done, text)
