"""Frames from an MP4's own tables: the same as from its packets, or not believed; never much time or memory."""

from __future__ import annotations

import struct
import sys
import time
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from tagger.film import index as indexing
from tagger.film.boxes import MOST_SAMPLES, SampleTable, sample_table
from tagger.film.errors import FilmError
from tagger.film.index import build_index
from tagger.film.sample_tables import N_HEAD, sampled_packets
from tagger.film.source import opened, picture_stream, time_base
from tagger.work.inspection import inspect_file
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe
from tests.film.mutator import mutate
from tests.film.recipes import KINDS

Packets = tuple[NDArray[np.int64], NDArray[np.bool_], int]
LONG = Recipe("tables-long", size=(64, 48), n_frames=700, gop=40)
LONG_HIDDEN = Recipe("tables-hidden", size=(64, 48), n_frames=500, gop=40, n_hidden=25)
LONG_VARIABLE = Recipe(
    "tables-variable",
    size=(64, 48),
    gop=40,
    times=tuple(Fraction(n * 33 + n % 3 * 7 + n // 20 * 250, 1000) for n in range(500)),
)
SPLIT = ("libvpx-vp9", "mpeg2video")  # what the library takes apart and puts together anew while reading
OF_TABLES = [kind for kind in KINDS if kind.suffix in (".mp4", ".mov", ".m4v")] + [LONG, LONG_HIDDEN, LONG_VARIABLE]


def through(path: Path) -> Packets | None:
    """What reading all packets gives."""
    with opened(path) as container:
        return indexing._read_packets(container, picture_stream(container, path), path, None, None)


def same(one: Packets, other: Packets | None) -> bool:
    return other is not None and all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))


@pytest.mark.parametrize("kind", OF_TABLES, ids=lambda kind: kind.name)
def test_the_tables_give_what_the_packets_give(kind: Recipe, film: MakeFilm, monkeypatch: pytest.MonkeyPatch) -> None:
    path, _ = film(kind)
    found = sampled_packets(path)
    if kind.codec in SPLIT or "frag" in kind.container_options.get("movflags", ""):
        assert found is None, "its packets are not its samples, or stand in several tables"
    else:
        assert found is not None and same(found, through(path))
    indexes = []
    for least in (0, 1 << 60):  # the same index, to the byte, from tables and from packets
        monkeypatch.setattr(indexing, "READ_THROUGH_BYTES", least)
        indexes.append(build_index(path).to_bytes())
    assert indexes[0] == indexes[1]


def test_a_camera_recording_is_read_from_its_tables(camera_film: Path) -> None:
    found = sampled_packets(camera_film)
    assert found is not None and same(found, through(camera_film))
    assert len(found[0]) == 250


@pytest.mark.parametrize(
    "kind", [Recipe("mutant-mp4", size=(160, 90), n_frames=40), LONG, LONG_HIDDEN], ids=lambda kind: kind.name
)
def test_of_a_broken_film_the_tables_say_the_same_or_are_not_believed(
    kind: Recipe, film: MakeFilm, tmp_path: Path
) -> None:
    """Key flags apart: in H.264 they come from the pictures, and a picture that was broken itself may lose its own."""
    whole = film(kind)[0].read_bytes()
    path = tmp_path / "broken.mp4"
    n_believed = 0
    for seed in range(120):
        what, data = mutate(whole, seed)
        path.write_bytes(data)
        try:
            found = sampled_packets(path)
        except FilmError:
            continue
        if found is None:
            continue
        n_believed += 1
        packets = through(path)
        assert packets is not None, what
        assert np.array_equal(found[0], packets[0]) and found[2] == packets[2], what
        assert not np.any(packets[1] & ~found[1]), f"{what}: reading finds a key frame that is not listed"
    assert n_believed > 5


def test_bits_turned_in_the_tables_are_noticed(film: MakeFilm, tmp_path: Path) -> None:
    whole = film(LONG_HIDDEN)[0].read_bytes()
    begin = whole.index(b"moov")
    path = tmp_path / "turned.mp4"
    random = np.random.default_rng(3)
    n_not = 0
    for _ in range(150):
        data = bytearray(whole)
        for at in random.integers(begin, len(data), random.integers(1, 4)):
            data[at] = int(random.integers(0, 256))
        path.write_bytes(data)
        try:
            found = sampled_packets(path)
        except FilmError:
            continue
        n_not += found is None
        assert found is None or same(found, through(path))
    assert n_not > 20


def _moov_first(path: Path, to: Path) -> Path:
    with av.open(str(path)) as source, av.open(str(to), "w", options={"movflags": "faststart"}) as target:
        stream = source.streams.video[0]
        made = target.add_stream_from_template(stream)
        for packet in source.demux(stream):
            if packet.dts is not None:
                packet.stream = made
                target.mux(packet)
    return to


