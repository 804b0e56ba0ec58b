"""Film sent in pieces: in any order, again, damaged, cut off; it is film to nobody before it is whole."""

from __future__ import annotations

import os
import shutil
import stat
import sys
import zlib
from pathlib import Path

import numpy as np
import pytest

from tagger.film.errors import DiskFull, NotFilm
from tagger.season import Season
from tagger.work.arrivals import (
    FOLDER,
    KEPT_S,
    MOST_AT_ONCE,
    MOST_BEGUN,
    RESTS_AFTER_S,
    Arrivals,
    TooManyArrivals,
    suffix_of,
)
from tagger.work.doing import tidy
from tagger.work.parcel import Arrival, NoArrival, OtherFile, Sent, StrayPiece, TornPiece

PIECE = 1000
DATA = b"\0\0\0\x18ftypmp42" + np.random.default_rng(1).bytes(4488)  # five pieces, the last one of 500 bytes


class Times:
    """Clocks that a test turns."""

    def __init__(self) -> None:
        self.now = 1000.0
        self.wall = 1_774_000_000.0


@pytest.fixture
def times() -> Times:
    return Times()


@pytest.fixture
def arrivals(tmp_path: Path, times: Times) -> Arrivals:
    return made(tmp_path, times)


def made(tmp_path: Path, times: Times) -> Arrivals:
    return Arrivals(tmp_path / "film", clock=lambda: times.now, wall=lambda: times.wall, piece_bytes=PIECE)


def sent(data: bytes = DATA, label: str = "IMG_1.MOV") -> Sent:
    last = (len(data) - 1) // PIECE * PIECE
    return Sent(len(data), zlib.crc32(data[:PIECE]), zlib.crc32(data[last:]), ".mov", label, {"game": "g1"})


def put(arrivals: Arrivals, id_: str, n: int, data: bytes = DATA) -> Arrival:
    piece = data[n * PIECE : (n + 1) * PIECE]
    return arrivals.take(id_, n * PIECE, piece, zlib.crc32(piece))


def test_pieces_may_come_in_any_order_and_again(arrivals: Arrivals, tmp_path: Path) -> None:
    begun = arrivals.begin(sent())
    assert begun.missing == ((0, 5),) and begun.there_bytes == 0
    seen = [put(arrivals, begun.id, n).missing for n in (3, 0, 3, 4, 0)]
    assert seen == [((0, 3), (4, 5)), ((1, 3), (4, 5)), ((1, 3), (4, 5)), ((1, 3),), ((1, 3),)]
    assert arrivals.get(begun.id).there_bytes == 2500
    with pytest.raises(StrayPiece, match="not all of it has come yet"):
        arrivals.finish(begun.id)
    put(arrivals, begun.id, 2)
    assert put(arrivals, begun.id, 1).whole
    path = arrivals.finish(begun.id)
    assert path.read_bytes() == DATA
    assert (path.parent, path.name) == (tmp_path / "film", "sent-2026-03-20-1.mov")
    assert arrivals.all() == [] and list((tmp_path / "film" / FOLDER).iterdir()) == []
    with pytest.raises(NoArrival):
        arrivals.finish(begun.id)


def test_what_does_not_fit_is_not_taken(arrivals: Arrivals, tmp_path: Path) -> None:
    begun = arrivals.begin(sent())
    first = DATA[:PIECE]
    for at, data in ((1, first), (-1000, first), (5000, first), (1 << 70, first), (500, first), (4000, first)):
        with pytest.raises(StrayPiece):
            arrivals.take(begun.id, at, data, zlib.crc32(data))
    for data in (DATA[:999], DATA[:1001], b""):
        with pytest.raises(StrayPiece):
            arrivals.take(begun.id, 0, data, zlib.crc32(data))
    with pytest.raises(TornPiece, match=r"IMG_1\.MOV: a piece came damaged"):
        arrivals.take(begun.id, 1000, b"x" * PIECE, zlib.crc32(DATA[1000:2000]))
    assert arrivals.get(begun.id).missing == ((0, 5),)
    assert (tmp_path / "film" / FOLDER / begun.id / "film.part").stat().st_size == 0


def test_another_files_pieces_are_refused(arrivals: Arrivals) -> None:
    begun = arrivals.begin(sent())
    put(arrivals, begun.id, 2)
    other = b"y" * PIECE
    for at in (2000, 0, 4000):
        data = other[:500] if at == 4000 else other
        with pytest.raises(OtherFile, match="this is another file than the one that was begun"):
            arrivals.take(begun.id, at, data, zlib.crc32(data))
    assert arrivals.get(begun.id).missing == ((0, 2), (3, 5))


