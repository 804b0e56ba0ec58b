"""Opening a film for reading.

The one place that turns the video library's ways of failing into film errors, and that says which
containers are opened at all: a list of demuxers that read one local file and nothing else, so that a
hostile file can't send the program to other files or to the network.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.film.errors import FilmError, FilmTooMuch, FilmTorn, NotFilm, from_os
from tagger.film.plain_file import is_blank, stat_of

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.frame import Frame
    from av.packet import Packet
    from av.stream import Stream
    from av.video.stream import VideoStream

CONTAINERS = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,mpegts,mpeg,avi,asf,flv,mxf,ogg,dv,wav,mp3,aac,flac,w64,aiff"
MAX_SIDE_PX = 8192
MAX_PIXELS = 8192 * 4608
MAX_FRAME_BYTES = 120_000_000  # one decoded picture: 8K with ten bits a sample, not with sixteen
SIZE_LIMIT = {"max_pixels": str(MAX_PIXELS)}  # decoders refuse more before they take memory for it

_IMAGES = (
    (b"\x89PNG", "a PNG image"),
    (b"\xff\xd8\xff", "a JPEG image"),
    (b"GIF8", "a GIF image"),
    (b"BM", "a BMP image"),
    (b"II*\x00", "a TIFF image"),
    (b"MM\x00*", "a TIFF image"),
)
BLANK_MB = 16
_COPY_AGAIN = "copy it from the camera again; if the camera can repair it, let it do so first"


def sniff(path: Path) -> None:
    """Refuse what is plainly no film, by its first bytes.

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm
        Each with one line that says what the file is instead.
    """
    size = stat_of(path).size_bytes
    try:
        with path.open("rb") as file:
            head = file.read(4096)
    except OSError as error:
        raise from_os(error, path) from error
    if not head:
        raise NotFilm("the file is empty (0 bytes)", path, "copy it from the camera again")
    for magic, what in _IMAGES:
        if head.startswith(magic):
            raise NotFilm(f"this is {what}, not a film", path, "choose the film file")
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        raise NotFilm("this is a WebP image, not a film", path, "choose the film file")
    if head[4:8] == b"ftyp" and head[8:12] in (b"heic", b"heix", b"mif1", b"avif"):
        raise NotFilm("this is a photo (HEIF), not a film", path, "choose the film file")
    if _is_text(head):
        raise NotFilm("this is text, not a film", path, "choose the film file")
    if is_blank(head) and _begins_blank(path, size):
        raise FilmTorn("the file holds nothing but zero bytes", path, _COPY_AGAIN)


def _is_text(head: bytes) -> bool:
    if b"\x00" in head:
        return False
    try:
        text = head.decode("utf-8")
    except UnicodeDecodeError as error:
        if error.start < len(head) - 4:  # a character cut in two at the end of the sample is still text
            return False
        text = head[: error.start].decode("utf-8")
    return all(char.isprintable() or char in "\r\n\t\f" for char in text)


def _begins_blank(path: Path, size: int) -> bool:
    """Whether nothing stands in the first stretch of a file, nor at its end; no film begins so late."""
    with path.open("rb") as file:
        blank = all(is_blank(file.read(1 << 20)) for _ in range(BLANK_MB))
        file.seek(max(0, size - (1 << 20)))
        return blank and is_blank(file.read(1 << 20))


@contextmanager
def reading(path: Path) -> Iterator[None]:
    """Turn the video library's errors inside the block into film errors about `path`."""
    import av

    try:
        yield
    except FilmError:
        raise
    except MemoryError as error:
        raise FilmTooMuch("reading it needs more memory than a film may", path, _COPY_AGAIN) from error
    except av.error.FFmpegError as error:
        if isinstance(error, OSError) and not isinstance(error, ValueError):
            raise from_os(error, path) from error
        raise FilmTorn(f"the film is damaged ({error.strerror or 'unreadable data'})", path, _COPY_AGAIN) from error
    except OSError as error:
        raise from_os(error, path) from error


