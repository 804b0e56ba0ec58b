"""The boards around the floor: their course, their panels with invented names, the glass above."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.camera import View
from sample_data.drawn.plane import Picture, lay
from tagger.floor.rules import FloorRules

Floats = NDArray[np.float64]

BOARD_PX_M = 60

BOARD_M = 1.07

GLASS_M = 1.9

_BOARD = (228, 230, 226)

_KICK = (60, 178, 222)

_PANELS = (
    ("SALTMARSH ROWING", (96, 62, 24), (240, 240, 240)),
    ("TIDE MILL BAKERY", (40, 96, 186), (250, 250, 250)),
    ("REED & RUSH", (72, 110, 44), (250, 250, 250)),
    ("LOCK KEEPERS' HALL", (228, 230, 226), (90, 40, 30)),
    ("OLD QUAY CYCLES", (60, 52, 142), (250, 250, 250)),
    ("HERON FERRIES", (228, 230, 226), (110, 74, 12)),
)


def perimeter(rules: FloorRules, step_m: float = 1.5) -> Floats:
    """Points along the boards, counter-clockwise from the middle of the near side, closed; shape (n, 2), metres."""
    half_l, half_w, r = rules.length_m / 2, rules.width_m / 2, rules.corner_radius_m
    r = min(r, half_w - 0.5)
    corners = [
        (half_l - r, -half_w + r, -90),
        (half_l - r, half_w - r, 0),
        (-half_l + r, half_w - r, 90),
        (-half_l + r, -half_w + r, 180),
    ]
    points = [np.array([[0.0, -half_w]])]
    for x, y, start in corners:
        angles = np.radians(np.linspace(start, start + 90, 14))
        points.append(np.column_stack([x + r * np.cos(angles), y + r * np.sin(angles)]))
    points.append(np.array([[0.0, -half_w]]))
    rough = np.vstack(points)
    fine = [rough[:1]]
    for a, b in pairwise(rough):
        n = max(1, int(np.ceil(np.hypot(*(b - a)) / step_m)))
        fine.append(a + (b - a) * np.linspace(0, 1, n + 1)[1:, None])
    return np.vstack(fine)


def board_texture(rules: FloorRules, rng: np.random.Generator) -> Picture:
    """The boards unrolled: panels with invented names, a kick plate, scratches."""
    import cv2

    length = float(np.hypot(*np.diff(perimeter(rules), axis=0).T).sum())
    w, h = int(length * BOARD_PX_M), int(BOARD_M * BOARD_PX_M)
    texture = np.empty((h, w, 3), np.uint8)
    texture[:] = _BOARD
    panel = int(5.2 * BOARD_PX_M)
    for index, x in enumerate(range(0, w, panel)):
        text, ground, ink = _PANELS[int(rng.integers(0, len(_PANELS)))] if index % 3 != 2 else ("", _BOARD, _BOARD)
        cv2.rectangle(texture, (x + 6, 4), (x + panel - 6, h - 14), ground, -1)
        if text:
            (tw, th), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_DUPLEX, 0.95, 2)
            cv2.putText(
                texture,
                text,
                (x + (panel - tw) // 2, (h - 10 + th) // 2),
                fontFace=cv2.FONT_HERSHEY_DUPLEX,
                fontScale=0.95,
                color=ink,
                thickness=2,
                lineType=cv2.LINE_AA,
            )
        cv2.line(texture, (x, 0), (x, h), (150, 150, 150), 2)
    cv2.rectangle(texture, (0, h - 12), (w, h), _KICK, -1)
    cv2.rectangle(texture, (0, 0), (w, 4), (120, 88, 46), -1)
    for _ in range(500):
        x, y = int(rng.integers(0, w)), int(rng.integers(8, h))
        cv2.line(
            texture,
            (x, y),
            (x + int(rng.integers(-30, 30)), y + int(rng.integers(-4, 4))),
            (160, 162, 164),
            1,
            cv2.LINE_AA,
        )
    return texture


def boards(picture: Picture, view: View, rules: FloorRules, texture: Picture, *, inside: bool) -> None:
    """Boards and glass, the faces towards the camera, far ones first."""
    import cv2

    points = perimeter(rules)
    lengths = np.hypot(*np.diff(points, axis=0).T)
    starts = np.concatenate([[0], np.cumsum(lengths)])
    eye = np.array(view.place_m[:2])
    order = np.argsort(-np.hypot(*((points[:-1] + points[1:]) / 2 - eye).T))
    for k in order:
        a, b = points[k], points[k + 1]
        along = b - a
        inner = np.array([-along[1], along[0]])
        if (inner @ (eye - a) > 0) != inside:
            continue
        x0, x1 = int(starts[k] * BOARD_PX_M), int(starts[k + 1] * BOARD_PX_M)
        part = texture[:, x0 : max(x1, x0 + 2)]
        if inside:  # walked round with the floor on the left, so from inside the boards run from right to left
            a, b = b, a
            along = b - a
            part = texture[:, texture.shape[1] - max(x1, x0 + 2) : texture.shape[1] - x0]
        unit = along / np.hypot(*along)
        shade = 0.80 + 0.2 * abs(float(unit[0]))
        dimmed = np.clip(part * shade, 0, 255).astype(np.uint8)
        scale = part.shape[1] / float(np.hypot(*along))
        stretched = cv2.resize(dimmed, (part.shape[1], int(BOARD_M * scale)), interpolation=cv2.INTER_AREA)
        stretched = cv2.copyMakeBorder(stretched, 0, 3, 3, 3, cv2.BORDER_REPLICATE)  # no gap between pieces
        first = a - unit * 3 / scale
        lay(
            picture,
            view,
            stretched,
            corner=(first[0], first[1], BOARD_M),
            along=(unit[0], unit[1], 0),
            down=(0, 0, -1),
            px_m=scale,
        )
        if inside:
            _glass(picture, view, a, b, post=k % 2 == 0)


def _glass(picture: Picture, view: View, a: Floats, b: Floats, *, post: bool) -> None:
    import cv2

    corners = np.array([[*a, BOARD_M], [*b, BOARD_M], [*b, GLASS_M], [*a, GLASS_M]])
    seen = view.seen(corners)
    if (seen[:, 2] < 1).any():
        return
    shape = np.rint(seen[:, :2]).astype(np.int32)
    x0, y0 = np.maximum(shape.min(axis=0), 0)
    x1, y1 = np.minimum(shape.max(axis=0) + 1, [picture.shape[1], picture.shape[0]])
    if x1 <= x0 or y1 <= y0:
        return
    part = picture[y0:y1, x0:x1]
    pane = part.copy()
    cv2.fillConvexPoly(pane, shape - np.array([x0, y0], np.int32), (196, 190, 180), cv2.LINE_AA)
    part[:] = cv2.addWeighted(part, 0.84, pane, 0.16, 0)
    ink = (176, 172, 166)
    cv2.line(picture, tuple(shape[3].tolist()), tuple(shape[2].tolist()), ink, 1, cv2.LINE_AA)
    if post:
        cv2.line(picture, tuple(shape[0].tolist()), tuple(shape[3].tolist()), ink, 1, cv2.LINE_AA)
