"""Making one playable MP4 of a film's parts, gaps kept: frame n of it is frame n of the joined film."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np

from tagger.film.convert import Converted
from tagger.film.cut import Clip, write_clips
from tagger.film.errors import FilmTorn
from tagger.film.index import FrameIndex, Progress, Stop, build_index
from tagger.film.parts import JoinedFilm
from tagger.film.viewing import VIEWING_HEIGHT_PX, VIEWING_SETTINGS
from tagger.film.writer import PictureSettings


def make_joined_copy(
    film: JoinedFilm,
    target: Path | str,
    *,
    height_px: int = VIEWING_HEIGHT_PX,
    settings: PictureSettings = VIEWING_SETTINGS,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Converted:
    """Write a viewing copy of a film of several parts.

    Parameters
    ----------
    film : JoinedFilm
        The parts, of any sizes and kinds.
    target : Path or str
        The MP4 to write.
    height_px : int
        Greatest height of the picture.
    settings : PictureSettings
        How to encode.
    progress, stop : callable, optional
        As in `tagger.film.cut.write_reel`.

    Returns
    -------
    Converted
        One picture a frame; during a gap the last picture before it stays.

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmStopped, DiskFull
    """
    target = Path(target)
    clips = [Clip(part.path, part.index, 0, part.index.n_frames) for part in film.parts]
    starts_s = [Fraction(part.start_ms, 1000) for part in film.parts]
    reel = write_clips(
        clips, target, starts_s, height_px=height_px, settings=settings, progress=progress, stop=stop, overlay=None
    )
    made = build_index(target)
    if not follows(film, made):
        target.unlink(missing_ok=True)
        raise FilmTorn(
            "some frames of its parts could not be decoded", film.parts[0].path, "convert each part by itself"
        )
    return Converted(target, "encoded", made, 1, reel.size_bytes)


def follows(film: JoinedFilm, made: FrameIndex) -> bool:
    """Whether an index has the joined film's frames at its times, to a millisecond."""
    return made.n_frames == film.n_frames and bool(np.all(np.abs(made.all_ms() - film.all_ms()) <= 1))
