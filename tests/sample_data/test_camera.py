"""The camera: one spot, views tied to the floor and to each other by homographies."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from sample_data.drawn.camera import View, spot_m, still_view, views
from sample_data.drawn.draw import Film
from tagger.floor.rules import floor_rules

RULES = floor_rules("canadian")
LOOKING = View(spot_m(RULES), 0.3, 0.5, 900.0, 1280, 720)


def test_space_and_floor_agree_on_the_floor() -> None:
    floor = np.array([(0, 0), (10, 4), (20, -5), (14, 9), (17, -3)], dtype=float)
    seen = LOOKING.seen(np.column_stack([floor, np.zeros(5)]))
    to_floor = cv2.getPerspectiveTransform(seen[:4, :2].astype(np.float32), floor[:4].astype(np.float32))
    flat = np.append(seen[4, :2], 1) @ np.asarray(to_floor, dtype=float).T
    assert flat[:2] / flat[2] == pytest.approx(floor[4], abs=0.01), "four places pin the floor down"
    assert (seen[:, 2] > 0).all()


def test_right_is_right_and_down_is_down() -> None:
    middle, right, higher = LOOKING.seen(np.array([(8.0, 0, 0), (9.0, 0, 0), (8.0, 0, 1)]))
    assert right[0] > middle[0]
    assert higher[1] < middle[1]


def test_two_views_of_one_camera_are_tied_by_a_homography() -> None:
    other = View(LOOKING.place_m, -0.1, 0.45, 700.0, 1280, 720)
    points = np.array([(3, 2, 0.5), (10, -4, 1.8), (15, 11, 3.0)], dtype=float)
    before, after = other.seen(points), LOOKING.seen(points)
    moved = np.column_stack([before[:, :2], np.ones(3)]) @ LOOKING.from_view(other).T
    assert moved[:, :2] / moved[:, 2:] == pytest.approx(after[:, :2], abs=1e-6)


def test_a_still_camera_sees_both_goals_and_all_the_floor_that_matters() -> None:
    view = still_view(RULES, 1280, 720)
    marks = np.array([(x, y, 0) for x in (-RULES.goal_x_m, 0, RULES.goal_x_m) for y in (-8.0, 0, 12.0)], dtype=float)
    seen = view.seen(marks)[:, :2]
    inside = (seen > 0).all(axis=1) & (seen < [1280, 720]).all(axis=1)
    assert inside[marks[:, 1] > -8].all()
    assert inside[marks[:, 0] == 0].all()


def test_a_panning_camera_keeps_the_ball_in_the_picture_and_never_jerks(film: Film) -> None:
    found = views(film.moved, RULES, 1280, height_px=720, fps=film.look.fps, pan=True, seed=1)
    live = [k for k in range(len(found)) if film.moved.live[k] and film.moved.ball_shown[k]]
    inside = 0
    for k in live:
        x, y, depth = found[k].seen(film.moved.ball_m[k : k + 1])[0]
        inside += bool(depth > 0 and 0 < x < 1280 and 0 < y < 720)
    assert inside / len(live) > 0.97
    pan = np.array([view.pan_rad for view in found])
    assert np.abs(np.diff(pan)).max() * film.look.fps < 0.9
    assert len({view.place_m for view in found}) == 1
    assert np.ptp([view.focal_px for view in found]) > 100
