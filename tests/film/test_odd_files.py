"""Files that are no film, or no longer one: each ends in one clear line that says what, where and what to do."""

from __future__ import annotations

import io
import wave
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from tagger.film.child import Limits, in_child
from tagger.film.convert import make_playable
from tagger.film.damage import damage_of
from tagger.film.errors import FilmError, FilmForbidden, FilmMissing, FilmTooMuch, FilmTorn, NotFilm
from tagger.film.index import build_index
from tagger.film.joined import clock_restarts_after_s
from tagger.film.probe import probe
from tagger.film.still import still
from tests.film.conftest import MakeFilm
from tests.film.maker import Recipe
from tests.film.recipes import PLAIN


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _text(path: Path) -> None:
    path.write_text("Game 4, second period, see the other card\n" * 40, encoding="utf-8")


def _zeros(path: Path) -> None:
    path.write_bytes(bytes(300_000))


def _noise(path: Path) -> None:
    path.write_bytes(np.random.default_rng(3).bytes(200_000))


def _image(path: Path) -> None:
    suffix = ".jpg" if "jpeg" in path.name else ".png"
    path.write_bytes(cv2.imencode(suffix, np.full((90, 160, 3), 80, np.uint8))[1].tobytes())


def _wave(path: Path) -> None:
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(bytes(16_000))
    path.write_bytes(data.getvalue())


def _audio_only(path: Path) -> None:
    with av.open(str(path), "w", format="mp4") as container:
        stream = container.add_stream("aac", rate=48_000, layout="mono")
        for n in range(40):
            frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
            frame.sample_rate, frame.pts = 48_000, n * 1024
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def _folder(path: Path) -> None:
    path.mkdir()


@pytest.mark.parametrize(
    ("name", "write", "kind", "says"),
    [
        ("empty.mp4", _empty, NotFilm, "empty (0 bytes)"),
        ("text.mp4", _text, NotFilm, "text, not a film"),
        ("zeros.mp4", _zeros, FilmTorn, "nothing but zero bytes"),
        ("noise.mp4", _noise, NotFilm, "no film that can be read"),
        ("image.mp4", _image, NotFilm, "PNG image"),
        ("image-jpeg.mov", _image, NotFilm, "JPEG image"),
        ("sound.mp4", _wave, NotFilm, "sound but no picture"),
        ("audio-only.mp4", _audio_only, NotFilm, "sound but no picture"),
        ("folder.mp4", _folder, NotFilm, "folder"),
    ],
)
@pytest.mark.parametrize("ask", [probe, build_index, lambda path: make_playable(path, path.with_name("made.mp4"))])
def test_what_is_no_film_is_refused_with_one_line(
    name: str,
    write: Callable[[Path], None],
    kind: type[FilmError],
    says: str,
    ask: Callable[[Path], object],
    tmp_path: Path,
) -> None:
    path = tmp_path / name
    write(path)
    with pytest.raises(kind) as caught:
        ask(path)
    _assert_one_clear_line(caught.value, path, says)
    assert sorted(tmp_path.iterdir()) == [path]


def test_a_missing_path_is_a_file_not_found(tmp_path: Path) -> None:
    with pytest.raises(FilmMissing) as caught:
        probe(tmp_path / "gone.mp4")
    assert isinstance(caught.value, FileNotFoundError)
    _assert_one_clear_line(caught.value, tmp_path / "gone.mp4", "no such file")


