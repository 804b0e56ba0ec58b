"""A quick look at a chosen file before it is brought in, in words: what it is, whether it plays, what it takes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.work.cores import within
from tagger.work.plan import need_of, steps_for

if TYPE_CHECKING:
    from tagger.film.index import FrameIndex
    from tagger.film.probe import FilmFacts

SILENCE_S = 30.0
_NAMES = {
    "h264": "H.264",
    "hevc": "HEVC",
    "mpeg2video": "MPEG-2",
    "mpeg4": "MPEG-4",
    "vp8": "VP8",
    "vp9": "VP9",
    "av1": "AV1",
    "mjpeg": "Motion JPEG",
    "prores": "ProRes",
}


@dataclass(frozen=True)
class Glance:
    """What can be said of a file at once.

    Attributes
    ----------
    what : str
        Picture, length, kind.
    how : str
        What happens when it is brought in.
    plays : bool
        Whether it can be tagged at once.
    need_bytes : int
        Room for copies, about.
    """

    what: str
    how: str
    plays: bool
    need_bytes: int


def glance_at(path: Path, *, n_cores: int, keep: bool = False) -> Glance:
    """Look at a file's streams, in a process of its own.

    Parameters
    ----------
    path : Path
        The file.
    n_cores : int
        Cores to keep to.
    keep : bool
        Whether its original is to be copied into the season.

    Returns
    -------
    Glance
        From what the file claims; the frame index knows better when it is brought in.

    Raises
    ------
    tagger.film.errors.FilmError
        It is no film, torn, missing, still being copied, or can't be written down by its name.
    """
    from tagger.film.child import Limits, in_child
    from tagger.film.plain_file import check_path
    from tagger.work.inspection import glimpse

    check_path(path)
    facts: FilmFacts = in_child(within, n_cores, glimpse, path, film=path, limits=Limits(silence_s=SILENCE_S))
    return spoken(facts, keep=keep)


def spoken(facts: FilmFacts, *, keep: bool = False) -> Glance:
    """What a film's facts mean for a coach.

    Parameters
    ----------
    facts : FilmFacts
        What it is.
    keep : bool
        As in `glance_at`.

    Returns
    -------
    Glance
        In words.
    """
    from tagger.film.damage import spoken_ms
    from tagger.film.room import spoken_bytes
    from tagger.film.viewing import HEAVY_BIT_RATE, VIEWING_HEIGHT_PX

    claimed = _claimed(facts.duration_ms)
    heavy = facts.height > VIEWING_HEIGHT_PX or facts.size_bytes * 8000 / max(1, facts.duration_ms) > HEAVY_BIT_RATE
    steps = steps_for(facts, claimed, "heavy" if heavy else "", keep=keep)
    sound = "" if facts.audio_codec is not None else ", no sound"
    field = ", interlaced" if facts.interlaced else ""
    what = (
        f"{facts.width} × {facts.height}, {spoken_ms(facts.duration_ms)}, "
        f"{_NAMES.get(facts.video_codec, facts.video_codec)}{field}{sound}, {spoken_bytes(facts.size_bytes)}"
    )
    if facts.as_it_lies and heavy:
        how = "Plays as it lies; a light copy is made beside, and tagging can begin at once."
    elif facts.as_it_lies:
        how = "Plays as it lies; tagging can begin at once."
    elif facts.repackable:
        how = "Gets a new wrapping first, which takes a minute or two; the picture stays as it is."
    else:
        how = "Gets a copy that a browser plays; tagging can begin when the first ten seconds are done."
    return Glance(what, how, facts.as_it_lies, need_of(steps))


def _claimed(duration_ms: int) -> FrameIndex:
    """A frame index that says no more than how long a film is."""
    import numpy as np

    from tagger.film.index import FrameIndex

    pts = np.arange(0, max(1, duration_ms), 1000, dtype=np.int64)
    return FrameIndex(pts, np.ones(len(pts), dtype=bool), Fraction(1, 1000), max(1, duration_ms))
