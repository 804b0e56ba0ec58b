"""Odd files that lie on a card, or that somebody sends: made here, each with what is to be said of it."""

from __future__ import annotations

import contextlib
import os
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from tagger.film.errors import FilmError
from tests.film.maker import Recipe, draw_picture, make

GIANT_BYTES = 200 << 30
SMALL = Recipe("small", size=(160, 90), n_frames=20, sound=None)


@dataclass(frozen=True)
class Odd:
    """An odd file: how it is called, how it is made, and the words that its line has."""

    name: str
    make: Callable[[Path], None]
    says: str


def pipe(path: Path) -> None:
    """Somebody would have to write into it before it can be opened."""
    os.mkfifo(path)


def device(path: Path) -> None:
    """It never ends."""
    path.symlink_to("/dev/zero")


def giant(suffix: str) -> Callable[[Path], None]:
    """A small film, and two hundred gigabytes of nothing behind it."""

    def made(path: Path) -> None:
        if suffix:
            make(Recipe(SMALL.name, suffix=suffix, size=SMALL.size, n_frames=20, sound=None), path.parent).rename(path)
        with path.open("ab") as file:
            file.truncate(GIANT_BYTES)

    return made


def timed(times: Callable[[int], tuple[int, int]], kind: str, options: dict[str, str]) -> Callable[[Path], None]:
    """A film whose packets stand at times of one's own, in frames of 1/25 s: when shown, when decoded."""

    def made(path: Path) -> None:
        with av.open(str(path), "w", format=kind, options=options) as container:
            stream = container.add_stream("libx264", rate=25, options={"bf": "0", "preset": "ultrafast"})
            stream.width, stream.height, stream.pix_fmt = 160, 90, "yuv420p"
            packets = []
            for number in range(60):
                frame = av.VideoFrame.from_ndarray(draw_picture(number, (160, 90)), format="rgb24")
                frame.pts, frame.time_base = number, Fraction(1, 25)
                packets += stream.encode(frame.reformat(format="yuv420p"))
            for number, packet in enumerate([*packets, *stream.encode(None)]):
                packet.time_base = Fraction(1, 25)
                packet.pts, packet.dts = times(number)
                with contextlib.suppress(av.error.FFmpegError):
                    container.mux(packet)

    return made


def _at_once(number: int) -> tuple[int, int]:
    return 0, 0


def _shown_at_once(number: int) -> tuple[int, int]:
    return 100, number


def _before_zero(number: int) -> tuple[int, int]:
    return number - 200, number - 200


def absurd_png(kind: str, side: int) -> Callable[[Path], None]:
    """PNG pictures of a few bytes that claim to be huge, sixteen bits a sample."""

    def made(path: Path) -> None:
        _encoded(path, kind, "png", "rgba")
        data = bytearray(path.read_bytes())
        at = data.find(b"IHDR")
        while at >= 0:
            data[at + 4 : at + 14] = struct.pack(">IIBB", side, side, 16, 6)
            data[at + 17 : at + 21] = struct.pack(">I", zlib.crc32(bytes(data[at : at + 17])))
            at = data.find(b"IHDR", at + 1)
        path.write_bytes(data)

    return made


def absurd_jpeg(kind: str, side: int) -> Callable[[Path], None]:
    """JPEG pictures of a few bytes that claim to be huge."""

    def made(path: Path) -> None:
        _encoded(path, kind, "mjpeg", "yuvj444p")
        data = bytearray(path.read_bytes())
        at = data.find(b"\xff\xc0\x00\x11\x08")
        while at >= 0:
            data[at + 5 : at + 9] = struct.pack(">HH", side, side)
            at = data.find(b"\xff\xc0\x00\x11\x08", at + 1)
        path.write_bytes(data)

    return made


def absurd_h264(kind: str, side: int) -> Callable[[Path], None]:
    """H.264 whose headers claim a huge picture and sixteen others to be kept."""

    def made(path: Path) -> None:
        with av.open(str(path), "w", format=kind) as container:
            stream = container.add_stream("libx264", rate=25)
            stream.width = stream.height = 64
            stream.pix_fmt = "yuv420p"
            units = b"".join(b"\0\0\0\1" + unit for unit in (_sps(side), _pps(), _picture()))
            for number in range(12):
                packet = av.Packet(units)
                packet.stream, packet.time_base = stream, Fraction(1, 25)
                packet.pts = packet.dts = number
                packet.is_keyframe = True
                container.mux(packet)

    return made


