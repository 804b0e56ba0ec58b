"""One player as a drawing: legs that run, a jersey with a number, arms, a stick, a helmet; goalkeepers are bulkier.

Joints are placed in space around the player's place and heading, scaled a little over life so that numbers can be
read from the stand, and projected by the camera; limbs are thick lines between the projected joints.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.camera import View

Floats = NDArray[np.float64]
Picture = NDArray[np.uint8]
Colour = tuple[int, int, int]

OVER_LIFE = 1.2
FROM_HIGH = 1.56
"""So much over life where the camera is so far up that the whole floor is in a small picture."""
_SHIFT = 4
_SUB = 1 << _SHIFT


@dataclass(frozen=True)
class Kit:
    """A team's colours, each blue, green, red."""

    jersey: Colour
    trim: Colour
    shorts: Colour
    number: Colour
    helmet: Colour


@dataclass(frozen=True)
class Pose:
    """A player in one frame: place, heading, how far he has run (metres) and how fast he is (metres per second).

    A goalkeeper's stick may `reach` for a place in space: x, y, height, and how far on its way it is (0 to 1).
    """

    x_m: float
    y_m: float
    heading: float
    run_m: float
    speed_m_s: float
    number: str
    goalie: bool
    left_handed: bool
    has_ball: bool
    raised: float = 0.0
    reach: tuple[float, float, float, float] | None = None


def draw_figure(picture: Picture, view: View, pose: Pose, kit: Kit, size: float = OVER_LIFE) -> None:
    """Draw one player into the picture, so many times his size."""
    import cv2

    joints, scale, facing = _joints(view, pose, size)
    if scale < 4 or not _visible(picture, joints):
        return
    wide = 1.55 if pose.goalie else 1.0
    skin = (128, 160, 206)

    def limb(a: str, b: str, width_m: float, colour: Colour) -> None:
        cv2.line(
            picture,
            _fix(joints[a]),
            _fix(joints[b]),
            colour,
            thickness=max(1, round(width_m * scale)),
            lineType=cv2.LINE_AA,
            shift=_SHIFT,
        )

    _shadow(picture, view, pose, scale)
    near, far = ("l", "r") if joints["foot_l"][1] > joints["foot_r"][1] else ("r", "l")
    for side in (far, near):
        shade = 0.82 if side == far else 1.0
        limb(f"hip_{side}", f"knee_{side}", 0.2 * wide, _dim(kit.shorts, shade))
        limb(f"knee_{side}", f"foot_{side}", 0.15 * wide, _dim((232, 232, 230) if pose.goalie else skin, shade))
        limb(f"foot_{side}", f"toe_{side}", 0.13 * wide, (50, 46, 44))
    cv2.line(
        picture,
        _fix(joints["hip_l"]),
        _fix(joints["hip_r"]),
        kit.shorts,
        thickness=max(2, round(0.26 * wide * scale)),
        lineType=cv2.LINE_AA,
        shift=_SHIFT,
    )
    away = joints["stick"][1] < joints["chest"][1] - 0.05 * scale
    if away:
        _stick(picture, joints, scale, pose)
    half = (0.30 + 0.05 * facing) * wide * scale
    body = _torso(picture, joints, half, scale, kit)
    for side in (far, near):
        limb(f"shoulder_{side}", f"elbow_{side}", 0.15 * wide, _dim(kit.jersey, 0.86))
        limb(f"elbow_{side}", f"hand_{side}", 0.12 * wide, skin)
        cv2.circle(
            picture,
            _fix(joints[f"hand_{side}"]),
            max(_SUB, round(0.1 * scale * _SUB)),
            kit.helmet,
            thickness=-1,
            lineType=cv2.LINE_AA,
            shift=_SHIFT,
        )
    if not away:
        _stick(picture, joints, scale, pose)
    _number(picture, pose.number, body, half, kit)
    _head(picture, joints, scale, kit)