def test_a_film_that_ends_before_its_tables_say_is_read_through(film: MakeFilm, tmp_path: Path) -> None:
    first = _moov_first(film(LONG)[0], tmp_path / "first.mp4")
    whole = sampled_packets(first)
    assert whole is not None and len(whole[0]) == 700
    first.write_bytes(first.read_bytes()[: -first.stat().st_size // 3])
    assert sampled_packets(first) is None
    assert 100 < build_index(first).n_frames < 650


def test_fragments_and_other_containers_are_read_through(film: MakeFilm, tmp_path: Path) -> None:
    parts = tmp_path / "fragments.mp4"
    with (
        av.open(str(film(LONG)[0])) as source,
        av.open(str(parts), "w", options={"movflags": "frag_keyframe+empty_moov"}) as target,
    ):
        made = target.add_stream_from_template(source.streams.video[0])
        for packet in source.demux(source.streams.video[0]):
            if packet.dts is not None:
                packet.stream = made
                target.mux(packet)
    assert sampled_packets(parts) is None
    assert build_index(parts).n_frames == 700
    for other in (Recipe("h264-mkv", suffix=".mkv", sound="ac3", n_channels=6), Recipe("h264-ts", suffix=".ts")):
        assert sampled_packets(film(other)[0]) is None


def test_a_film_whose_key_list_disagrees_with_its_pictures_is_read_through(film: MakeFilm, tmp_path: Path) -> None:
    data = bytearray(film(LONG)[0].read_bytes())
    at = data.index(b"stss")
    (third,) = struct.unpack_from(">I", data, at + 12 + 8)
    struct.pack_into(">I", data, at + 12 + 8, third + 1)
    path = tmp_path / "moved.mp4"
    path.write_bytes(data)
    assert sampled_packets(path) is None


def box(kind: bytes, *inside: bytes, size: int | None = None) -> bytes:
    body = b"".join(inside)
    return struct.pack(">I4s", len(body) + 8 if size is None else size, kind) + body


def full(kind: bytes, *fields: int) -> bytes:
    return box(kind, bytes(4), struct.pack(f">{len(fields)}I", *fields))


def track(**other: bytes) -> bytes:
    """A track of three samples of 10 bytes at the beginning of the file, some of its boxes replaced."""
    boxes = {
        "stsd": full(b"stsd", 1),
        "stts": full(b"stts", 1, 3, 100),
        "stsz": full(b"stsz", 10, 3),
        "stsc": full(b"stsc", 1, 1, 3, 1),
        "stco": full(b"stco", 1, 8),
        **other,
    }
    stbl = box(b"stbl", *boxes.values())
    media = box(b"mdia", full(b"mdhd", 0, 0, 1000, 300, 0), box(b"minf", stbl))
    return box(b"trak", full(b"tkhd", 0, 0, 7, 0), media)


def edited(*fields: int) -> bytes:
    """The same track with an edit list."""
    return box(b"trak", track()[8:], box(b"edts", full(b"elst", len(fields) // 3, *fields)))


def table_of(path: Path, *moov: bytes) -> SampleTable | None:
    path.write_bytes(box(b"mdat", bytes(30)) + box(b"moov", *moov))
    began = time.perf_counter()
    found = sample_table(path, 7)
    assert time.perf_counter() - began < 2
    return found


def test_the_smallest_table_says_what_it_says(tmp_path: Path) -> None:
    assert sample_table(tmp_path / "none.mp4", 7) is None
    found = table_of(tmp_path / "t.mp4", track())
    assert found is not None
    assert (found.timescale, found.edit) == (1000, None)
    assert (found.shown.tolist(), found.step.tolist()) == ([0, 100, 200], [100] * 3)
    assert (found.offset.tolist(), found.size.tolist()) == ([8, 18, 28], [10] * 3)
    assert found.key.all()


HUGE = 0xFFFFFFFF
HOSTILE = {
    "a count of times beyond the box": [track(stts=full(b"stts", HUGE, 3, 100))],
    "samples without end": [track(stsz=full(b"stsz", 10, HUGE), stts=full(b"stts", 1, HUGE, 1))],
    "one more than allowed": [track(stsz=full(b"stsz", 1, MOST_SAMPLES + 1))],
    "sizes beyond the box": [track(stsz=full(b"stsz", 0, 1000, 10))],
    "a run that repeats for ever": [track(stts=full(b"stts", 2, HUGE, 1, HUGE, 1))],
    "chunks beyond the box": [track(stco=full(b"stco", HUGE, 8))],
    "a chunk that holds everything": [track(stsc=full(b"stsc", 1, 1, HUGE, 1))],
    "runs of chunks that go back": [track(stsc=full(b"stsc", 2, 2, 1, 1, 1, 2, 1))],
    "samples beyond the end": [track(stco=full(b"stco", 1, 1 << 30))],
    "samples upon each other": [track(stsc=full(b"stsc", 1, 1, 1, 1), stco=full(b"stco", 3, 8, 8, 8))],
    "offsets of 64 bits that turn negative": [track(stco=box(b"co64", bytes(4), struct.pack(">IQ", 1, (1 << 64) - 8)))],
    "keys out of order": [track(stss=full(b"stss", 2, 3, 1))],
    "a key that is not there": [track(stss=full(b"stss", 1, 4))],
    "two descriptions": [track(stsd=full(b"stsd", 2))],
    "no sizes": [track(stsz=b"")],
    "no time": [track().replace(full(b"mdhd", 0, 0, 1000, 300, 0), full(b"mdhd", 0, 0, 0, 300, 0))],
    "a box larger than its parent": [box(b"trak", box(b"tkhd", size=1 << 30))],
    "a box smaller than its head": [box(b"trak", box(b"tkhd", size=3))],
    "a size of 64 bits without end": [struct.pack(">I4sQ", 1, b"trak", (1 << 64) - 1)],
    "nothing but heads": [b"\0\0\0\x08free" * 200_000],
    "boxes in boxes": [b"".join(struct.pack(">I4s", 80_000 - 8 * n, b"trak") for n in range(10_000))],
    "two tracks of one number": [track(), track()],
    "fragments to come": [track(), box(b"mvex")],
    "two edits": [full(b"mvhd", 0, 0, 600, 0), edited(100, 0, 1 << 16, 100, 100, 1 << 16)],
    "an edit at half speed": [full(b"mvhd", 0, 0, 600, 0), edited(100, 0, 1 << 15)],
}


@pytest.mark.parametrize("name", list(HOSTILE))
def test_hostile_tables_are_not_believed(name: str, tmp_path: Path) -> None:
    assert table_of(tmp_path / "hostile.mp4", *HOSTILE[name]) is None


@pytest.mark.parametrize(
    "head", [b"\0\0\0\0moov", struct.pack(">I4sQ", 1, b"moov", 1 << 62), struct.pack(">I4s", 1 << 31, b"moov"), b"\0\0"]
)
def test_a_moov_without_an_end_is_not_believed(head: bytes, tmp_path: Path) -> None:
    path = tmp_path / "torn.mp4"
    path.write_bytes(head + bytes(500))
    assert sample_table(path, 7) is None


def test_edits_say_which_stretch_is_shown(tmp_path: Path) -> None:
    header = full(b"mvhd", 0, 0, 600, 0)
    found = table_of(tmp_path / "edit.mp4", header, edited(300, HUGE, 1 << 16, 121, 100, 1 << 16))
    assert found is not None and found.edit == (100, 302)  # 121 of 600 a second are 201.7 ms


def again_and_again(source: Path, target: Path, turns: int) -> Path:
    """A film's packets written many times, one turn after the other."""
    with av.open(str(source)) as read:
        stream = read.streams.video[0]
        packets = [packet for packet in read.demux(stream) if packet.size]
        times = [(packet.pts or 0, packet.dts or 0) for packet in packets]
        length = len(packets) * (times[1][1] - times[0][1])
        with av.open(str(target), "w") as write:
            made = write.add_stream_from_template(stream)
            for turn in range(turns):
                for packet, (pts, dts) in zip(packets, times, strict=True):
                    packet.pts, packet.dts, packet.stream = pts + turn * length, dts + turn * length, made
                    packet.time_base = time_base(stream)
                    write.mux(packet)
    return target


def test_a_film_of_two_hours_is_listed_within_a_second(film: MakeFilm, tmp_path: Path) -> None:
    """216,000 frames: a short film's packets written again and again. Its packets take several times as long."""
    source = film(Recipe("tables-hour", size=(64, 48), n_frames=600, gop=30, rate=Fraction(30), sound=None))[0]
    path = again_and_again(source, tmp_path / "hours.mp4", 360)
    began = time.process_time()
    found = sampled_packets(path)
    took_s = time.process_time() - began
    assert found is not None and len(found[0]) == 216_000 > N_HEAD
    assert took_s < 1.0
    assert same(found, through(path))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells a process how much it has read")
def test_a_small_part_of_a_film_is_read_before_it_can_be_tagged(film: MakeFilm, tmp_path: Path) -> None:
    def n_read() -> int:
        return int(Path("/proc/self/io").read_text(encoding="ascii").split("rchar: ")[1].split()[0])

    source = film(Recipe("tables-heavy", size=(640, 360), codec="mjpeg", pix_fmt="yuvj420p", n_frames=40, sound=None))
    path = again_and_again(source[0], tmp_path / "heavy.mov", 80)
    size = path.stat().st_size
    assert size > 4 * indexing.READ_THROUGH_BYTES
    before = n_read()
    seen = inspect_file(path)
    assert seen.index.n_frames == 3200
    assert n_read() - before < size / 4
