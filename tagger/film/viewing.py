"""The viewing copy: a light film with the same frames at the same times, made in the background.

Heavy film, or film with seconds between its key frames, seeks slowly in a browser. The copy (720 lines, a key
frame every 15) seeks at once. It is made piece by piece into a working folder beside it: every finished piece
stays, so the work can be paused, stopped or cut off and goes on where it was; and what is done so far can be
played while the rest is made. Frame n of the copy is frame n of the original (interlaced film gets its full
field rate: pictures 2n and 2n + 1).
"""

from __future__ import annotations

import contextlib
import shutil
from fractions import Fraction
from pathlib import Path

import numpy as np

from tagger.film.assemble import assemble
from tagger.film.convert import Converted
from tagger.film.errors import FilmStopped, FilmTorn
from tagger.film.index import FrameIndex, build_index
from tagger.film.pieces import Work, folder_of
from tagger.film.pipelined import pipelined
from tagger.film.probe import FilmFacts, probe
from tagger.film.reader import FrameReader
from tagger.film.room import check_room
from tagger.film.showing import shown_pictures, time_of
from tagger.film.writer import FilmWriter, PictureSettings
from tagger.progress import Progress, Stop

VIEWING_HEIGHT_PX = 720
VIEWING_SETTINGS = PictureSettings(
    crf=23, preset="superfast", gop=15, b_frames=0, max_bit_rate=6_000_000, tune="fastdecode"
)
HEAVY_BIT_RATE = 8_000_000
LONG_GOP_S = 1.1
PIECE_S = 60
SOUND_BIT_RATE = 200_000


def why_viewing_copy(facts: FilmFacts, index: FrameIndex) -> str:
    """Why a film deserves a viewing copy; empty when it seeks quickly as it is."""
    if not facts.as_it_lies:
        return facts.why_not
    gaps_s = np.diff([*index.pts[index.key], index.end_pts]) * float(index.time_base)
    if len(gaps_s) and gaps_s.max() > LONG_GOP_S:
        return f"up to {gaps_s.max():.0f} s between frames that decoding can begin at: seeking is slow"
    if facts.height > VIEWING_HEIGHT_PX:
        return f"a large picture ({facts.width} x {facts.height}): seeking is slow"
    bit_rate = facts.size_bytes * 8000 / max(1, index.duration_ms)
    if bit_rate > HEAVY_BIT_RATE:
        return f"{bit_rate / 1e6:.0f} Mb/s: seeking is slow"
    return ""


def viewing_bytes(index: FrameIndex) -> int:
    """Room that making a viewing copy takes at most: its pieces and the copy itself, side by side."""
    picture_bit_rate = VIEWING_SETTINGS.max_bit_rate
    return round((2 * picture_bit_rate + SOUND_BIT_RATE) / 8 * index.duration_ms / 1000)


def make_viewing_copy(
    source: Path | str,
    target: Path | str,
    *,
    index: FrameIndex | None = None,
    height_px: int = VIEWING_HEIGHT_PX,
    settings: PictureSettings = VIEWING_SETTINGS,
    piece_s: int = PIECE_S,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Converted:
    """Make a viewing copy, or go on making one that was begun.

    Parameters
    ----------
    source : Path or str
        Any readable film.
    target : Path or str
        The MP4 to write. Until it is whole, `TARGET.work` holds what is done.
    index : FrameIndex, optional
        The source's index, if it is known already.
    height_px : int
        Greatest height of the picture.
    settings : PictureSettings
        How to encode; `n_threads` is the share of the machine's cores.
    piece_s : int
        Length of the pieces, s; the first is shorter, so that something can be played soon.
    progress, stop : callable, optional
        As in `tagger.film.cut.write_reel`. Stopping keeps what is done.

    Returns
    -------
    Converted

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmStopped, DiskFull
    """
    source, target = Path(source), Path(target)
    facts = probe(source)
    if index is None:
        index = build_index(source, stop=stop)
    check_room(target, viewing_bytes(index))
    work = Work(source, target, facts, index=index, height_px=height_px, settings=settings, piece_s=piece_s)
    work.begin()
    _encode_pieces(work, progress, stop)
    size = assemble(work, work.pieces, target, stop)
    made = build_index(target)
    if made.n_frames != sum(piece.n_pictures for piece in work.done()):
        target.unlink(missing_ok=True)
        work.drop()
        raise FilmTorn("the copy lost frames when its pieces were joined", target, "start it again; report this film")
    work.drop()
    if progress is not None:
        progress(1.0, f"{index.n_frames} frames")
    return Converted(target, "encoded", made, work.per_frame, size)


def playable_so_far(target: Path | str) -> Path | None:
    """The part of a viewing copy that can be played while the rest is being made: from the film's beginning."""
    found = sorted(folder_of(Path(target)).glob("so-far-*.mp4"))
    return found[-1] if found else None


def discard(target: Path | str) -> None:
    """Give up a viewing copy that was begun, with all its pieces."""
    shutil.rmtree(folder_of(Path(target)), ignore_errors=True)


def _encode_pieces(work: Work, progress: Progress | None, stop: Stop | None) -> None:
    """Encode what is missing, piece by piece; each one counts as soon as it is whole."""
    done = work.done()
    missing = work.pieces[len(done) :]
    if not missing:
        return
    told = work.pieces[0].end_frame if done else 0
    n_frames = work.index.n_frames
    n_threads, deinterlace = work.settings.n_threads, "field" if work.per_frame == 2 else ""
    first = missing[0].start_frame
    with (
        FrameReader(work.source, work.index, n_threads=n_threads) as reader,
        pipelined(
            shown_pictures(reader, first, n_frames, work.size, deinterlace=deinterlace, n_threads=n_threads)
        ) as pictures,
    ):
        ahead = next(pictures, None)
        for piece in missing:
            if ahead is None:
                break  # a torn film's end
            begin_s = time_of(work.index, piece.start_frame)
            rate = Fraction(n_frames * 1000, max(1, work.index.duration_ms)).limit_denominator(1001)
            with FilmWriter(
                piece.path,
                work.size,
                work.time_base,
                work.settings,
                n_channels=0,
                nominal_rate=rate * work.per_frame,
                faststart=False,
            ) as writer:
                while ahead is not None and ahead[0] < piece.end_frame:
                    frame, at_s, picture = ahead
                    writer.picture(picture, round((at_s - begin_s) / work.time_base))
                    if stop is not None and stop():
                        raise FilmStopped("making the viewing copy was stopped", work.target, "it goes on where it was")
                    if progress is not None and frame % 8 == 0:
                        progress(frame / n_frames, f"frame {frame} of {n_frames}")
                    ahead = next(pictures, None)
            work.note(piece, writer.n_pictures)
            if piece.end_frame >= 2 * told and piece.end_frame < n_frames:
                told = piece.end_frame
                _show_so_far(work, stop)


def _show_so_far(work: Work, stop: Stop | None) -> None:
    """Put the pieces that are done together into a film that can be played already; older ones go."""
    pieces = work.done()
    if not pieces:
        return
    made = work.folder / f"so-far-{pieces[-1].end_frame:08d}.mp4"
    assemble(work, pieces, made, stop)
    for old in work.folder.glob("so-far-*.mp4"):
        if old != made:
            with contextlib.suppress(OSError):  # still being played: it goes with the folder
                old.unlink()
