"""Picture to floor and back: exact constructed values, invariants, noise, and what must be refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tagger.floor.errors import PointBeyondHorizon, PointsInLine, PointsTooFew
from tagger.floor.picture import FloorPicture, fit_floor

SQUARE = [(0, 0), (1, 0), (1, 1), (0, 1)]
QUAD = [(0, 0), (4, 0), (3, 2), (1, 2)]
FLOOR = np.array([(-30.5, -13), (30.5, -13), (30.5, 13), (-30.5, 13)], dtype=float)
SEEN = np.array([(60, 980), (1860, 980), (1400, 330), (520, 330)], dtype=float)


def test_the_unit_square_goes_to_the_quadrilateral_by_the_known_matrix():
    """Constructed and exact: H = [[4,2,0],[0,4,0],[0,1,1]], (.5,.5) to (2, 4/3).

    OpenCV takes points in single precision, hence the tolerance."""
    fit = fit_floor(SQUARE, QUAD)
    assert fit.matrix == pytest.approx(np.array([[4, 2, 0], [0, 4, 0], [0, 1, 1]]), abs=1e-6)
    assert fit.on_floor([(0.5, 0.5)]) == pytest.approx(np.array([(2, 4 / 3)]), abs=1e-6)
    assert fit.spread_m == 0


def test_the_cross_ratio_of_four_points_on_a_line_is_kept():
    """Constructed: the cross-ratio at 0, 1, 3, 7 is 9/7 and no homography changes it."""
    fit = fit_floor(SEEN, FLOOR)
    at = np.array([0.0, 1.0, 3.0, 7.0])
    a, b, c, d = fit.on_floor(np.array([300.0, 900.0]) + at[:, None] * np.array([120.0, -40.0]))
    ratio = np.linalg.norm(c - a) * np.linalg.norm(d - b) / (np.linalg.norm(c - b) * np.linalg.norm(d - a))
    assert ratio == pytest.approx(9 / 7, rel=1e-6)


@given(st.floats(-30, 30), st.floats(-13, 13))
def test_there_and_back_is_the_same_place(x_m, y_m):
    fit = fit_floor(SEEN, FLOOR)
    assert fit.on_floor(fit.in_picture([(x_m, y_m)])) == pytest.approx(np.array([(x_m, y_m)]), abs=1e-8)


def test_scale_and_order_of_the_pairs_do_not_matter():
    fit = fit_floor(SEEN, FLOOR)
    other = fit_floor(SEEN[::-1] / 4, FLOOR[::-1])
    assert other.on_floor([(200, 150)]) == pytest.approx(fit.on_floor([(800, 600)]), abs=1e-6)


def test_click_noise_of_one_pixel_stays_near_a_decimetre():
    """Constructed: 61 x 26 m floor in 1080p, four corners, 1 px noise: .07 to .11 m; wider here for the seed."""
    rng = np.random.default_rng(5)
    true = fit_floor(SEEN, FLOOR)
    marks = np.array([(x, y) for x in (-25, -10, 0, 10, 25) for y in (-9, 0, 9)], dtype=float)
    off = []
    for _ in range(60):
        fit = fit_floor(SEEN + rng.normal(0, 1, SEEN.shape), FLOOR)
        off.append(np.linalg.norm(fit.on_floor(true.in_picture(marks)) - marks, axis=1).mean())
    assert 0.03 < float(np.mean(off)) < 0.15


def test_more_pairs_steady_the_fit_and_say_how_well_they_agree():
    rng = np.random.default_rng(6)
    true = fit_floor(SEEN, FLOOR)
    marks = np.array([(x, y) for x in (-25, -10, 0, 10, 25) for y in (-9, 0, 9)], dtype=float)
    fit = fit_floor(true.in_picture(marks) + rng.normal(0, 1, marks.shape), marks)
    assert 0 < fit.spread_m < 0.3
    assert np.linalg.norm(fit.on_floor(SEEN) - FLOOR, axis=1).max() < 0.6


def test_fewer_than_four_pairs_are_refused():
    with pytest.raises(PointsTooFew, match="3 points in the picture and 3 on the floor: at least four"):
        fit_floor(SQUARE[:3], QUAD[:3])
    with pytest.raises(PointsTooFew):
        fit_floor(SQUARE, [*QUAD, (1, 1)])


@pytest.mark.parametrize(
    ("picture", "floor", "where"),
    [
        ([(0, 0), (1, 1), (2, 2), (5, 0)], QUAD, "in the picture"),
        ([(0, 0), (1, 1), (2, 2), (3, 3)], QUAD, "in the picture"),
        (SQUARE, [(0, 0), (1, 0), (2, 0), (1, 2)], "on the floor"),
        ([(0, 0), (0, 0), (1, 1), (0, 1)], QUAD, "in the picture"),
        ([(5, 5)] * 4, QUAD, "in the picture"),
        ([(0, 0), (1, 0), (2, 0), (3, 0), (4, 0), (1, 3)], [*QUAD, (2, 2), (1, 1)], "in the picture"),
    ],
)
def test_points_in_line_are_refused(picture, floor, where):
    with pytest.raises(PointsInLine, match=where):
        fit_floor(picture, floor)


def test_a_crossed_quadrilateral_is_no_view_of_a_floor():
    with pytest.raises(PointsInLine):
        fit_floor(SQUARE, [(0, 0), (4, 0), (1, 2), (3, 2)])


def test_a_point_above_the_horizon_is_refused_by_name():
    fit = fit_floor(SEEN, FLOOR)
    with pytest.raises(PointBeyondHorizon, match=r"\(960, -4000\)"):
        fit.on_floor([(960, 600), (960, -4000)])


def test_a_place_behind_the_camera_has_no_pixel():
    fit = FloorPicture((1, 0, 0, 0, 1, 0, 0, -0.01, 1))
    seen = fit.in_picture([(0.0, 50.0), (0.0, -1000.0)])
    assert np.isfinite(seen[0]).all()
    assert np.isnan(seen[1]).all()
