"""The empty rink, painted once: floor, lines, boards, glass, stands with people, as a camera of one spot sees them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sample_data.camera import View
from tagger.floor.rules import FloorRules

Floats = NDArray[np.float64]
Picture = NDArray[np.uint8]

FLOOR_PX_M = 48
BOARD_PX_M = 60
BOARD_M = 1.07
GLASS_M = 1.9
_FLOOR = (132, 124, 108)  # blue, green, red of the floor
_LINE = (236, 238, 238)
_CREASE = (150, 112, 62)
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


def paint(rules: FloorRules, view: View, seed: int) -> Painted:
    """Paint the empty rink for a view.

    Parameters
    ----------
    rules : FloorRules
        Gives all lengths of floor, lines, creases and corners.
    view : View
        A still camera's view, or a wide one from which panning views are cut.
    seed : int
        For people in the stands and marks on the boards.

    Returns
    -------
    Painted
    """
    import cv2

    rng = np.random.default_rng([seed, 4])
    picture = np.full((view.height_px, view.width_px, 3), (34, 28, 26), np.uint8)
    _stands(picture, view, rules, rng)
    soft = view.focal_px / 1280  # the camera's focus is on the floor
    picture[:] = (cv2.GaussianBlur(picture, (0, 0), max(0.8, 6.5 * soft)) * 0.5).astype(np.uint8)
    _warp_plane(
        picture, view, floor_texture(rules, rng), (-rules.length_m / 2, rules.width_m / 2), (1, 0, 0), (0, -1, 0), FLOOR_PX_M,
        mask=_floor_mask(rules),
    )  # fmt: skip
    texture = _board_texture(rules, rng)
    _boards(picture, view, rules, texture, inside=True)
    front = np.zeros(picture.shape[:2], np.uint8)
    _near_side(picture, front, view, rules, rng)
    return Painted(view, picture, front)


def wide_view(view: View) -> View:
    """The view to paint for a panning camera: everything that it can see."""
    scale = view.width_px / 1280
    return View(view.place_m, 0.0, float(np.radians(27.0)), 1150 * scale, int(3900 * scale), int(1900 * scale))


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
    for a, b in zip(rough[:-1], rough[1:], strict=True):
        n = max(1, int(np.ceil(np.hypot(*(b - a)) / step_m)))
        fine.append(a + (b - a) * np.linspace(0, 1, n + 1)[1:, None])
    return np.vstack(fine)


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
            cv2.ellipse(lamp, (middle[0] // 8, middle[1] // 8), (16, 24), 0, 0, 360, 1.0, -1)
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
    cv2.ellipse(picture, at(0.4, 0.1), (int(1.25 * m), int(0.62 * m)), -24, 0, 360, ink, -1, cv2.LINE_AA)
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


def _warp_plane(
    picture: Picture, view: View, texture: Picture, corner: tuple[float, ...], along: tuple[float, float, float],
    down: tuple[float, float, float], px_m: float, mask: Picture | None = None,
) -> None:  # fmt: skip
    """Lay a flat texture into the picture: its top left at `corner`, its rows along one direction, its columns down another."""
    import cv2

    start = np.array([*corner, 0.0][:3], dtype=float)
    columns = np.column_stack([np.array(along) / px_m, np.array(down) / px_m, start - np.array(view.place_m)])
    matrix = view.lens @ view.axes @ columns
    h, w = texture.shape[:2]
    corners = matrix @ np.array([[0, w, w, 0], [0, 0, h, h], [1, 1, 1, 1]], dtype=float)
    if (corners[2] <= 0.1).any():
        return
    cover = np.full((h, w), 255, np.uint8) if mask is None else mask
    size = (picture.shape[1], picture.shape[0])
    x, y = corners[0] / corners[2], corners[1] / corners[2]
    x0, x1 = max(0, int(x.min()) - 1), min(size[0], int(x.max()) + 2)
    y0, y1 = max(0, int(y.min()) - 1), min(size[1], int(y.max()) + 2)
    if x1 <= x0 or y1 <= y0:
        return
    moved = np.array([[1, 0, -x0], [0, 1, -y0], [0, 0, 1.0]]) @ matrix
    area = (x1 - x0, y1 - y0)
    laid = cv2.warpPerspective(texture, moved, area, flags=cv2.INTER_LINEAR)
    share = cv2.warpPerspective(cover, moved, area, flags=cv2.INTER_LINEAR)[..., None].astype(np.float32) / 255
    part = picture[y0:y1, x0:x1]
    part[:] = (part * (1 - share) + laid * share).astype(np.uint8)


def _board_texture(rules: FloorRules, rng: np.random.Generator) -> Picture:
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
                cv2.FONT_HERSHEY_DUPLEX,
                0.95,
                ink,
                2,
                cv2.LINE_AA,
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


def _boards(picture: Picture, view: View, rules: FloorRules, texture: Picture, *, inside: bool) -> None:
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
        _warp_plane(picture, view, stretched, (first[0], first[1], BOARD_M), (unit[0], unit[1], 0), (0, 0, -1), scale)
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


def _stands(picture: Picture, view: View, rules: FloorRules, rng: np.random.Generator) -> None:
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
                _warp_plane(
                    picture, view, piece, (at[0], at[1], 1.2 + rise * row + rise + 0.95), (unit[0], unit[1], 0), (0, 0, -1), px_m,
                    mask=hold,
                )  # fmt: skip


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
            cv2.ellipse(strip, (middle, top + 14), (7, 9), 0, 0, 360, (*shirt, 255), -1)
            cv2.circle(strip, (middle, top), 5, (*skin, 255), -1)
            hair = tuple(int(v) for v in rng.choice(_HAIR))
            cv2.ellipse(strip, (middle, top - 2), (5, 4), 0, 180, 360, (*hair, 255), -1)
    return strip


_CLOTHES = np.array(
    [(79, 110, 11), (60, 60, 70), (150, 90, 40), (60, 70, 160), (200, 196, 190), (40, 120, 190), (90, 80, 76)]
)
_SKIN = np.array([(150, 180, 225), (100, 135, 190), (60, 90, 140), (170, 195, 235)])
_HAIR = np.array([(20, 25, 35), (30, 50, 80), (60, 110, 160), (90, 90, 95)])


def _near_side(picture: Picture, front: Picture, view: View, rules: FloorRules, rng: np.random.Generator) -> None:
    """The near boards from behind, benches with players, and what covers the floor."""
    import cv2

    points = perimeter(rules)
    eye = np.array(view.place_m[:2])
    near = []
    for a, b in zip(points[:-1], points[1:], strict=True):
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
        cv2.line(picture, p, q, (120, 88, 46), max(2, round(view.focal_px / 25 * 0.12)), cv2.LINE_AA, 4)
    y = -rules.width_m / 2 - 0.9
    for side, shirt in ((-1, (79, 110, 11)), (1, (70, 70, 80))):
        for k in range(11):
            x = side * (2.4 + 0.95 * k)
            spot = view.seen(np.array([[x, y, 0.6], [x, y, 1.25]]))
            if (spot[:, 2] < 0.5).any():
                continue
            scale = view.focal_px / float(spot[0, 2])
            body, head = (tuple(int(v) for v in np.rint(s[:2])) for s in spot)
            cv2.ellipse(picture, body, (int(0.3 * scale), int(0.34 * scale)), 0, 0, 360, shirt, -1, cv2.LINE_AA)
            cv2.circle(picture, head, int(0.15 * scale), (52, 52, 56), -1, cv2.LINE_AA)
            cv2.circle(picture, head, int(0.15 * scale), (30, 30, 32), max(1, int(0.03 * scale)), cv2.LINE_AA)
            cv2.circle(front, head, int(0.15 * scale), 255, -1, cv2.LINE_AA)
            cv2.ellipse(front, body, (int(0.3 * scale), int(0.34 * scale)), 0, 0, 360, 255, -1, cv2.LINE_AA)


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
            cv2.ellipse(picture, body, (int(0.26 * scale), int(0.36 * scale)), 0, 0, 360, shirt, -1, cv2.LINE_AA)
            cv2.circle(picture, head, int(0.14 * scale), hair, -1, cv2.LINE_AA)