def test_sending_goes_on_after_a_new_start_of_the_program(tmp_path: Path, times: Times) -> None:
    before = made(tmp_path, times)
    begun = before.begin(sent())
    for n in (0, 1):
        put(before, begun.id, n)
    after = made(tmp_path, times)
    again = after.begin(sent(label="renamed meanwhile.mov"))
    assert (again.id, again.missing, again.sent.label) == (begun.id, ((2, 5),), "renamed meanwhile.mov")
    other = after.begin(sent(DATA[:-1] + b"!"))
    assert other.id != begun.id and other.missing == ((0, 5),)


def test_a_piece_that_was_being_written_when_the_program_ended_is_sent_again(
    tmp_path: Path, times: Times, monkeypatch: pytest.MonkeyPatch
) -> None:
    arrivals = made(tmp_path, times)
    begun = arrivals.begin(sent())
    put(arrivals, begun.id, 0)
    n_writes = 0

    def ends(file: int) -> None:
        nonlocal n_writes
        n_writes += 1
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", ends)
    with pytest.raises(KeyboardInterrupt):
        put(arrivals, begun.id, 1)
    monkeypatch.undo()
    after = made(tmp_path, times)
    assert n_writes == 1 and after.begin(sent()).missing == ((1, 5),)
    for n in range(1, 5):
        put(after, begun.id, n)
    assert after.finish(begun.id).read_bytes() == DATA


def test_only_so_many_send_at_once_and_a_turn_ends_by_silence_or_pause(arrivals: Arrivals, times: Times) -> None:
    files = [sent(DATA[:-1] + bytes([n])) for n in range(MOST_AT_ONCE + 1)]
    begun = [arrivals.begin(one) for one in files[:-1]]
    with pytest.raises(TooManyArrivals, match="3 films are being sent already"):
        arrivals.begin(files[-1])
    assert len(arrivals.all()) == MOST_AT_ONCE, "what has to wait is not begun"
    put(arrivals, begun[0].id, 1)
    arrivals.rest(begun[1].id)
    late = arrivals.begin(files[-1])
    with pytest.raises(TooManyArrivals):
        put(arrivals, begun[1].id, 1)
    times.now += RESTS_AFTER_S + 1
    assert not arrivals.is_coming(late.id)
    assert put(arrivals, begun[1].id, 1).missing == ((0, 1), (2, 5))


def test_only_so_many_are_begun(arrivals: Arrivals) -> None:
    for n in range(MOST_BEGUN):
        arrivals.rest(arrivals.begin(sent(DATA[:-1] + bytes([n]))).id)
    with pytest.raises(TooManyArrivals, match="clear them first"):
        arrivals.begin(sent(DATA[:-1] + b"\xff"))


def test_room_is_checked_for_all_that_is_still_to_come(arrivals: Arrivals, monkeypatch: pytest.MonkeyPatch) -> None:
    free = 200_000_000 + 6000
    usage = shutil.disk_usage(arrivals.film_folder.parent)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: usage._replace(free=free))
    begun = arrivals.begin(sent())
    with pytest.raises(DiskFull, match=r"^two\.mp4: needs up to 9 kB, and only 200.0 MB are free; make room"):
        arrivals.begin(sent(DATA[:-1] + b"!", label="two.mp4"))
    assert [one.id for one in arrivals.all()] == [begun.id]
    for n in range(4):
        put(arrivals, begun.id, n)
    arrivals.begin(sent(DATA[:-1] + b"!", label="two.mp4"))


def test_what_is_plainly_no_film_ends_with_its_first_piece(arrivals: Arrivals) -> None:
    text = b"Minutes of the meeting. " * 200
    begun = arrivals.begin(sent(text, label="minutes.mp4"))
    with pytest.raises(NotFilm, match=r"^minutes\.mp4: this is text, not a film"):
        put(arrivals, begun.id, 0, text)
    assert arrivals.all() == []
    with pytest.raises(NotFilm, match="empty"):
        arrivals.begin(Sent(0, 0, 0, ".mp4", "nothing.mp4"))
    zeros = bytes(3000)
    begun = arrivals.begin(sent(zeros))
    assert put(arrivals, begun.id, 0, zeros).missing == ((1, 3),)


