"""Pictures: the same from the same seed, and showing what the truth says is there."""

from __future__ import annotations

import hashlib

import numpy as np
import pytest

from sample_data.drawn.camera import View
from sample_data.drawn.draw import Film, kit
from sample_data.drawn.figure import Pose, draw_figure
from sample_data.drawn.film import plan_film
from tests.sample_data.conftest import SMALL

GREEN = kit("#0B6E4F", dark=True)
FRAMES = (0, 137, 300, 511)


def prints(film: Film) -> list[str]:
    return [hashlib.sha256(film.frame(k).tobytes()).hexdigest() for k in FRAMES]


def test_the_same_seed_draws_the_same_pixels_and_frames_can_be_drawn_in_any_order(film: Film) -> None:
    first = prints(film)
    again = plan_film(SMALL)[1]
    assert [hashlib.sha256(again.frame(k).tobytes()).hexdigest() for k in reversed(FRAMES)] == first[::-1]
    assert len(set(first)) == len(FRAMES)


def test_a_frame_is_a_colour_picture_of_the_wanted_size(film: Film) -> None:
    frame = film.frame(0)
    assert frame.shape == (360, 640, 3)
    assert frame.dtype == np.uint8


def test_the_ball_is_drawn_where_the_truth_has_it(film: Film) -> None:
    orange = np.array([70, 190, 255], dtype=int)
    found = tried = 0
    for frame in range(0, film.n_frames, 7):
        if film.moved.ball_shown[frame]:
            x, y, _ = film.views[frame].seen(film.moved.ball_m[frame : frame + 1])[0]
            if 10 < x < 630 and 10 < y < 350:
                tried += 1
                part = film.frame(frame)[int(y) - 3 : int(y) + 4, int(x) - 3 : int(x) + 4].astype(int)
                found += bool((np.abs(part - orange).sum(axis=2) < 60).any())
    assert tried > 30
    assert found / tried > 0.9


def figure(number: str, goalie: bool = False) -> np.ndarray:
    floor = np.full((300, 300, 3), 120, np.uint8)
    view = View((0.0, -14.0, 7.0), 0.0, 0.45, 1400.0, 300, 300)
    draw_figure(
        floor,
        view,
        Pose(0, 0, 0.7, run_m=3.0, speed_m_s=3.0, number=number, goalie=goalie, left_handed=False, has_ball=True),
        GREEN,
    )
    return floor


def test_a_player_is_drawn_in_his_jersey_with_his_number() -> None:
    one, other, again = figure("14"), figure("41"), figure("14")
    assert (one == again).all()
    assert (one != other).any(axis=2).sum() > 60
    assert (np.abs(one.astype(int) - GREEN.jersey).sum(axis=2) < 30).sum() > 400
    digits = (np.abs(one.astype(int) - GREEN.number).sum(axis=2) < 60).sum()
    assert digits > (np.abs(figure("1").astype(int) - GREEN.number).sum(axis=2) < 60).sum()
    assert (figure("1", goalie=True) != 120).any(axis=2).sum() > 1.2 * (figure("1") != 120).any(axis=2).sum()


@pytest.mark.parametrize("at", [0.0, 1.0])
def test_the_scoreboard_counts_the_clock_down(film: Film, at: float) -> None:
    running = next(clock for clock in film.truth.clocks if clock.runs)
    board = film._board(running.at_ms + at * 5000)
    other = film._board(running.at_ms + at * 5000 + 3000)
    assert (board != other).any()
    assert film.truth.left_on_clock_s(running.at_ms + 5000) == pytest.approx(running.left_s - 5)
