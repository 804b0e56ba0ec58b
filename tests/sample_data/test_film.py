"""A film as it is written: what is in the file, the sound at its moments, and options that make no sense."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sample_data.__main__ import main
from sample_data.drawn.film import GOP, FilmOptions, make_film
from sample_data.drawn.sound import RATE_HZ, sound
from sample_data.errors import SampleError, SampleOption
from sample_data.truth import Truth, read_truth
from tagger.film.index import build_index
from tagger.film.probe import probe

TINY = FilmOptions(seed=3, seconds=24, width_px=320, height_px=180, fps=12.5)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("made")
    said: list[float] = []
    film, truth = make_film(TINY, folder / "tiny.mp4", progress=lambda done, text: said.append(done))
    assert said[0] == 0 and said[-1] == 1 and said == sorted(said)
    assert sorted(path.name for path in folder.iterdir()) == ["tiny.mp4", "tiny.truth.json.gz"]
    return film, truth


def test_a_film_plays_as_it_lies_and_has_its_frames(made: tuple[Path, Path]) -> None:
    facts = probe(made[0])
    index = build_index(made[0])
    assert (facts.video_codec, facts.audio_codec, facts.width, facts.height) == ("h264", "aac", 320, 180)
    assert facts.as_it_lies, facts.why_not
    assert index.n_frames == 300
    assert index.all_ms().tolist() == [round(k * 80) for k in range(300)]
    assert np.diff(np.flatnonzero(index.key)).max() <= GOP


def test_the_truth_beside_a_film_reads_back_and_fits_it(made: tuple[Path, Path]) -> None:
    truth = read_truth(made[1])
    assert truth.kind == "excerpt" and truth.film is not None
    assert truth.film["n_frames"] == 300 == len(truth.film["ball"]["x_cm"]) == len(truth.film["camera"]["pan_mrad"])
    for stint in truth.film["stints"]:
        assert len(stint["x_cm"]) == len(stint["y_cm"]) <= 300 - stint["from_frame"]


def loudness(track: np.ndarray, low_hz: float, high_hz: float, at_ms: float) -> float:
    start = round(at_ms / 1000 * RATE_HZ)
    piece = track[start : start + RATE_HZ // 5]
    power = np.abs(np.fft.rfft(piece * np.hanning(len(piece)))) ** 2
    hz = np.fft.rfftfreq(len(piece), 1 / RATE_HZ)
    return float(power[(hz > low_hz) & (hz < high_hz)].sum())


def test_whistles_are_heard_when_they_are_blown_and_not_before(truth: Truth) -> None:
    track = sound(truth)
    assert len(track) == truth.length_ms * RATE_HZ // 1000
    assert 0.05 < np.abs(track).max() < 1
    for whistle in truth.whistles:
        if all(not -700 < other.at_ms - whistle.at_ms < 0 for other in truth.whistles):
            blown = loudness(track, 2900, 3600, whistle.at_ms)
            assert blown > 30 * loudness(track, 2900, 3600, whistle.at_ms - 400)


def test_a_goal_is_louder_than_a_quiet_minute(truth: Truth) -> None:
    shot = truth.shots[0]
    scored = replace(truth, shots=(replace(shot, result="goal", team="ours"),))
    quiet = replace(truth, shots=())
    after = slice((shot.at_ms + 3000) * RATE_HZ // 1000, (shot.at_ms + 4000) * RATE_HZ // 1000)
    assert sound(scored)[after].std() > 2 * sound(quiet)[after].std()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"seconds": 3}, "--seconds is 3; give a length from 20"),
        ({"width_px": 641}, "--size is 641x180; give even numbers"),
        ({"fps": 500}, "--fps is 500; give a frame rate"),
    ],
)
def test_an_option_that_makes_no_sense_is_refused_by_name(change: dict[str, int], words: str) -> None:
    with pytest.raises(SampleOption, match=words) as caught:
        replace(TINY, **change)
    assert isinstance(caught.value, SampleError) and isinstance(caught.value, ValueError)


def test_the_command_says_what_is_wrong_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path / "a.mp4"), "--seconds", "5"]) == 1
    assert capsys.readouterr().err.count("\n") == 1
    assert main([str(tmp_path / "none" / "a.mp4"), "--seconds", "20", "--size", "320x180", "--fps", "10"]) == 1
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(SystemExit) as caught:
        main(["--size", "wide", str(tmp_path / "a.mp4")])
    assert caught.value.code == 2
