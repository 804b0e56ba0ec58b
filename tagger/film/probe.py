"""What a film is, found out by looking at its streams and its first frame.

Whether a browser plays a file can't be left to the browser: it shows HEVC as a black picture with sound,
and AC-3 as a picture without sound, both without any error. So it is decided here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.film.errors import FilmTorn, NotFilm
from tagger.film.order import order_of
from tagger.film.plain_file import refuse_blank
from tagger.film.sound import sound_stream
from tagger.film.source import all_before_zero, opened, packets_of, picture_stream

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

PLAIN_PIX_FMTS = ("yuv420p", "yuvj420p")
MP4_PICTURE = ("h264", "vp9", "av1")
MP4_SOUND = ("aac", "mp3", "opus", "flac")
WEBM_PICTURE = ("vp8", "vp9", "av1")
WEBM_SOUND = ("opus", "vorbis")
_FAMILIES = {"mov": "mp4", "matroska": "matroska", "mpegts": "ts", "avi": "avi", "mpeg": "mpeg"}
_NAMES = {"libdav1d": "av1", "libvpx-vp9": "vp9", "libvpx": "vp8", "mp3float": "mp3", "libopus": "opus"}


@dataclass(frozen=True)
class FilmFacts:
    """What is known of a film before any of its frames is counted.

    `width` and `height` (px) are those of the picture as it is shown: upright and with square pixels.
    `rotation` (degrees, clockwise: 0, 90, 180, 270) is what turns the stored picture upright.
    `duration_ms` is what the file claims; the frame index knows better.
    `as_it_lies` says that a browser plays picture *and* sound of this very file; if not, `why_not` says why,
    and `repackable` says that new wrapping is enough.
    """

    size_bytes: int
    container: str
    video_codec: str
    width: int
    height: int
    rotation: int
    pix_fmt: str
    interlaced: bool
    audio_codec: str | None
    sample_rate: int | None
    channels: int | None
    duration_ms: int
    as_it_lies: bool
    why_not: str
    repackable: bool


def probe(path: Path | str) -> FilmFacts:
    """Look at a film's streams and decode its first frame.

    Parameters
    ----------
    path : Path or str
        A local file.

    Returns
    -------
    FilmFacts

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmTooMuch
        One clear line each.
    """
    path = Path(path)
    refuse_blank(path)
    with opened(path) as container:
        stream = picture_stream(container, path)
        stream.codec_context.thread_count = 1  # each thread takes a picture's memory, and one picture is wanted
        frame = _first_frame(container, stream, path)
        codec = codec_name(stream.codec_context.name)
        pix_fmt = frame.format.name
        rotation = rotation_of(frame)
        width, height = shown_size(frame, stream.sample_aspect_ratio)
        family = _family(container, path)
        sound = sound_stream(container)
        audio_codec = codec_name(sound.codec_context.name) if sound is not None else None
        interlaced = is_interlaced(frame, stream)
        open_groups = codec == "h264" and not interlaced and order_of(path).open_groups
        why_not = _why_not(family, codec, pix_fmt, audio_codec, interlaced=interlaced, open_groups=open_groups)
        repackable = (
            not interlaced
            and not open_groups
            and codec in MP4_PICTURE
            and (codec != "h264" or pix_fmt in PLAIN_PIX_FMTS)
            and family != "avi"
        )
        return FilmFacts(
            size_bytes=path.stat().st_size,
            container=family,
            video_codec=codec,
            width=width,
            height=height,
            rotation=rotation,
            pix_fmt=pix_fmt,
            interlaced=interlaced,
            audio_codec=audio_codec,
            sample_rate=sound.codec_context.sample_rate if sound is not None else None,
            channels=sound.codec_context.channels if sound is not None else None,
            duration_ms=_claimed_ms(container, stream),
            as_it_lies=not why_not,
            why_not=why_not,
            repackable=repackable,
        )


def codec_name(name: str) -> str:
    """The codec's common name, whichever decoder reads it."""
    return _NAMES.get(name, name)


def rotation_of(frame: VideoFrame) -> int:
    """Clockwise turn (0, 90, 180 or 270 degrees) that makes the stored picture upright."""
    return round(-frame.rotation / 90) * 90 % 360


def shown_size(frame: VideoFrame, aspect: Fraction | None) -> tuple[int, int]:
    """Width and height (px) of the frame when it is upright and its pixels are square."""
    width, height = frame.width, frame.height
    if aspect and aspect != 1 and Fraction(1, 8) <= aspect <= 8:
        width = max(1, round(width * aspect))
    return (height, width) if rotation_of(frame) in (90, 270) else (width, height)


def is_interlaced(frame: VideoFrame, stream: VideoStream) -> bool:
    """Whether the frame holds two fields. Only decoded frames tell; the stream's header often doesn't."""
    return bool(frame.interlaced_frame)


def _first_frame(container: InputContainer, stream: VideoStream, path: Path) -> VideoFrame:
    import av

    n_bad = n_hidden = n_packets = 0
    for packet in packets_of(container, stream):
        n_packets += packet.size > 0
        n_hidden += packet.size > 0 and packet.is_discard
        try:
            for frame in packet.decode():
                if not frame.is_corrupt:
                    return frame
        except av.error.FFmpegError:
            n_bad += 1
        if n_bad > 200:
            break
    if n_packets and n_hidden == n_packets:
        raise all_before_zero(path)
    if path.stat().st_size < 1 << 12:
        raise NotFilm("the file holds no frame", path, "copy it from the camera again")
    raise FilmTorn("not one of its frames can be decoded", path, "copy it from the camera again")


def _family(container: InputContainer, path: Path) -> str:
    name = container.format.name.split(",")[0]
    if name == "matroska":
        with path.open("rb") as file:
            return "webm" if b"webm" in file.read(64) else "mkv"
    return _FAMILIES.get(name, name)


def _why_not(
    family: str, codec: str, pix_fmt: str, audio_codec: str | None, *, interlaced: bool, open_groups: bool
) -> str:
    pictures: tuple[str, ...]
    sounds: tuple[str, ...]
    if family == "mp4":
        pictures, sounds = MP4_PICTURE, MP4_SOUND
    elif family == "webm":
        pictures, sounds = WEBM_PICTURE, WEBM_SOUND
    else:
        return f"a browser does not open this kind of file ({family})"
    if codec not in pictures:
        return f"a browser does not show {codec} pictures"
    if codec == "h264" and pix_fmt not in PLAIN_PIX_FMTS:
        return f"not every browser shows this kind of H.264 picture ({pix_fmt})"
    if audio_codec is not None and audio_codec not in sounds:
        return f"a browser does not play {audio_codec} sound"
    if interlaced:
        return "the picture is interlaced and would show combs"
    if open_groups:
        return "its groups of frames are open: a browser gives up when it seeks in them"
    return ""


def _claimed_ms(container: InputContainer, stream: VideoStream) -> int:
    if stream.duration and stream.time_base:
        return round(stream.duration * stream.time_base * 1000)
    if container.duration:
        return round(container.duration / 1000)
    return 0
