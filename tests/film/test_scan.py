"""What a look through a film finds."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from tagger.film.damage import damage_of
from tagger.film.errors import FilmStopped
from tagger.film.index import build_index
from tagger.film.probe import probe
from tagger.film.scan import STANDING_CHANGE, scan_pictures
from tests.counts import cases
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe, make
from tests.film.recipes import KINDS, PLAIN

BY_NAME = {kind.name: kind for kind in KINDS}
BLACK, STANDING, CUTS = (20, 30), (55, 75), (40, 90)


def staged(number: int, picture: NDArray[np.uint8]) -> None:
    """A slow pan with two cuts, a black stretch and a standing picture in it."""
    if BLACK[0] <= number < BLACK[1]:
        picture[:] = 0
        return
    held = min(max(number, STANDING[0]), STANDING[1] - 1) - STANDING[0]
    at = number - held  # the camera stands still, and goes on from there
    random = np.random.default_rng(sum(number >= cut for cut in CUTS))
    wall = random.integers(0, 255, (20, 60, 3), dtype=np.uint8)
    large = np.kron(wall, np.ones((18, 18, 1), dtype=np.uint8))
    picture[:] = large[: picture.shape[0], 3 * at : 3 * at + picture.shape[1]]


@pytest.mark.parametrize("codec", ["libx264", "libx265", "mjpeg"])
def test_black_standing_and_cut_are_found_where_they_are(codec: str, tmp_path: Path) -> None:
    pix_fmt = {"libx264": "yuv420p", "libx265": "yuv420p10le", "mjpeg": "yuvj420p"}[codec]
    suffix = ".mov" if codec == "mjpeg" else ".mp4"
    recipe = Recipe("staged", suffix=suffix, codec=codec, pix_fmt=pix_fmt, n_frames=110, size=(640, 360), sound=None)
    path = make(recipe, tmp_path, change=staged)
    index = build_index(path)
    scan = scan_pictures(path, index)
    assert scan.black == (BLACK,)
    assert scan.cuts == CUTS
    ((start, end),) = scan.standing
    assert STANDING[0] < start <= STANDING[0] + 6, "a lossy codec still refines a picture that stands"
    assert end == STANDING[1]
    assert scan.lost == ()
    assert scan.change.shape == (110,)


FROZEN = (60, 100)


def wide(number: int, picture: NDArray[np.uint8]) -> None:
    """A whole floor from a camera that stands still: ten players the size of a thumbnail walk, and once all freezes."""
    at = number if number < FROZEN[0] else max(FROZEN[0] - 1, number - (FROZEN[1] - FROZEN[0]))
    random = np.random.default_rng(7)
    floor = random.integers(90, 130, (picture.shape[0] // 20, picture.shape[1] // 20), dtype=np.uint8)
    picture[:] = np.kron(floor, np.ones((20, 20), dtype=np.uint8))[..., None]
    for player in range(10):
        x, y = random.integers(80, picture.shape[1] - 200), random.integers(60, picture.shape[0] - 80)
        left = x + round(1.2 * at * (1 if player % 2 else -0.6))
        picture[y : y + 30, left : left + 12] = 60 if player % 2 else 190


@pytest.mark.parametrize("codec", ["libx264", "libx265", "mpeg4", "mjpeg"][: cases(1, many=4)])
def test_small_players_in_a_wide_picture_are_no_standing_picture_and_a_freeze_is(codec: str, tmp_path: Path) -> None:
    pix_fmt = {"libx265": "yuv420p10le", "mjpeg": "yuvj420p"}.get(codec, "yuv420p")
    recipe = Recipe(
        "wide", suffix=".mov" if codec == "mjpeg" else ".mp4", codec=codec, pix_fmt=pix_fmt, n_frames=160,
        size=(1280, 720), sound=None,
    )  # fmt: skip
    path = make(recipe, tmp_path, change=wide)
    scan = scan_pictures(path, build_index(path))
    ((start, end),) = scan.standing
    assert FROZEN[0] <= start <= FROZEN[0] + 8, "a lossy codec still refines a picture that stands"
    assert FROZEN[1] - 1 <= end <= FROZEN[1], "or lets the next picture shine through"
    walking = np.concatenate([scan.change[1 : FROZEN[0]], scan.change[FROZEN[1] :]])
    assert np.median(walking) < STANDING_CHANGE, "the mean of the whole picture hardly shows them"


def test_cuts_of_a_camera_recording(camera_film: Path) -> None:
    """The five cuts were found by eye, in the pictures before and after each."""
    scan = scan_pictures(camera_film, build_index(camera_film))
    assert scan.cuts == (30, 76, 137, 187, 242)
    assert (scan.black, scan.standing, scan.lost) == ((), (), ())


def test_every_kind_of_film_can_be_looked_through(film: MakeFilm) -> None:
    for name in ("prores", "mpeg2-interlaced", "h264-avi", "vp9-webm", "h264-422", "phone-upright", "hidden-beginning"):
        path, index = film(BY_NAME[name])
        scan = scan_pictures(path, index)
        assert scan.lost == (), name
        assert len(scan.change) == index.n_frames
        assert scan.change[1:].min() > 0.2, name


def test_damaged_frames_are_listed_and_the_rest_stays(film: MakeFilm, tmp_path: Path) -> None:
    whole, index = film(Recipe("to-be-damaged", n_frames=100, gop=10, b_frames=0, sound=None))
    with av.open(str(whole)) as container:
        packets = [(packet.pos, packet.size) for packet in container.demux(video=0) if packet.size]
    data = bytearray(whole.read_bytes())
    for frame in (33, 50, 71):
        pos, size = packets[frame]
        assert pos is not None
        for place in range(20, size, max(1, size // 6)):
            data[pos + place] ^= 0x5A
    path = tmp_path / "damaged.mp4"
    path.write_bytes(data)
    torn = build_index(path)
    scan = scan_pictures(path, torn)
    assert torn.n_frames == index.n_frames
    assert scan.lost == ((33, 34), (50, 51), (71, 72))
    damage = damage_of(probe(path), torn, scan)
    assert [(each.kind, each.start_ms, each.end_ms) for each in damage] == [
        ("lost", 1320, 1360),
        ("lost", 2000, 2040),
        ("lost", 2840, 2880),
    ]
    assert damage[0].line == "1 frame damaged from 0:01"


def test_a_cut_off_file_and_a_hole_are_damage_too(film: MakeFilm, tmp_path: Path) -> None:
    source, _ = film(Recipe("to-be-cut", n_frames=250, container_options={"movflags": "+faststart"}, size=(160, 90)))
    data = source.read_bytes()
    short = tmp_path / "short.mp4"
    short.write_bytes(data[: len(data) * 2 // 3])
    index = build_index(short)
    (cut_off,) = damage_of(probe(short), index)
    assert (cut_off.kind, cut_off.end_ms) == ("cut off", 10_000)
    assert 3000 < cut_off.start_ms == index.duration_ms
    assert "of 0:10" in cut_off.line

    stream, _ = film(Recipe("to-be-holed", suffix=".ts", n_frames=250, size=(160, 90), sound=None))
    data = stream.read_bytes()
    holed = tmp_path / "holed.ts"
    holed.write_bytes(data[: len(data) // 3] + data[len(data) * 2 // 3 :])
    kinds = [each.kind for each in damage_of(probe(holed), build_index(holed))]
    assert "gap" in kinds
    path, index = film(PLAIN)
    assert damage_of(probe(path), index) == ()


def test_looking_through_can_be_stopped(film: MakeFilm) -> None:
    with pytest.raises(FilmStopped):
        scan_pictures(*film(PLAIN), stop=lambda: True)
