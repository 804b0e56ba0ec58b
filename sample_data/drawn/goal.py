"""A drawn goal: red pipes and a net."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.camera import View
from tagger.floor.rules import FloorRules

Floats = NDArray[np.float64]
Picture = NDArray[np.uint8]


def draw_goal(picture: Picture, view: View, rules: FloorRules, side: int) -> None:
    """Draw one of the two goals into a picture."""
    import cv2

    half, high, deep = rules.goal_width_m / 2, rules.goal_height_m, 0.95
    x, back = side * rules.goal_x_m, side * (rules.goal_x_m + deep)
    front = [(x, -half, 0), (x, -half, high), (x, half, high), (x, half, 0)]
    rear = [(back, -half * 0.75, 0.0), (back, half * 0.75, 0.0)]
    seen = view.seen(np.array([*front, *rear], dtype=float))
    if (seen[:, 2] < 1).any():
        return
    scale = view.focal_px / float(seen[0, 2])
    points = seen[:, :2]
    if points[:, 0].max() < 0 or points[:, 0].min() > picture.shape[1]:
        return
    net = (214, 214, 212)
    thin = 1
    for k in range(7):
        u = k / 6
        top = points[1] + (points[2] - points[1]) * u
        low = points[4] + (points[5] - points[4]) * u
        cv2.line(picture, fine(top), fine(low), net, thickness=thin, lineType=cv2.LINE_AA, shift=4)
    for k in range(1, 5):
        u = k / 5
        for a, b in ((1, 4), (2, 5)):
            one = points[a] + (points[b] - points[a]) * u
            post = points[0 if a == 1 else 3] + (points[a] - points[0 if a == 1 else 3]) * (1 - u)
            cv2.line(picture, fine(one), fine(post), net, thickness=thin, lineType=cv2.LINE_AA, shift=4)
        one = points[1] + (points[4] - points[1]) * u
        two = points[2] + (points[5] - points[2]) * u
        cv2.line(picture, fine(one), fine(two), net, thickness=thin, lineType=cv2.LINE_AA, shift=4)
    pipe = max(2, round(0.09 * scale))
    for a, b in ((0, 1), (1, 2), (2, 3), (0, 4), (3, 5), (4, 5)):
        cv2.line(
            picture,
            fine(points[a]),
            fine(points[b]),
            (46, 46, 206),
            thickness=pipe if a < 3 and b < 4 else max(1, pipe - 1),
            lineType=cv2.LINE_AA,
            shift=4,
        )


def fine(point: Floats) -> tuple[int, int]:
    """A point as drawing takes it that is finer than a pixel."""
    return int(np.rint(float(point[0]) * 16)), int(np.rint(float(point[1]) * 16))
