"""The empty rink, painted once: floor, lines, boards, glass, stands with people, as a camera of one spot sees them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sample_data.drawn.boards import board_texture, boards, perimeter
from sample_data.drawn.camera import View
from sample_data.drawn.plane import Picture, lay
from sample_data.drawn.stands import BENCHES, Colour, near_side, stands
from tagger.floor.rules import FloorRules

FLOOR_PX_M = 48

_FLOOR = (132, 124, 108)  # blue, green, red of the floor

_LINE = (236, 238, 238)

_CREASE = (150, 112, 62)


@dataclass(frozen=True)
class Painted:
    """The rink in one wide picture, and what stands in front of the players in it.

    Attributes
    ----------
    view : View
        The view it was painted for.
    picture : ndarray of uint8, shape (h, w, 3)
        Blue, green, red.
    front : ndarray of uint8, shape (h, w)
        255 where near boards and stand cover the floor.
    """

    view: View
    picture: Picture
    front: Picture


def paint(rules: FloorRules, view: View, seed: int, benches: tuple[Colour, Colour] = BENCHES) -> Painted:
    """Paint the empty rink for a view.

    Parameters
    ----------
    rules : FloorRules
        Gives all lengths of floor, lines, creases and corners.
    view : View
        A still camera's view, or a wide one from which panning views are cut.
    seed : int
        For people in the stands and marks on the boards.
    benches : tuple of Colour
        Shirts of those who sit on our bench and on theirs.

    Returns
    -------
    Painted
    """
    import cv2

    rng = np.random.default_rng([seed, 4])
    picture = np.full((view.height_px, view.width_px, 3), (34, 28, 26), np.uint8)
    stands(picture, view, rules, rng)
    soft = view.focal_px / 1280  # the camera's focus is on the floor
    picture[:] = (cv2.GaussianBlur(picture, (0, 0), max(0.8, 6.5 * soft)) * 0.5).astype(np.uint8)
    lay(
        picture,
        view,
        floor_texture(rules, rng),
        corner=(-rules.length_m / 2, rules.width_m / 2),
        along=(1, 0, 0),
        down=(0, -1, 0),
        px_m=FLOOR_PX_M,
        mask=_floor_mask(rules),
    )
    texture = board_texture(rules, rng)
    boards(picture, view, rules, texture, inside=True)
    front = np.zeros(picture.shape[:2], np.uint8)
    near_side(picture, front, view, rules, rng, benches)
    return Painted(view, picture, front)


def wide_view(view: View) -> View:
    """The view to paint for a panning camera: everything that it can see."""
    scale = view.width_px / 1280
    return View(view.place_m, 0.0, float(np.radians(27.0)), 1150 * scale, int(3900 * scale), int(1900 * scale))


def floor_texture(rules: FloorRules, rng: np.random.Generator) -> Picture:
    """The floor from above, +x to the right and +y up, `FLOOR_PX_M` pixels a metre."""
    import cv2

    w, h = int(rules.length_m * FLOOR_PX_M), int(rules.width_m * FLOOR_PX_M)
    texture = np.empty((h, w, 3), np.float32)
    texture[:] = _FLOOR
    for size, depth in ((w // 150, 1.5), (w // 40, 1.6)):
        noise = rng.normal(0, 1, (max(2, h * size // w), size)).astype(np.float32)
        texture += cv2.resize(noise, (w, h), interpolation=cv2.INTER_CUBIC)[..., None] * depth
    for x in range(-3, 4):  # lamps mirrored in the floor
        for y in (-0.5, 0.5):
            middle = (int(w / 2 + x * 8.2 * FLOOR_PX_M), int(h / 2 + y * 12 * FLOOR_PX_M))
            lamp = np.zeros((h // 8, w // 8), np.float32)
            cv2.ellipse(
                lamp,
                (middle[0] // 8, middle[1] // 8),
                (16, 24),
                angle=0,
                startAngle=0,
                endAngle=360,
                color=1.0,
                thickness=-1,
            )
            texture += cv2.resize(cv2.GaussianBlur(lamp, (0, 0), 9), (w, h))[..., None] * 16
    picture = np.clip(texture, 0, 255).astype(np.uint8)
    for _ in range(45):  # scuffs
        x, y = int(rng.integers(0, w)), int(rng.integers(0, h))
        dx, dy = rng.normal(0, 16, 2)
        shade = tuple(int(c) for c in np.array(_FLOOR) - rng.uniform(4, 10))
        cv2.line(picture, (x, y), (int(x + dx), int(y + dy)), shade, 2, cv2.LINE_AA)
    _lines(picture, rules)
    return picture


def _lines(picture: Picture, rules: FloorRules) -> None:
    import cv2

    h, w = picture.shape[:2]
    m = FLOOR_PX_M
    wide = max(2, int(0.07 * m))

    def at(x_m: float, y_m: float) -> tuple[int, int]:
        return round(w / 2 + x_m * m), round(h / 2 - y_m * m)

    cv2.circle(picture, at(0, 0), int(4.6 * m), (150, 136, 112), -1, cv2.LINE_AA)
    cv2.circle(picture, at(0, 0), int(4.6 * m), _LINE, wide, cv2.LINE_AA)
    _emblem(picture, at(0, 0), m)
    for x_m, thick in (
        (0.0, 2 * wide),
        (rules.restraining_from_centre_m, wide),
        (-rules.restraining_from_centre_m, wide),
    ):
        cv2.line(picture, at(x_m, -rules.width_m / 2), at(x_m, rules.width_m / 2), _LINE, thick, cv2.LINE_AA)
    for side in (-1, 1):
        goal = side * rules.goal_x_m
        cv2.circle(picture, at(goal, 0), int(rules.crease_radius_m * m), _CREASE, -1, cv2.LINE_AA)
        cv2.circle(picture, at(goal, 0), int(rules.crease_radius_m * m), _LINE, wide, cv2.LINE_AA)
        post = rules.goal_width_m / 2
        cv2.line(picture, at(goal, -post), at(goal, post), (40, 40, 190), wide, cv2.LINE_AA)
        for y_m in (-5.5, 5.5):
            cv2.circle(picture, at(goal - side * 6.5, y_m), int(0.3 * m), _LINE, -1, cv2.LINE_AA)
    for y_m in (-9.5, 9.5):
        cv2.circle(picture, at(0, y_m), int(0.3 * m), _LINE, -1, cv2.LINE_AA)


def _emblem(picture: Picture, middle: tuple[int, int], m: int) -> None:
    """A heron over water, in a few strokes."""
    import cv2

    x, y = middle
    ink = (96, 74, 30)

    def at(dx: float, dy: float) -> tuple[int, int]:
        return int(x + dx * m), int(y + dy * m)

    cv2.polylines(picture, [np.array([at(0.1, 1.9), at(0.3, 0.6)])], False, ink, int(0.14 * m), cv2.LINE_AA)
    cv2.polylines(picture, [np.array([at(0.7, 1.9), at(0.6, 0.6)])], False, ink, int(0.14 * m), cv2.LINE_AA)
    cv2.ellipse(
        picture,
        at(0.4, 0.1),
        (int(1.25 * m), int(0.62 * m)),
        angle=-24,
        startAngle=0,
        endAngle=360,
        color=ink,
        thickness=-1,
        lineType=cv2.LINE_AA,
    )
    neck = np.array([at(-0.6, 0.2), at(-1.1, -0.5), at(-0.7, -1.1), at(-1.0, -1.7)])
    cv2.polylines(picture, [neck], False, ink, int(0.3 * m), cv2.LINE_AA)
    cv2.fillPoly(picture, [np.array([at(-0.9, -1.95), at(-2.4, -1.5), at(-0.95, -1.55)])], (70, 150, 214), cv2.LINE_AA)
    for row in range(3):
        wave = np.array([at(-2.4 + 0.2 * k, 2.2 + 0.32 * row + 0.1 * np.sin(k * 1.3 + row)) for k in range(25)])
        cv2.polylines(picture, [wave], False, (170, 150, 118), int(0.09 * m), cv2.LINE_AA)


def _floor_mask(rules: FloorRules) -> Picture:
    import cv2

    w, h = int(rules.length_m * FLOOR_PX_M), int(rules.width_m * FLOOR_PX_M)
    mask = np.zeros((h, w), np.uint8)
    points = perimeter(rules, 0.5) * FLOOR_PX_M * np.array([1, -1]) + np.array([w / 2, h / 2])
    cv2.fillPoly(mask, [np.rint(points).astype(np.int32)], 255)
    return mask