def test_a_file_without_permission_is_refused(film: MakeFilm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.mp4"
    path.write_bytes(film(PLAIN)[0].read_bytes())

    def refuse(*args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # as root, no permission can be taken away
    with pytest.raises(FilmForbidden) as caught:
        probe(path)
    _assert_one_clear_line(caught.value, path, "may not be opened")


def test_a_recording_that_was_never_finished_says_so(film: MakeFilm, tmp_path: Path) -> None:
    whole = film(PLAIN)[0].read_bytes()
    assert whole.rindex(b"moov") > whole.index(b"mdat")
    path = tmp_path / "unfinished.mp4"
    path.write_bytes(whole[: whole.rindex(b"moov") - 4])
    with pytest.raises(FilmTorn) as caught:
        probe(path)
    _assert_one_clear_line(caught.value, path, "never finished")


def test_truncated_with_its_table_first_keeps_the_readable_part(film: MakeFilm, tmp_path: Path) -> None:
    source, index = film(Recipe("table-first", container_options={"movflags": "+faststart"}, gop=10, n_frames=120))
    data = source.read_bytes()
    path = tmp_path / "cut.mp4"
    path.write_bytes(data[: len(data) * 2 // 3])
    torn = build_index(path)
    assert 20 < torn.n_frames < index.n_frames
    assert np.array_equal(torn.pts[:-1], index.pts[: torn.n_frames - 1])


def test_truncated_transport_stream_keeps_the_readable_part(film: MakeFilm, tmp_path: Path) -> None:
    source, index = film(Recipe("stream", suffix=".ts", gop=10, n_frames=80))
    data = source.read_bytes()
    path = tmp_path / "cut.ts"
    path.write_bytes(data[: len(data) // 2] + data[len(data) * 3 // 4 :])
    torn = build_index(path)
    assert torn.n_frames < index.n_frames
    assert np.isin(torn.pts, index.pts).mean() > 0.9
    assert torn.pts[-1] == index.pts[-1]


def test_recordings_written_into_one_file_are_refused_where_their_clocks_begin_anew(
    film: MakeFilm, tmp_path: Path
) -> None:
    early, late = (
        film(Recipe(f"from {at} s", suffix=".ts", n_frames=50, size=(160, 90), sound=None, start_s=Fraction(at)))[0]
        for at in (10, 13)
    )
    path = tmp_path / "joined.ts"
    path.write_bytes(early.read_bytes() + late.read_bytes())
    index = build_index(path)
    assert (index.n_frames, index.duration_ms) == (100, 5000), "a clock that runs on is one film, with its gap"
    assert [damage.kind for damage in damage_of(probe(path), index)] == ["gap"]
    assert len(still(path, index, 99)) == 90
    for second in (early, late):
        path.write_bytes(late.read_bytes() + second.read_bytes())
        with pytest.raises(FilmTorn) as caught:
            build_index(path)
        _assert_one_clear_line(caught.value, path, "its clock begins anew after 0:02")


def test_a_damaged_stamp_or_a_piece_that_came_twice_is_no_clock_that_begins_anew() -> None:
    base = Fraction(1, 90_000)
    running = np.arange(1000, dtype=np.int64) * 3600
    assert clock_restarts_after_s(running, base) is None
    assert clock_restarts_after_s(np.concatenate([running[:500], running[300:340], running[500:]]), base) is None
    stray = running.copy()
    stray[100], stray[700] = running[-1] * 9, -running[-1]
    assert clock_restarts_after_s(stray, base) is None
    assert clock_restarts_after_s(running[[0]], base) is None
    again = clock_restarts_after_s(np.concatenate([running, running[:200]]), base)
    assert again is not None and round(again) == 40


@pytest.mark.parametrize("side", [60_000, 20_000, 0])
def test_an_absurd_picture_size_is_refused_before_memory_is_taken(side: int, film: MakeFilm, tmp_path: Path) -> None:
    source, _ = film(Recipe("to-be-absurd", suffix=".mov", codec="mjpeg", sound=None, pix_fmt="yuvj420p", n_frames=5))
    data = bytearray(source.read_bytes())
    place, n = data.find(b"\xff\xc0\x00\x11\x08"), 0
    while place >= 0:  # every picture's own header: two bytes each of height and width
        data[place + 5 : place + 9] = side.to_bytes(2, "big") * 2
        place, n = data.find(b"\xff\xc0\x00\x11\x08", place + 1), n + 1
    assert n == 5
    path = tmp_path / "absurd.mov"
    path.write_bytes(data)
    with pytest.raises(FilmError) as caught:
        in_child(probe, path, film=path, limits=Limits(memory_mb=800))
    assert str(caught.value).startswith("absurd.mov: ")


def test_an_absurd_number_of_frames_is_refused(film: MakeFilm, monkeypatch: pytest.MonkeyPatch) -> None:
    path, _ = film(Recipe("many-frames", n_frames=600, size=(64, 48), sound=None))
    monkeypatch.setattr("tagger.film.index.MAX_FRAMES", 500)
    with pytest.raises(FilmTooMuch) as caught:
        build_index(path)
    _assert_one_clear_line(caught.value, path, "claims more than 500 frames")


def test_a_film_with_one_key_frame_in_minutes_still_gives_any_frame(film: MakeFilm) -> None:
    path, index = film(Recipe("one-key-frame", n_frames=1500, gop=100_000, size=(64, 48), sound=None, b_frames=0))
    assert index.key.sum() == 1
    assert index.n_frames == 1500
    assert still(path, index, 1400).shape == (48, 64, 3)


def _assert_one_clear_line(error: FilmError, path: Path, says: str) -> None:
    line = str(error)
    assert line.startswith(path.name + ": ")
    assert says in line
    assert "\n" not in line
    assert "; " in line, "it says what to do"
    assert error.path == path
