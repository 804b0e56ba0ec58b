"""Cutting clips out of films and joining them into one reel, exact to the frame.

Each clip is decoded from a frame that decoding can begin at, dropped up to its first frame by PTS, and
encoded again; so its first frame is the one that was marked, whatever lies before it in the file. Frames
keep their own distances in time (variable rate stays variable), sound is laid at its own sample.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.errors import BadClip, FilmStopped, FilmTorn
from tagger.film.index import FrameIndex
from tagger.film.picture import even, rgb
from tagger.film.probe import FilmFacts, probe
from tagger.film.reader import FrameReader
from tagger.film.showing import shown_pictures
from tagger.film.sound import RATE_HZ, SoundReader
from tagger.film.writer import FilmWriter, PictureSettings, timescale_for
from tagger.progress import Progress, Stop

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

Overlay = Callable[[NDArray[np.uint8], int, int], NDArray[np.uint8]]
REEL_MARK = "floorbook reel"  # what a reel says of itself, so that the next one may take its place
REEL_SETTINGS = PictureSettings(crf=20, preset="veryfast", gop=60, b_frames=2)
FADE_SAMPLES = 96  # 2 ms at each side of a join: no click, and less than any ear can place


@dataclass(frozen=True)
class Clip:
    """A stretch of one film: frames `start_frame` to `end_frame` (exclusive)."""

    path: Path
    index: FrameIndex
    start_frame: int
    end_frame: int
    label: str = ""

    @property
    def n_frames(self) -> int:
        """How many frames it has."""
        return self.end_frame - self.start_frame

    @property
    def start_s(self) -> Fraction:
        """When it begins on its film's own clock."""
        return int(self.index.pts[self.start_frame]) * self.index.time_base

    @property
    def length_s(self) -> Fraction:
        """How long it is shown."""
        ends = self.end_frame == self.index.n_frames
        end = self.index.end_pts if ends else int(self.index.pts[self.end_frame])
        return end * self.index.time_base - self.start_s


@dataclass(frozen=True)
class ReelPart:
    """Where one clip stands in a reel: its frames and its milliseconds, ends exclusive."""

    label: str
    start_frame: int
    end_frame: int
    start_ms: int
    end_ms: int


@dataclass(frozen=True)
class Reel:
    """A written reel."""

    path: Path
    width: int
    height: int
    n_frames: int
    duration_ms: int
    size_bytes: int
    has_sound: bool
    parts: tuple[ReelPart, ...]


def write_reel(
    clips: Sequence[Clip],
    target: Path | str,
    *,
    height_px: int = 720,
    progress: Progress | None = None,
    stop: Stop | None = None,
    overlay: Overlay | None = None,
) -> Reel:
    """Cut clips frame-exactly and join them into one MP4 that a phone plays.

    Parameters
    ----------
    clips : sequence of Clip
        In the order of showing; of any films, sizes, rates, with or without sound.
    target : Path or str
        The MP4 to write. It appears only when it is whole.
    height_px : int
        Greatest height of the picture, px; smaller film is not blown up.
    progress : callable, optional
        Called with the share done (0 to 1) and a text.
    stop : callable, optional
        Asked at every frame; when it says true the work ends with `FilmStopped` and leaves nothing.
    overlay : callable, optional
        `overlay(picture, clip_number, frame) -> picture` draws on each shown picture, uint8[height, width, 3]
        RGB of the reel's size; `frame` is the frame's number in its own film.

    Returns
    -------
    Reel

    Raises
    ------
    BadClip
        When there is no clip, or one names frames its film does not have.
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmStopped, DiskFull

    Notes
    -----
    All clips share one picture size: the widest shape among them; others get black bars. Interlaced film is
    shown one picture a frame. A film without sound gets silence if any other has sound. Nothing of the films'
    metadata (place, device, time) goes into the reel; it says of itself only that it is one (`REEL_MARK`).
    """
    clips = list(clips)
    target = Path(target)
    if not clips:
        raise BadClip("there is nothing to cut", target, "choose at least one clip")
    _check(clips)
    lengths = [clip.length_s for clip in clips]
    starts_s = [sum(lengths[:n], Fraction(0)) for n in range(len(clips))]
    return write_clips(
        clips,
        target,
        starts_s,
        height_px=height_px,
        settings=REEL_SETTINGS,
        progress=progress,
        stop=stop,
        overlay=overlay,
    )