def _joints(view: View, pose: Pose, size: float) -> tuple[dict[str, Floats], float, float]:
    ahead = np.array([np.cos(pose.heading), np.sin(pose.heading), 0.0])
    aside = np.array([-ahead[1], ahead[0], 0.0])
    foot = np.array([pose.x_m, pose.y_m, 0.0])
    up = np.array([0, 0, 1.0])
    swing = min(0.42, 0.05 + 0.075 * pose.speed_m_s) * np.sin(pose.run_m * 2 * np.pi / (1.1 + 0.18 * pose.speed_m_s))
    crouch = 0.12 if pose.speed_m_s < 1.2 else 0.0
    lean = ahead * min(0.24, 0.05 + 0.03 * pose.speed_m_s)
    spread = 0.30 if pose.goalie else 0.19 if crouch else 0.12
    hip = foot + up * (0.95 - crouch) * size
    chest = hip + (up * 0.52 + lean) * size
    hand = 1.0 if pose.left_handed else -1.0
    points: dict[str, Floats] = {"hip": hip, "chest": chest, "head": chest + (up * 0.30 + lean * 0.5) * size}
    for name, sign in (("l", 1.0), ("r", -1.0)):
        step = swing * sign
        lift = max(0.0, -np.sign(swing) * sign * abs(swing)) * 0.35
        points[f"hip_{name}"] = hip + aside * sign * 0.14 * size
        points[f"foot_{name}"] = foot + (aside * sign * spread + ahead * step + up * (0.08 + lift)) * size
        points[f"toe_{name}"] = points[f"foot_{name}"] + ahead * 0.16 * size
        middle = (points[f"hip_{name}"] + points[f"foot_{name}"]) / 2
        points[f"knee_{name}"] = middle + ahead * (0.10 + 0.5 * lift + crouch * 0.7) * size
        points[f"shoulder_{name}"] = chest + (aside * sign * 0.27 + up * 0.0) * size
    raise_m = pose.raised
    head_of_stick = foot + ahead * (0.42 if pose.has_ball else 0.62) + aside * hand * 0.42 + up * (1.5 + raise_m) * 1.0
    if pose.goalie:
        head_of_stick = foot + ahead * 0.55 + aside * hand * 0.12 + up * 0.42
    butt = foot + (ahead * 0.30 - aside * hand * 0.22 + up * (0.86 + 0.3 * raise_m)) * size
    if pose.goalie:
        butt = foot + (ahead * 0.35 - aside * hand * 0.05 + up * 1.25) * size
    if pose.reach is not None:
        head_of_stick = head_of_stick + (np.array(pose.reach[:3]) - head_of_stick) * pose.reach[3]
    points["stick"], points["butt"] = head_of_stick, butt
    high, low = ("l", "r") if hand > 0 else ("r", "l")
    points[f"hand_{low}"] = butt + 0.12 * (head_of_stick - butt)
    points[f"hand_{high}"] = butt + 0.5 * (head_of_stick - butt)
    for name, sign in (("l", 1.0), ("r", -1.0)):
        between = (points[f"shoulder_{name}"] + points[f"hand_{name}"]) / 2
        points[f"elbow_{name}"] = between + (aside * sign * 0.12 - up * 0.10) * size
    names = list(points)
    seen = view.seen(np.stack([points[name] for name in names]))
    depth = float(seen[0, 2])
    if depth < 1:
        return {}, 0.0, 0.0
    to_eye = np.array(view.place_m[:2]) - foot[:2]
    facing = float(abs(ahead[:2] @ to_eye) / (np.hypot(*to_eye) + 1e-9))
    return {name: seen[k, :2] for k, name in enumerate(names)}, view.focal_px / depth * size / OVER_LIFE, facing


def _visible(picture: Picture, joints: dict[str, Floats]) -> bool:
    h, w = picture.shape[:2]
    x, y = joints["hip"]
    return -80 < x < w + 80 and -120 < y < h + 120


def _shadow(picture: Picture, view: View, pose: Pose, scale: float) -> None:
    middle = view.seen(np.array([[pose.x_m + 0.1, pose.y_m + 0.05, 0.0]]))[0]
    rx, ry = 0.52 * scale * (1.3 if pose.goalie else 1.0), 0.24 * scale
    x0, y0 = int(middle[0] - rx - 3), int(middle[1] - ry - 3)
    x1, y1 = int(middle[0] + rx + 4), int(middle[1] + ry + 4)
    h, w = picture.shape[:2]
    cx0, cy0, cx1, cy1 = max(0, x0), max(0, y0), min(w, x1), min(h, y1)
    if cx1 <= cx0 or cy1 <= cy0:
        return
    yy, xx = np.mgrid[cy0:cy1, cx0:cx1]
    far = ((xx - middle[0]) / rx) ** 2 + ((yy - middle[1]) / ry) ** 2
    dark = 1 - 0.42 * np.clip(1.15 - far, 0, 1)
    part = picture[cy0:cy1, cx0:cx1]
    part[:] = (part * dark[..., None]).astype(np.uint8)


def _torso(picture: Picture, joints: dict[str, Floats], half: float, scale: float, kit: Kit) -> tuple[Floats, Floats]:
    """The jersey; returns the middle of its top and bottom edge."""
    import cv2

    top, bottom = joints["chest"] + [0, -0.07 * scale], joints["hip"] + [0, 0.10 * scale]
    slope, drop = -0.03 * scale, 0.10 * scale
    above = np.array([[-half * 0.62, slope], [half * 0.62, slope], [half, drop], [-half, drop]]) + top
    below = np.array([[half * 0.86, 0.0], [-half * 0.86, 0.0]]) + bottom
    shape = np.vstack([above[:3], below, above[3:]])
    cv2.fillConvexPoly(picture, np.rint(shape * _SUB).astype(np.int32), kit.jersey, cv2.LINE_AA, _SHIFT)
    edge = np.array([shape[2], shape[3], shape[3] - [half * 0.28, 0], shape[2] - [half * 0.22, -0.02 * scale]])
    cv2.fillConvexPoly(picture, np.rint(edge * _SUB).astype(np.int32), _dim(kit.jersey, 0.8), cv2.LINE_AA, _SHIFT)
    cv2.line(
        picture,
        _fix(shape[4]),
        _fix(shape[3]),
        kit.trim,
        thickness=max(1, round(0.07 * scale)),
        lineType=cv2.LINE_AA,
        shift=_SHIFT,
    )
    cv2.line(
        picture,
        _fix(shape[0]),
        _fix(shape[1]),
        kit.trim,
        thickness=max(1, round(0.06 * scale)),
        lineType=cv2.LINE_AA,
        shift=_SHIFT,
    )
    return top, bottom