@contextmanager
def opened(path: Path | str) -> Iterator[InputContainer]:
    """Open a film for reading and close it afterwards.

    Parameters
    ----------
    path : Path or str
        A local file.

    Yields
    ------
    InputContainer
        With at least one picture stream; see `picture_stream`.

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn
    """
    import av

    path = Path(path)
    sniff(path)
    try:
        container = av.open(
            str(path),
            options={"format_whitelist": CONTAINERS, "protocol_whitelist": "file", **SIZE_LIMIT},
            metadata_errors="replace",
        )
    except MemoryError as error:
        raise FilmTooMuch("opening it needs more memory than a film may", path, _COPY_AGAIN) from error
    except av.error.FFmpegError as error:
        if isinstance(error, OSError):
            raise from_os(error, path) from error
        raise _unreadable(path) from error
    with container:
        picture_stream(container, path)
        with reading(path):
            yield container


def _unreadable(path: Path) -> FilmError:
    with path.open("rb") as file:
        head = file.read(4096)
    if head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        return FilmTorn(
            "the recording was never finished: the table of its frames (moov) is missing",
            path,
            "copy it from the camera again; some cameras repair it when switched on with the card in",
        )
    return NotFilm("this is no film that can be read here", path, "choose an MP4, MOV, MKV, WebM, MTS, TS or AVI file")


def picture_stream(container: InputContainer, path: Path | str) -> VideoStream:
    """The stream that holds the film's picture (never a cover image).

    Raises
    ------
    NotFilm
        When the file has no picture, or a codec nobody here can read.
    FilmTooMuch
        When its picture is absurdly large.
    """
    from av.stream import Disposition

    streams = [s for s in container.streams.video if not s.disposition & Disposition.attached_pic]
    if not streams:
        sound = "sound but no picture" if container.streams.audio else "no picture"
        raise NotFilm(f"the file has {sound}", path, "choose the film file")
    readable = [s for s in streams if s.codec_context is not None]
    stream = max(readable, key=lambda s: ((s.width or 0) * (s.height or 0), -s.index), default=None)
    context = stream.codec_context if stream is not None else None
    if stream is None or context is None:
        raise NotFilm("its picture is in a codec that can't be read here", path, "save it as H.264 MP4 and use that")
    width, height = context.width or 0, context.height or 0
    if width > MAX_SIDE_PX or height > MAX_SIDE_PX or width * height > MAX_PIXELS:
        raise FilmTooMuch(f"claims a picture of {width} x {height}", path, "save it at 4K or smaller and use that")
    if width < 1 or height < 1:
        what = f"does not say how large its picture is, or claims more than {MAX_SIDE_PX} x {MAX_PIXELS // MAX_SIDE_PX}"
        raise FilmTorn(what, path, _COPY_AGAIN)
    if context.format is not None and width * height * context.format.padded_bits_per_pixel > MAX_FRAME_BYTES * 8:
        what = f"claims a picture of {width} x {height} in {context.format.name}, which takes too much memory"
        raise FilmTooMuch(what, path, "save it at 4K or smaller and use that")
    if not context.is_open:
        context.options = {**context.options, **SIZE_LIMIT}
    if stream.time_base is None or stream.time_base <= 0:
        raise FilmTorn("does not say how its time is counted", path, _COPY_AGAIN)
    return stream


def packets_of(container: InputContainer, *streams: Stream) -> Iterator[Packet]:
    """Packets of some streams up to the end of what can be read: a torn end is an end like any other.

    Transport streams may begin another stream half-way, which the library trips over once for each of its packets
    (an IndexError); reading simply goes on behind it.
    """
    import av

    packets = container.demux(*streams)
    while True:
        try:
            packet = next(packets)
        except (StopIteration, av.error.FFmpegError):
            return
        except IndexError:
            packets = container.demux(*streams)
            continue
        yield packet


def all_before_zero(path: Path) -> FilmError:
    """What to say of a film of which no player shows anything: all of it lies before the beginning of its own clock."""
    what = "all of its pictures lie before its own beginning, so that no player shows any"
    return FilmTorn(what, path, "save it anew as H.264 MP4, from its first picture on, and use that")


def time_base(timed: Stream | Frame) -> Fraction:
    """A stream's or frame's time base, as a plain fraction of seconds."""
    base = timed.time_base
    if base is None:
        raise ValueError("it has no time base")
    return Fraction(base)


def is_counted(container: InputContainer, stream: VideoStream) -> bool:
    """Whether frames have to be counted because the container stores no showing times (AVI).

    There, packets follow each other in order of decoding; where frames refer to later ones, only decoding tells
    the order of showing. Codecs in which every frame stands alone keep their order.
    """
    return container.format.name == "avi" and stream.codec_context.name not in ("mjpeg", "dvvideo", "rawvideo")
