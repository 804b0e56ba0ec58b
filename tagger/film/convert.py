"""Making a film that a browser plays: the same frames at the same times, as H.264/AAC MP4.

Whichever is least: where only the wrapping or the sound is in the way, the picture's packets are copied as
they are; otherwise every frame is decoded, turned upright, deinterlaced when it holds two fields, and
encoded with a short distance between key frames so that seeking in it is quick.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from tagger.film.errors import FilmStopped, FilmTorn
from tagger.film.index import FrameIndex, build_index
from tagger.film.picture import even
from tagger.film.pipelined import pipelined
from tagger.film.probe import FilmFacts, probe
from tagger.film.reader import FrameReader
from tagger.film.repack import repack
from tagger.film.room import check_room
from tagger.film.showing import shown_pictures
from tagger.film.sound import RATE_HZ, SoundReader
from tagger.film.writer import FilmWriter, PictureSettings, timescale_for
from tagger.progress import Progress, Stop

PLAYABLE_SETTINGS = PictureSettings(crf=20, preset="veryfast", gop=30, b_frames=0)


@dataclass(frozen=True)
class Converted:
    """A film made playable.

    `how` is "repacked" or "encoded". `pictures_per_frame` is 2 where interlaced film was given its full field
    rate: picture 2n is frame n, picture 2n + 1 the half after it. `index` is the new film's own.
    """

    path: Path
    how: str
    index: FrameIndex
    pictures_per_frame: int
    size_bytes: int


def make_playable(
    source: Path | str,
    target: Path | str,
    *,
    index: FrameIndex | None = None,
    n_threads: int = 0,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Converted:
    """Write a copy that every browser plays, frame by frame the same film.

    Parameters
    ----------
    source : Path or str
        Any readable film.
    target : Path or str
        The MP4 to write. It appears only when it is whole.
    index : FrameIndex, optional
        The source's index, if it is known already.
    n_threads : int
        Threads to decode and to encode with; 0 for as many as there are cores.
    progress, stop : callable, optional
        As in `tagger.film.cut.write_reel`.

    Returns
    -------
    Converted

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmStopped, DiskFull

    Notes
    -----
    The copy's first frame stands at time 0. A repacked copy is checked against the source's index; where
    copying packets did not give the same frames at the same times, the film is encoded instead.
    """
    source, target = Path(source), Path(target)
    facts = probe(source)
    if index is None:
        index = build_index(source, n_threads=n_threads, progress=_share(progress, 0.0, 0.1), stop=stop)
    check_room(target, facts.size_bytes if facts.repackable else encoded_bytes(facts, index))
    if facts.repackable:
        made = repack(source, target, facts, index, progress=_share(progress, 0.1, 1.0), stop=stop)
        if made is not None:
            if progress is not None:
                progress(1.0, f"{made.n_frames} frames")
            return Converted(target, "repacked", made, 1, target.stat().st_size)
    settings = replace(PLAYABLE_SETTINGS, n_threads=n_threads)
    return encode_copy(source, target, facts, index, settings, progress=_share(progress, 0.1, 1.0), stop=stop)


def encode_copy(
    source: Path,
    target: Path,
    facts: FilmFacts,
    index: FrameIndex,
    settings: PictureSettings,
    *,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Converted:
    """Encode a whole film anew: every frame of `index` once (twice if interlaced), at its own time.

    Parameters
    ----------
    source, target : Path
        The film, and the MP4 to write.
    facts : FilmFacts
        The source's facts.
    index : FrameIndex
        The source's index.
    settings : PictureSettings
        How to encode.
    progress, stop : callable, optional
        As in `make_playable`.

    Returns
    -------
    Converted

    Raises
    ------
    FilmTorn, FilmStopped, DiskFull

    Notes
    -----
    A frame that can't be decoded is replaced by the one before it, so that frame numbers agree. At the
    end of a torn film such frames are left out.
    """
    doubled, deinterlace = (2, "field") if facts.interlaced else (1, "")
    size = even_size(facts, facts.height)
    base = timescale_for(index.time_base / doubled)
    n_channels = min(2, facts.channels or 2) if facts.audio_codec else 0
    rate = Fraction(index.n_frames * 1000, max(1, index.duration_ms)).limit_denominator(1001)
    pts: list[int] = []
    with (
        FrameReader(source, index, n_threads=settings.n_threads) as reader,
        SoundReader(source, n_channels=max(1, n_channels)) as sounds,
        pipelined(
            shown_pictures(reader, 0, index.n_frames, size, deinterlace=deinterlace, n_threads=settings.n_threads)
        ) as pictures,
        FilmWriter(target, size, base, settings, n_channels=n_channels, nominal_rate=rate * doubled) as writer,
    ):
        start_s = int(index.pts[0]) * index.time_base
        length_s = (index.end_pts - int(index.pts[0])) * index.time_base
        sound = sounds.pieces(start_s, start_s + length_s) if n_channels else iter(())
        ahead = next(sound, None)
        frame = 0
        for frame, at_s, picture in pictures:
            pts.append(round(at_s / base))
            writer.picture(picture, pts[-1])
            while ahead is not None and ahead[0] < (at_s + 1) * RATE_HZ:
                writer.sound(*ahead)
                ahead = next(sound, None)
            if frame % 8 == 0:
                if stop is not None and stop():
                    raise FilmStopped(
                        "converting was stopped", target, "nothing was written; start it again when you like"
                    )
                if progress is not None:
                    progress(frame / index.n_frames, f"frame {frame} of {index.n_frames}")
        if not pts:
            raise FilmTorn("not one of its frames can be decoded", source, "copy it from the camera again")
        while ahead is not None:
            writer.sound(*ahead)
            ahead = next(sound, None)
    made = build_index(target)
    if made.n_frames != len(pts):
        target.unlink(missing_ok=True)
        raise FilmTorn(f"{made.n_frames} of {len(pts)} frames were written", target, "start it again; report this film")
    if progress is not None:
        progress(1.0, f"{index.n_frames} frames")
    return Converted(target, "encoded", made, doubled, writer.size_bytes)


def encoded_bytes(facts: FilmFacts, index: FrameIndex) -> int:
    """Room that encoding a film anew takes, on the generous side: 0.15 bits a pixel, and the sound."""
    doubled = 2 if facts.interlaced else 1
    return round(facts.width * facts.height * index.n_frames * doubled * 0.15 / 8 + 25 * index.duration_ms)


def even_size(facts: FilmFacts, height_px: int) -> tuple[int, int]:
    """Even width and height (px) of a film's picture, no higher than `height_px`."""
    height = even(min(height_px, facts.height))
    return even(facts.width * height / facts.height), height


def _share(progress: Progress | None, start: float, end: float) -> Progress | None:
    """Progress of a part of the work, reported as its share of the whole."""
    if progress is None:
        return None
    report = progress
    return lambda done, text: report(start + (end - start) * done, text)