def _number(picture: Picture, number: str, body: tuple[Floats, Floats], half: float, kit: Kit) -> None:
    top, bottom = body
    tall = float(bottom[1] - top[1])
    height = max(7.0, 0.80 * tall)
    wide = min(2 * half * 0.94, height * (0.62 if len(number) == 1 else 1.24))
    middle = top + (bottom - top) * 0.50
    stamp = _stamp(number, round(height * 2) / 2, round(wide * 2) / 2)
    _lay(picture, stamp, float(middle[0]), float(middle[1]), kit.number)


@lru_cache(maxsize=4096)
def _stamp(number: str, height_px: float, width_px: float) -> Picture:
    """A number as coverage, with half a pixel of room on every side; cached by size."""
    import cv2

    thick = 26
    (w, h), _ = cv2.getTextSize(number, cv2.FONT_HERSHEY_SIMPLEX, 5.0, thick)
    big = np.zeros((h + 80, w + 80), np.uint8)
    cv2.putText(
        big,
        number,
        (40, h + 40),
        fontFace=cv2.FONT_HERSHEY_SIMPLEX,
        fontScale=5.0,
        color=255,
        thickness=thick,
        lineType=cv2.LINE_AA,
    )
    rows, columns = np.flatnonzero(big.any(axis=1)), np.flatnonzero(big.any(axis=0))
    big = big[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    size = (max(3, round(width_px)), max(5, round(height_px)))
    small = cv2.resize(big, size, interpolation=cv2.INTER_AREA)
    return np.pad(small, 2)


def _lay(picture: Picture, stamp: Picture, x: float, y: float, colour: Colour) -> None:
    import cv2

    h, w = stamp.shape
    left, top = x - w / 2, y - h / 2
    x0, y0 = int(np.floor(left)), int(np.floor(top))
    move = np.array([[1, 0, left - x0], [0, 1, top - y0]])
    share = cv2.warpAffine(stamp, move, (w + 1, h + 1), flags=cv2.INTER_LINEAR)
    ph, pw = picture.shape[:2]
    cx0, cy0, cx1, cy1 = max(0, x0), max(0, y0), min(pw, x0 + w + 1), min(ph, y0 + h + 1)
    if cx1 <= cx0 or cy1 <= cy0:
        return
    cover = share[cy0 - y0 : cy1 - y0, cx0 - x0 : cx1 - x0, None].astype(np.float32) / 255
    part = picture[cy0:cy1, cx0:cx1]
    part[:] = (part * (1 - cover) + np.array(colour, np.float32) * cover + 0.5).astype(np.uint8)


def _stick(picture: Picture, joints: dict[str, Floats], scale: float, pose: Pose) -> None:
    import cv2

    shaft = max(1, round(0.045 * scale))
    cv2.line(
        picture,
        _fix(joints["butt"]),
        _fix(joints["stick"]),
        (206, 208, 210),
        thickness=shaft,
        lineType=cv2.LINE_AA,
        shift=_SHIFT,
    )
    along = joints["stick"] - joints["butt"]
    angle = float(np.degrees(np.arctan2(along[1], along[0])))
    long_m, wide_m = (0.30, 0.19) if pose.goalie else (0.19, 0.115)
    axes = (max(_SUB * 2, round(long_m * scale * _SUB)), max(_SUB, round(wide_m * scale * _SUB)))
    cv2.ellipse(
        picture,
        _fix(joints["stick"]),
        axes,
        angle=angle,
        startAngle=0,
        endAngle=360,
        color=(244, 244, 242),
        thickness=max(1, round(0.05 * scale)),
        lineType=cv2.LINE_AA,
        shift=_SHIFT,
    )


def _head(picture: Picture, joints: dict[str, Floats], scale: float, kit: Kit) -> None:
    import cv2

    radius = max(2 * _SUB, round(0.165 * scale * _SUB))
    cv2.circle(picture, _fix(joints["head"]), radius, kit.helmet, thickness=-1, lineType=cv2.LINE_AA, shift=_SHIFT)
    forward = joints["stick"] - joints["chest"]
    forward = forward / (np.hypot(*forward) + 1e-6)
    cage = joints["head"] + np.array([forward[0] * 0.09, 0.05]) * scale
    cv2.circle(
        picture,
        _fix(cage),
        max(_SUB, round(0.09 * scale * _SUB)),
        (58, 60, 66),
        thickness=-1,
        lineType=cv2.LINE_AA,
        shift=_SHIFT,
    )


def _dim(colour: Colour, share: float) -> Colour:
    return int(colour[0] * share), int(colour[1] * share), int(colour[2] * share)


def _fix(point: Floats) -> tuple[int, int]:
    return int(np.rint(point[0] * _SUB)), int(np.rint(point[1] * _SUB))