def test_old_ones_are_cleared_and_lately_sent_ones_stay(arrivals: Arrivals, times: Times, tmp_path: Path) -> None:
    old, new = arrivals.begin(sent()), arrivals.begin(sent(DATA[:-1] + b"!"))
    for id_, age_s in ((old.id, KEPT_S + 60), (new.id, KEPT_S - 60)):
        for path in (tmp_path / "film" / FOLDER / id_).iterdir():
            os.utime(path, (times.wall - age_s, times.wall - age_s))
    assert arrivals.clear_old() == 0, "both are being sent"
    times.now += RESTS_AFTER_S + 1
    assert arrivals.clear_old() == 1
    assert [one.id for one in arrivals.all()] == [new.id]
    arrivals.clear(new.id)
    assert arrivals.all() == []
    with pytest.raises(NoArrival, match="choose its file again"):
        put(arrivals, new.id, 1)


def test_whole_files_that_nobody_wants_are_cleared_after_days(arrivals: Arrivals, times: Times, tmp_path: Path) -> None:
    paths = []
    for n in range(3):
        data = DATA[:-1] + bytes([n])
        begun = arrivals.begin(sent(data))
        for piece in range(5):
            put(arrivals, begun.id, piece, data)
        paths.append(arrivals.finish(begun.id))
    assert [path.name[-6:] for path in paths] == ["-1.mov", "-2.mov", "-3.mov"]
    for path, age_s in zip(paths, (KEPT_S + 60, KEPT_S + 60, 60), strict=True):
        os.utime(path, (times.wall - age_s, times.wall - age_s))
    (tmp_path / "film" / "other.mp4").write_bytes(b"x")
    os.utime(tmp_path / "film" / "other.mp4", (0, 0))
    assert arrivals.clear_unused({paths[0].name}) == 1
    assert sorted(path.name for path in (tmp_path / "film").iterdir() if path.is_file()) == [
        "other.mp4",
        paths[0].name,
        paths[2].name,
    ]


@pytest.mark.parametrize("id_", ["", "..", "../../etc", "0" * 15, "0" * 16, "G" * 16, "0" * 16 + "\n", None, 3])
def test_nothing_but_an_id_given_here_is_an_arrival(arrivals: Arrivals, id_: object) -> None:
    with pytest.raises(NoArrival):
        arrivals.get(id_)  # type: ignore[arg-type]


def test_a_torn_note_is_no_arrival(arrivals: Arrivals, tmp_path: Path) -> None:
    begun = arrivals.begin(sent())
    (tmp_path / "film" / FOLDER / begun.id / "about.json").write_text("{", encoding="utf-8")
    with pytest.raises(NoArrival):
        put(arrivals, begun.id, 0)
    assert arrivals.all() == []


def test_names_give_a_suffix_and_nothing_else() -> None:
    known = frozenset({".mp4", ".mov", ".m2ts"})
    for name, suffix in (("a.MOV", ".mov"), ("b.m2ts", ".m2ts"), ("../x.mp4", ".mp4"), ("c.exe", ".mp4")):
        assert suffix_of(name, known) == suffix
    for odd in ("", "mp4", ".", None, 3, "x.mov/../y", "x" * 5000 + ".mov\0"):
        assert suffix_of(odd, known) == ".mp4"


def test_the_queues_tidying_leaves_what_is_being_sent(herons: Season) -> None:
    arrivals = Arrivals(herons.folder / "film", piece_bytes=PIECE)
    begun = arrivals.begin(sent())
    put(arrivals, begun.id, 2)
    tidy(herons)
    assert arrivals.get(begun.id).missing == ((0, 2), (3, 5))


def test_a_disk_that_fills_up_while_a_piece_is_written_is_said(
    arrivals: Arrivals, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = arrivals.begin(sent())

    def full(file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(DiskFull, match=r"^IMG_1\.MOV: the disk is full; what had come of it was removed; make room"):
        put(arrivals, begun.id, 1)
    with pytest.raises(DiskFull, match=r"^two\.MOV: the disk is full"):
        arrivals.begin(sent(DATA[:-1] + b"!", label="two.MOV"))
    monkeypatch.undo()
    assert left(arrivals) == [], "the journal needs the room"
    again = arrivals.begin(sent())
    assert again.missing == ((0, 5),)
    for n in range(5):
        put(arrivals, again.id, n)
    path = arrivals.finish(again.id)
    assert path.read_bytes() == DATA and left(arrivals) == []
    if sys.platform != "win32":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, "it is its owner's"


def left(arrivals: Arrivals) -> list[Path]:
    """What lies among the arrivals."""
    return list((arrivals.film_folder / FOLDER).rglob("*"))