def write_clips(
    clips: list[Clip],
    target: Path,
    starts_s: Sequence[Fraction],
    *,
    height_px: int,
    settings: PictureSettings,
    progress: Progress | None,
    stop: Stop | None,
    overlay: Overlay | None,
) -> Reel:
    """Write clips at given times (s) of one MP4, as `write_reel` does; between them the last picture stays.

    Parameters
    ----------
    clips : list of Clip
        In order.
    target : Path
        The MP4 to write.
    starts_s : sequence of Fraction
        When each begins; none before the one before it ends.
    height_px, progress, stop, overlay
        As in `write_reel`.
    settings : PictureSettings
        How to encode.

    Returns
    -------
    Reel
    """
    _check(clips)
    facts = {clip.path: probe(clip.path) for clip in {clip.path: clip for clip in clips}.values()}
    size = _reel_size([facts[clip.path] for clip in clips], height_px)
    has_sound = any(facts[clip.path].audio_codec for clip in clips)
    base = _reel_time_base(clips)
    n_total = sum(clip.n_frames for clip in clips)
    parts: list[ReelPart] = []
    with FilmWriter(target, size, base, settings, n_channels=2 if has_sound else 0, comment=REEL_MARK) as writer:
        for number, (clip, start_s) in enumerate(zip(clips, starts_s, strict=True)):
            start_frame = writer.n_pictures
            for n_done in _write_clip(
                writer, clip, number, facts=facts[clip.path], size=size, offset_s=start_s, overlay=overlay
            ):
                if stop is not None and stop():
                    raise FilmStopped(
                        "cutting was stopped", target, "nothing was written; start it again when you like"
                    )
                if progress is not None and n_done % 8 == 0:
                    progress(min(1.0, (start_frame + n_done) / n_total), f"clip {number + 1} of {len(clips)}")
            end_s = start_s + clip.length_s
            parts.append(
                ReelPart(clip.label, start_frame, writer.n_pictures, round(start_s * 1000), round(end_s * 1000))
            )
    if progress is not None:
        progress(1.0, f"{len(clips)} clips")
    return Reel(
        target, *size, parts[-1].end_frame, parts[-1].end_ms, writer.size_bytes, has_sound=has_sound, parts=tuple(parts)
    )


def _check(clips: list[Clip]) -> None:
    for clip in clips:
        if not 0 <= clip.start_frame < clip.end_frame <= clip.index.n_frames:
            wanted = f"a clip of frames {clip.start_frame} to {clip.end_frame}, the film has {clip.index.n_frames}"
            raise BadClip(wanted, clip.path, "mark the clip anew")


def _reel_size(facts: list[FilmFacts], height_px: int) -> tuple[int, int]:
    height = even(min(height_px, max(fact.height for fact in facts)))
    shape = max(Fraction(fact.width, fact.height) for fact in facts)
    return even(height * shape), height


def _reel_time_base(clips: list[Clip]) -> Fraction:
    bases = {clip.index.time_base for clip in clips}
    return timescale_for(bases.pop()) if len(bases) == 1 else Fraction(1, 90_000)


def _write_clip(
    writer: FilmWriter,
    clip: Clip,
    number: int,
    *,
    facts: FilmFacts,
    size: tuple[int, int],
    offset_s: Fraction,
    overlay: Overlay | None,
) -> Iterator[int]:
    """Write one clip's pictures and, in step with them, its sound; yields how many pictures are written."""
    n_done = 0
    start_sample = round(offset_s * RATE_HZ)
    end_sample = round((offset_s + clip.length_s) * RATE_HZ)
    with FrameReader(clip.path, clip.index) as reader, SoundReader(clip.path) as sounds:
        if facts.audio_codec and writer.n_channels:
            sound = sounds.pieces(clip.start_s, clip.start_s + clip.length_s)
        else:
            sound = iter(())
        ahead: tuple[int, NDArray[np.float32]] | None = next(sound, None)
        for frame, _, picture in shown_pictures(
            reader, clip.start_frame, clip.end_frame, size, deinterlace="frame" if facts.interlaced else ""
        ):
            at_s = offset_s + int(clip.index.pts[frame]) * clip.index.time_base - clip.start_s
            if overlay is not None:
                picture = _drawn(picture, overlay, number, frame)
            writer.picture(picture, round(at_s / writer.time_base))
            while ahead is not None and start_sample + ahead[0] < (at_s + 1) * RATE_HZ:
                _lay(writer, ahead, start_sample, end_sample)
                ahead = next(sound, None)
            n_done += 1
            yield n_done
        while ahead is not None:
            _lay(writer, ahead, start_sample, end_sample)
            ahead = next(sound, None)
    if n_done == 0:
        raise FilmTorn(
            f"frames {clip.start_frame} to {clip.end_frame} can't be decoded", clip.path, "choose another clip"
        )
    writer.silence_until(end_sample)


def _lay(writer: FilmWriter, piece: tuple[int, NDArray[np.float32]], start_sample: int, end_sample: int) -> None:
    """Write a piece of a clip's sound, faded within the first and last 2 ms of the clip."""
    at = start_sample + piece[0]
    samples = piece[1][:, : max(0, end_sample - at)]
    places = np.arange(at, at + samples.shape[1])
    near = np.minimum(places - start_sample + 1, end_sample - places)
    if len(near) and near.min() < FADE_SAMPLES:
        samples = samples * np.clip(near / FADE_SAMPLES, 0, 1).astype(np.float32)
    writer.sound(at, samples)


def _drawn(picture: VideoFrame, overlay: Overlay, number: int, frame: int) -> VideoFrame:
    from av.video.frame import VideoFrame

    drawn = np.ascontiguousarray(overlay(rgb(picture), number, frame), dtype=np.uint8)
    if drawn.shape != (picture.height, picture.width, 3):
        raise ValueError(f"the overlay gave a picture of shape {drawn.shape}")
    result = VideoFrame.from_ndarray(drawn, format="rgb24").reformat(format="yuv420p")
    result.color_range, result.colorspace = picture.color_range, picture.colorspace
    return result
