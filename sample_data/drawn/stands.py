"""What is around the rink: stands with people on three sides, and the near side from behind."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.boards import BOARD_M, perimeter
from sample_data.drawn.camera import View
from sample_data.drawn.plane import Picture, lay
from tagger.floor.rules import FloorRules

Colour = tuple[int, int, int]
BENCHES: tuple[Colour, Colour] = ((79, 110, 11), (70, 70, 80))
"""Shirts of those who sit on our bench and on theirs, each blue, green, red."""

_CLOTHES = np.array(
    [(79, 110, 11), (60, 60, 70), (150, 90, 40), (60, 70, 160), (200, 196, 190), (40, 120, 190), (90, 80, 76)]
)

_SKIN = np.array([(150, 180, 225), (100, 135, 190), (60, 90, 140), (170, 195, 235)])

_HAIR = np.array([(20, 25, 35), (30, 50, 80), (60, 110, 160), (90, 90, 95)])


def stands(picture: Picture, view: View, rules: FloorRules, rng: np.random.Generator) -> None:
    """Rows of seats with people behind the far boards and both ends."""
    half_l, half_w = rules.length_m / 2, rules.width_m / 2
    rise, run, rows = 0.42, 0.86, 17
    px_m = 30
    for across, start, along in (
        (np.array([-1.0, 0]), np.array([-half_l - 2.2, half_w + 26.0]), np.array([0.0, -1.0])),
        (np.array([1.0, 0]), np.array([half_l + 2.2, -half_w - 26.0]), np.array([0.0, 1.0])),
        (np.array([0, 1.0]), np.array([-half_l - 14.0, half_w + 2.0]), np.array([1.0, 0.0])),
    ):
        length = 2 * half_l + 28 if along[0] else 2 * half_w + 52
        for row in reversed(range(rows)):
            base = start + across * run * row
            strip = _seat_row(int(length * px_m), int((rise + 0.95) * px_m), rng, row)
            if along[0] == 0 and along[1] == 1:
                strip = strip[:, ::-1].copy()
                base = base + along * length
                unit = -along
            else:
                unit = along
            if across[0] < 0:
                base, unit = start + across * run * row + along * length, -along
            colour, cover = strip[..., :3].copy(), strip[..., 3].copy()
            for x0 in range(0, strip.shape[1], 600):
                piece, hold = colour[:, x0 : x0 + 600], cover[:, x0 : x0 + 600]
                at = base + unit * x0 / px_m
                lay(
                    picture,
                    view,
                    piece,
                    corner=(at[0], at[1], 1.2 + rise * row + rise + 0.95),
                    along=(unit[0], unit[1], 0),
                    down=(0, 0, -1),
                    px_m=px_m,
                    mask=hold,
                )


def _seat_row(w: int, h: int, rng: np.random.Generator, row: int) -> NDArray[np.uint8]:
    """One row of the stand from the front: a step, seats, some with people; blue, green, red, cover."""
    import cv2

    strip = np.zeros((h, w, 4), np.uint8)
    step = h - 13
    strip[step:, :] = (52 + row, 48 + row, 46 + row, 255)
    seat = 17
    aisle = 22 * seat
    for x in range(0, w, seat):
        if (x + row * 0) % aisle < 2 * seat:
            cv2.rectangle(strip, (x, step), (x + seat, h), (78, 74, 70, 255), -1)
            continue
        cv2.rectangle(strip, (x + 2, step - 9), (x + seat - 2, step + 4), (92, 60, 34, 255), -1)
        if rng.random() < 0.3:
            shirt = tuple(int(v) for v in rng.choice(_CLOTHES) * rng.uniform(0.55, 1.0))
            skin = tuple(int(v) for v in rng.choice(_SKIN) * rng.uniform(0.7, 1.0))
            middle = x + seat // 2 + int(rng.integers(-2, 3))
            top = step - 15 - int(rng.integers(0, 4))
            cv2.ellipse(
                strip,
                (middle, top + 14),
                (7, 9),
                angle=0,
                startAngle=0,
                endAngle=360,
                color=(*shirt, 255),
                thickness=-1,
            )
            cv2.circle(strip, (middle, top), 5, (*skin, 255), -1)
            hair = tuple(int(v) for v in rng.choice(_HAIR))
            cv2.ellipse(
                strip,
                (middle, top - 2),
                (5, 4),
                angle=0,
                startAngle=180,
                endAngle=360,
                color=(*hair, 255),
                thickness=-1,
            )
    return strip


def near_side(
    picture: Picture, front: Picture, view: View, rules: FloorRules, rng: np.random.Generator,
    benches: tuple[Colour, Colour],
) -> None:  # fmt: skip
    """The near boards from behind, benches with players, and what covers the floor."""
    import cv2

    points = perimeter(rules)
    eye = np.array(view.place_m[:2])
    near = []
    for a, b in pairwise(points):
        along = b - a
        if np.array([-along[1], along[0]]) @ (eye - a) <= 0:
            near.append((a, b))
    outlines = []
    for a, b in near:
        seen = view.seen(np.array([[*a, BOARD_M], [*b, BOARD_M], [*b, 0.0], [*a, 0.0]]))
        if (seen[:, 2] < 0.5).any():
            continue
        shape = np.rint(seen[:, :2] * 16).astype(np.int32)
        low = shape.copy()
        low[2:, 1] = 16 * (picture.shape[0] + 40)
        outlines.append(shape)
        cv2.fillConvexPoly(picture, low, (38, 34, 32), cv2.LINE_AA, 4)
        cv2.fillConvexPoly(front, low, 255, cv2.LINE_AA, 4)
    for shape in outlines:
        cv2.fillConvexPoly(picture, shape, (88, 84, 80), cv2.LINE_AA, 4)
    _near_rows(picture, view, rules, rng)
    for a, b in near:
        cap = view.seen(np.array([[*a, BOARD_M], [*b, BOARD_M]]))
        if (cap[:, 2] < 0.5).any():
            continue
        p, q = (tuple(int(v) for v in np.rint(end[:2] * 16)) for end in cap)
        cv2.line(
            picture,
            p,
            q,
            (120, 88, 46),
            thickness=max(2, round(view.focal_px / 25 * 0.12)),
            lineType=cv2.LINE_AA,
            shift=4,
        )
    y = -rules.width_m / 2 - 0.9
    for side, shirt in zip((-1, 1), benches, strict=True):
        for k in range(11):
            x = side * (2.4 + 0.95 * k)
            spot = view.seen(np.array([[x, y, 0.6], [x, y, 1.25]]))
            if (spot[:, 2] < 0.5).any():
                continue
            scale = view.focal_px / float(spot[0, 2])
            body, head = (tuple(int(v) for v in np.rint(s[:2])) for s in spot)
            cv2.ellipse(
                picture,
                body,
                (int(0.3 * scale), int(0.34 * scale)),
                angle=0,
                startAngle=0,
                endAngle=360,
                color=shirt,
                thickness=-1,
                lineType=cv2.LINE_AA,
            )
            cv2.circle(picture, head, int(0.15 * scale), (52, 52, 56), -1, cv2.LINE_AA)
            cv2.circle(picture, head, int(0.15 * scale), (30, 30, 32), max(1, int(0.03 * scale)), cv2.LINE_AA)
            cv2.circle(front, head, int(0.15 * scale), 255, -1, cv2.LINE_AA)
            cv2.ellipse(
                front,
                body,
                (int(0.3 * scale), int(0.34 * scale)),
                angle=0,
                startAngle=0,
                endAngle=360,
                color=255,
                thickness=-1,
                lineType=cv2.LINE_AA,
            )


def _near_rows(picture: Picture, view: View, rules: FloorRules, rng: np.random.Generator) -> None:
    """A few people on the near stand, from behind."""
    import cv2

    for row in range(4):
        y, z = -rules.width_m / 2 - 2.6 - 0.9 * row, 0.9 + 0.5 * row
        for k in range(int(rules.length_m / 0.6)):
            x = -rules.length_m / 2 + 0.6 * k
            if rng.random() > 0.16:
                continue
            seen = view.seen(np.array([[x, y, z], [x, y, z + 0.5]]))
            if (seen[:, 2] < 0.5).any():
                continue
            scale = view.focal_px / float(seen[0, 2])
            body, head = (tuple(int(v) for v in np.rint(s[:2])) for s in seen)
            shirt = tuple(int(v) for v in rng.choice(_CLOTHES) * 0.5)
            hair = tuple(int(v) for v in rng.choice(_HAIR) * 0.7)
            cv2.ellipse(
                picture,
                body,
                (int(0.26 * scale), int(0.36 * scale)),
                angle=0,
                startAngle=0,
                endAngle=360,
                color=shirt,
                thickness=-1,
                lineType=cv2.LINE_AA,
            )
            cv2.circle(picture, head, int(0.14 * scale), hair, -1, cv2.LINE_AA)
