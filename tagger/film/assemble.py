"""Joining the pieces of a viewing copy with the original's sound, by copying packets."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.film.errors import FilmError, FilmStopped, from_os
from tagger.film.pieces import Piece, Work
from tagger.film.showing import time_of
from tagger.film.sound import sound_stream
from tagger.film.soundtrack import SoundCopy, SoundEncode, sound_mover
from tagger.film.source import opened, packets_of, time_base
from tagger.film.writer import PartFile
from tagger.progress import Stop

if TYPE_CHECKING:
    from av.container import OutputContainer
    from av.packet import Packet
    from av.video.stream import VideoStream


def assemble(work: Work, pieces: list[Piece], target: Path, stop: Stop | None) -> int:
    """Join pieces and the original's sound into one MP4.

    Parameters
    ----------
    work : Work
        The copy in the making.
    pieces : list of Piece
        Those to join, from the first one on.
    target : Path
        The MP4 to write.
    stop : callable, optional
        Asked after every piece.

    Returns
    -------
    int
        Size in bytes.

    Raises
    ------
    FilmError
        Nothing is left behind then.
    """
    import av

    file = PartFile(target)
    pieces = [piece for piece in pieces if piece.path.is_file()]
    end_s = time_of(work.index, pieces[-1].end_frame - 1) + Fraction(1, 25)
    try:
        with av.open(file.begin(), "w", format="mp4", options={"movflags": "+faststart"}) as made:
            _join(work, pieces, made, end_s, stop)
    except (av.error.FFmpegError, OSError) as error:
        file.drop()
        if isinstance(error, FilmError):
            raise
        raise from_os(error if isinstance(error, OSError) else OSError(str(error)), target) from error
    except BaseException:
        file.drop()
        raise
    return file.keep()


def _join(work: Work, pieces: list[Piece], made: OutputContainer, end_s: Fraction, stop: Stop | None) -> None:
    import av

    picture: VideoStream | None = None
    with opened(work.source) as taken:
        sound = sound_stream(taken)
        sounds: SoundCopy | SoundEncode | None = None
        packets: Iterator[Packet] = iter(())
        for piece in pieces:
            begin_s = time_of(work.index, piece.start_frame)
            with av.open(str(piece.path)) as part:
                old = part.streams.video[0]
                if picture is None:
                    picture = made.add_stream_from_template(old, opaque=True)
                    if sound is not None:
                        sounds = sound_mover(sound, made, work.facts, work.index)
                        packets = packets_of(taken, sound)
                shift = round(begin_s / time_base(old))
                for packet in packets_of(part, old):
                    if packet.size == 0 or packet.pts is None or packet.dts is None:
                        continue
                    packet.pts, packet.dts = packet.pts + shift, packet.dts + shift
                    packet.stream = picture
                    at_s = packet.pts * time_base(old)
                    made.mux_one(packet)
                    if sounds is not None:
                        _sound_until(made, sounds, packets, work, at_s + 1)
            if stop is not None and stop():
                raise FilmStopped("making the viewing copy was stopped", work.target, "it goes on where it was")
        if sounds is not None:
            _sound_until(made, sounds, packets, work, end_s)
            for ready in sounds.rest():
                made.mux_one(ready)


def _sound_until(
    made: OutputContainer, sounds: SoundCopy | SoundEncode, packets: Iterator[Packet], work: Work, until_s: Fraction
) -> None:
    """Bring over the original's sound up to a time of the copy (s)."""
    origin_s = int(work.index.pts[0]) * work.index.time_base
    while True:
        packet = next(packets, None)
        if packet is None:
            return
        if packet.size == 0 or packet.pts is None:
            continue
        at_s = packet.pts * Fraction(packet.time_base) - origin_s  # before it is moved
        for ready in sounds.take(packet):
            made.mux_one(ready)
        if at_s >= until_s:
            return