TIMES = (
    *(
        Odd(f"at-once.{s}", timed(_at_once, k, {}), "stand at one time only")
        for s, k in (("mp4", "mp4"), ("ts", "mpegts"))
    ),
    Odd("shown-at-once.mov", timed(_shown_at_once, "mov", {}), "stand at one time only"),
    Odd("shown-at-once.mkv", timed(_shown_at_once, "matroska", {}), "stand at one time only"),
    Odd("before-zero.mp4", timed(_before_zero, "mp4", {"avoid_negative_ts": "disabled"}), "before its own beginning"),
    Odd("before-zero.mkv", timed(_before_zero, "matroska", {"avoid_negative_ts": "disabled"}), "carries a time"),
)
GIANTS = (
    Odd("nothing.mp4", giant(""), "is empty"),
    *(Odd(f"giant.{suffix}", giant(f".{suffix}"), "is empty") for suffix in ("mp4", "ts", "mkv", "avi")),
)
NO_FILES = (Odd("pipe.mp4", pipe, "this is a pipe"), Odd("device.mp4", device, "this is a device"))
ABSURD = (
    *(Odd(f"png-{side}.mov", absurd_png("mov", side), "") for side in (6144, 8000, 16_000, 32_768)),
    *(Odd(f"png-{side}.avi", absurd_png("avi", side), "") for side in (8000, 16_000)),
    *(Odd(f"jpeg-{side}.avi", absurd_jpeg("avi", side), "") for side in (8000, 32_768)),
    *(Odd(f"h264-{side}.ts", absurd_h264("mpegts", side), "") for side in (6144, 8000, 16_000, 32_768)),
    *(Odd(f"h264-{side}.flv", absurd_h264("flv", side), "") for side in (8000, 16_000)),
)


@dataclass(frozen=True)
class Peak:
    """What a look at a file gave: its line (empty: it was taken for film), and the most memory it took, MB."""

    said: str
    mb: float


def peak(path: Path) -> Peak:
    """Look at a file, here; for a process of its own on Linux."""
    from tagger.film.probe import probe

    said = ""
    try:
        probe(path)
    except FilmError as fault:
        said = str(fault)
    told = Path("/proc/self/status").read_text(encoding="utf-8")
    return Peak(said, int(told.split("VmHWM:")[1].split()[0]) / 1000)


def _encoded(path: Path, kind: str, codec: str, pix_fmt: str) -> None:
    with av.open(str(path), "w", format=kind) as container:
        stream = container.add_stream(codec, rate=25)
        assert isinstance(stream, av.VideoStream)
        stream.width = stream.height = 64
        stream.pix_fmt = pix_fmt
        for number in range(6):
            frame = av.VideoFrame.from_ndarray(np.full((64, 64, 3), number * 9, np.uint8), format="rgb24")
            frame = frame.reformat(format=pix_fmt)
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _sps(side: int) -> bytes:
    """A sequence's parameters: High 5.1, 4:2:0, 16 reference pictures, square."""
    mbs = side // 16 - 1
    return b"\x67" + _unit(
        "08100 0800 0851", "eeee", (0, 1, 0, 0), "00", "eeee", (0, 0, 0, 16), "0", "ee", (mbs, mbs), "1100"
    )


def _pps() -> bytes:
    return b"\x68" + _unit("", "ee", (0, 0), "00", "eee", (0, 0, 0), "000", "eee", (0, 0, 0), "100")


def _picture() -> bytes:
    return b"\x65" + _unit("", "eee", (0, 7, 0), "0000", "e", (0,), "000000", "e" * 42, (0, 0, *[25] * 40), "")


def _unit(head: str, *parts: str | tuple[int, ...]) -> bytes:
    """Bits of a unit: plain ones as text, numbers in the exponential Golomb code that H.264 has (9.1)."""
    bits = "".join(f"{int(each[2:]):0{int(each[:2])}b}" for each in head.split())
    for part in parts:
        if isinstance(part, str):
            bits += part if not part.startswith("e") else ""
        else:
            bits += "".join("0" * ((value + 1).bit_length() - 1) + f"{value + 1:b}" for value in part)
    bits += "1"
    bits += "0" * (-len(bits) % 8)
    raw = bytes(int(bits[at : at + 8], 2) for at in range(0, len(bits), 8))
    out, zeros = bytearray(), 0
    for byte in raw:  # no three bytes may look like a beginning
        if zeros >= 2 and byte <= 3:
            out.append(3)
            zeros = 0
        out.append(byte)
        zeros = zeros + 1 if byte == 0 else 0
    return bytes(out)
