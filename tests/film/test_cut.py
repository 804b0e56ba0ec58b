"""Reels of several clips."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from tagger.film.cut import Clip, write_reel
from tagger.film.errors import BadClip, FilmError, FilmMissing, FilmStopped
from tagger.film.index import build_index
from tagger.film.probe import probe
from tests.film.conftest import MakeFilm
from tests.film.maker import RATE_HZ, Recipe, read_number, read_sound, sound_at, sound_offset_s
from tests.film.recipes import INTERLACED, PLAIN, SILENT, TALL, VARIABLE

TAGGED = Recipe(
    "with-place",
    suffix=".mov",
    metadata={"location": "+49.2827-123.1207/", "make": "Somephone", "com.apple.quicktime.model": "X", "title": "home"},
    container_options={"movflags": "+use_metadata_tags"},
    size=(640, 360),
)


def test_clips_of_different_films_stand_one_after_the_other_exactly(film: MakeFilm, tmp_path: Path) -> None:
    plain, variable, silent, tall, fields = (film(kind) for kind in (PLAIN, VARIABLE, SILENT, TALL, INTERLACED))
    clips = [
        Clip(*plain, 5, 30, "Heron 14, goal"),
        Clip(*variable, 17, 45, "14, wide"),
        Clip(*silent, 0, 15, "no sound here"),
        Clip(*tall, 9, 21, "from a phone"),
        Clip(*fields, 3, 20, "interlaced"),
        Clip(*plain, 49, 50, "one frame"),
    ]
    said: list[float] = []
    reel = write_reel(clips, tmp_path / "reel.mp4", height_px=240, progress=lambda done, text: said.append(done))
    # the widest shape is 16:9 (320 x 180); the tallest picture 320 high, so 240 stands: 427 -> 426 or 428 wide
    assert reel.height == 240
    assert reel.width in (426, 428)
    numbers, times = _numbers_and_times(reel.path, clips)
    expected = [n for clip in clips for n in range(clip.start_frame, clip.end_frame)]
    assert numbers == expected
    assert reel.n_frames == len(expected) == reel.parts[-1].end_frame
    at_s = Fraction(0)
    due: list[Fraction] = []
    for clip, part in zip(clips, reel.parts, strict=True):
        assert part.label == clip.label
        assert part.end_frame - part.start_frame == clip.n_frames
        assert part.start_ms == round(at_s * 1000)
        pts = clip.index.pts[clip.start_frame : clip.end_frame] - clip.index.pts[clip.start_frame]
        due += [at_s + int(unit) * clip.index.time_base for unit in pts]
        at_s += clip.length_s
    assert max(abs(a - b) for a, b in zip(times, due, strict=True)) <= Fraction(1, 50_000)
    assert reel.duration_ms == round(at_s * 1000)
    assert said == sorted(said)
    assert said[-1] == 1.0


def test_every_clips_sound_stands_at_its_own_place(film: MakeFilm, tmp_path: Path) -> None:
    plain, variable, silent = film(PLAIN), film(VARIABLE), film(SILENT)
    clips = [Clip(*plain, 5, 30), Clip(*silent, 0, 12), Clip(*variable, 17, 45), Clip(*plain, 30, 50)]
    reel = write_reel(clips, tmp_path / "reel.mp4")
    starts_s, heard = read_sound(reel.path)
    assert starts_s == 0
    for clip, part in zip(clips, reel.parts, strict=True):
        piece = heard[part.start_ms * 48 : part.end_ms * 48]
        if clip.path == silent[0]:
            assert np.abs(piece[2000:-2000]).max() < 0.02
            continue
        film_s = Fraction(clip.index.at_ms(clip.start_frame), 1000)
        assert abs(sound_offset_s(piece, sound_at(film_s, len(piece)))) <= 1024 / RATE_HZ


def test_a_reel_says_nothing_of_place_or_device(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(TAGGED)
    with av.open(str(path)) as container:
        assert "Somephone" in container.metadata.values(), "the source must carry it for the test to mean anything"
    reel = write_reel([Clip(path, index, 0, 20, "goal")], tmp_path / "reel.mp4")
    data = reel.path.read_bytes()
    for word in (b"Somephone", b"49.28", b"quicktime", b"home", b"creation_time", b"\xa9xyz", b"loci"):
        assert word not in data
    assert data.index(b"moov") < data.index(b"mdat"), "the table stands in front, so that playing can begin at once"


def test_a_reel_is_what_phones_play(film: MakeFilm, tmp_path: Path) -> None:
    reel = write_reel([Clip(*film(TAGGED), 0, 20)], tmp_path / "reel.mp4")
    facts = probe(reel.path)
    assert (facts.container, facts.video_codec, facts.pix_fmt, facts.audio_codec) == ("mp4", "h264", "yuv420p", "aac")
    assert (facts.width, facts.height) == (640, 360), "smaller film is not blown up"
    assert facts.as_it_lies
    with av.open(str(reel.path)) as container:
        assert container.streams.video[0].profile == "High"
    assert re.fullmatch(r"ftyp(isom|mp42|iso.)", reel.path.read_bytes()[4:12].decode("ascii"))


def test_an_overlay_is_drawn_on_every_picture(film: MakeFilm, tmp_path: Path) -> None:
    asked: list[tuple[int, int]] = []

    def overlay(picture: NDArray[np.uint8], clip: int, frame: int) -> NDArray[np.uint8]:
        asked.append((clip, frame))
        picture[-40:] = (255, 255, 255)
        return picture

    path, index = film(PLAIN)
    reel = write_reel([Clip(path, index, 3, 9), Clip(path, index, 20, 24)], tmp_path / "reel.mp4", overlay=overlay)
    assert asked == [(0, n) for n in range(3, 9)] + [(1, n) for n in range(20, 24)]
    with av.open(str(reel.path)) as container:
        for decoded, (_, frame) in zip(container.decode(video=0), asked, strict=True):
            picture = decoded.to_ndarray(format="rgb24")
            assert picture[-30:].min() > 225
            assert read_number(picture) == frame


def test_stopping_leaves_nothing(film: MakeFilm, tmp_path: Path) -> None:
    clip = Clip(*film(PLAIN), 0, 50)
    asked = iter(range(100))
    with pytest.raises(FilmStopped):
        write_reel([clip], tmp_path / "reel.mp4", stop=lambda: next(asked) >= 12)
    assert list(tmp_path.iterdir()) == []


def test_a_failed_reel_keeps_the_one_that_was_there(film: MakeFilm, tmp_path: Path) -> None:
    target = tmp_path / "reel.mp4"
    target.write_bytes(b"the reel of last week")
    path, index = film(PLAIN)

    def overlay(picture: NDArray[np.uint8], clip: int, frame: int) -> NDArray[np.uint8]:
        raise RuntimeError("drawing failed")

    with pytest.raises(RuntimeError):
        write_reel([Clip(path, index, 0, 9)], target, overlay=overlay)
    assert target.read_bytes() == b"the reel of last week"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize(("start", "end"), [(-1, 4), (4, 4), (9, 4), (0, 51)])
def test_frames_that_the_film_does_not_have_are_refused(start: int, end: int, film: MakeFilm, tmp_path: Path) -> None:
    with pytest.raises(BadClip):
        write_reel([Clip(*film(PLAIN), start, end)], tmp_path / "reel.mp4")
    assert list(tmp_path.iterdir()) == []


def test_nothing_to_cut_missing_film_and_missing_folder_say_so(film: MakeFilm, tmp_path: Path) -> None:
    path, index = film(PLAIN)
    with pytest.raises(BadClip):
        write_reel([], tmp_path / "reel.mp4")
    with pytest.raises(FilmMissing):
        write_reel([Clip(tmp_path / "gone.mp4", index, 0, 5)], tmp_path / "reel.mp4")
    with pytest.raises(FilmError):
        write_reel([Clip(path, index, 0, 5)], tmp_path / "no" / "reel.mp4")


def test_a_camera_recording_is_cut_to_the_frame(camera_film: Path, tmp_path: Path) -> None:
    """Against the recording decoded straight through: every frame of the reel is most like its own original."""
    index = build_index(camera_film)
    reel = write_reel([Clip(camera_film, index, 101, 131), Clip(camera_film, index, 7, 19)], tmp_path / "reel.mp4")
    with av.open(str(camera_film)) as container:
        originals = [f.to_ndarray(format="gray").astype(np.float32) for f in container.decode(video=0)]
    with av.open(str(reel.path)) as container:
        made = [f.to_ndarray(format="gray").astype(np.float32) for f in container.decode(video=0)]
    expected = [*range(101, 131), *range(7, 19)]
    assert len(made) == len(expected)
    for picture, frame in zip(made, expected, strict=True):
        near = range(max(0, frame - 3), min(250, frame + 4))
        errors = {n: float(np.mean((picture - originals[n]) ** 2)) for n in near}
        assert min(errors, key=errors.__getitem__) == frame


def _numbers_and_times(path: Path, clips: list[Clip]) -> tuple[list[int], list[Fraction]]:
    """Numbers read inside each clip's own part of the picture, and the pictures' times, s."""
    facts = {clip.path: probe(clip.path) for clip in clips}
    boxes = []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        width, height = stream.width, stream.height
        for clip in clips:
            fact = facts[clip.path]
            share = min(width / fact.width, height / fact.height)
            inner = fact.width * share, fact.height * share
            box = (round((width - inner[0]) / 2), round((height - inner[1]) / 2), round(inner[0]), round(inner[1]))
            boxes += [box] * clip.n_frames
        numbers, times = [], []
        for box, frame in zip(boxes, container.decode(stream), strict=True):
            numbers.append(read_number(frame.to_ndarray(format="rgb24"), box=box))
            times.append(Fraction(frame.time or 0).limit_denominator(90_000))
    return numbers, times
