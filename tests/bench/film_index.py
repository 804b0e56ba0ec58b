"""Indexing against a bare demux of the same file, and looking through it against decoding it.

An MP4 is indexed from its own tables, which takes a small part of reading it; a transport stream has none and is read.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import av

from tagger.film.index import build_index
from tagger.film.scan import scan_pictures
from tests.bench.figure import Figure, at_least, at_most
from tests.bench.heavy import camera_like, looped, paired

NAME = "film-index"
ABOUT = "indexing a film against only reading its packets; looking through it against only decoding it"


def run() -> list[Figure]:
    """Figures of a ten-minute 720p film, and of 20 s of 1080p."""
    with tempfile.TemporaryDirectory() as folder:
        minute = camera_like(Path(folder, "minute.mp4"), seconds=60, size=(1280, 720), bit_rate=3_000_000)
        film = looped(minute, Path(folder, "ten.mp4"), 10)
        listing = paired(lambda: build_index(film), lambda: _demux(film), 9)
        stream = looped(minute, Path(folder, "ten.ts"), 10)
        indexing = paired(lambda: build_index(stream), lambda: _demux(stream), 9)
        heavy = camera_like(Path(folder, "heavy.mp4"), seconds=20)
        index = build_index(heavy)
        looking = paired(lambda: scan_pictures(heavy, index), lambda: _decode(heavy))
    return [
        Figure("bare demux, 10 min of MP4", listing.other_s, "s"),
        Figure("index, 10 min of MP4", listing.one_s, "s"),
        at_least("index speed by demux speed, MP4", 1 / listing.ratio, "times", 0.9),
        Figure("the same by processor time", 1 / listing.cpu_ratio, "times"),
        Figure("bare demux, 10 min of TS", indexing.other_s, "s"),
        Figure("index, 10 min of TS", indexing.one_s, "s"),
        at_least("index speed by demux speed, TS", 1 / indexing.ratio, "times", 0.9),
        Figure("the same by processor time", 1 / indexing.cpu_ratio, "times"),
        Figure("decode, 20 s of 1080p", looking.other_s, "s"),
        Figure("look through, 20 s of 1080p", looking.one_s, "s"),
        at_most("looking through on top of decoding", (looking.ratio - 1) * 100, "%", 15),
        Figure("the same by processor time", (looking.cpu_ratio - 1) * 100, "%"),
    ]


def _demux(path: Path) -> int:
    with av.open(str(path)) as container:
        return sum(1 for _ in container.demux(video=0))


def _decode(path: Path) -> int:
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "AUTO"
        return sum(1 for _ in container.decode(video=0))
