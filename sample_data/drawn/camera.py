"""A camera in the stand that never leaves its spot: it stands still, or pans, tilts and zooms."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.motion import Moved
from tagger.floor.rules import FloorRules

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class View:
    """Where a camera looks in one frame.

    Attributes
    ----------
    place_m : tuple
        The camera's place, rink coordinates and height, metres.
    pan_rad, tilt_rad : float
        To the right from the view straight across the floor; downwards from level.
    focal_px : float
        Focal length in pixels.
    width_px, height_px : int
        The picture's size; the optical axis goes through its middle.
    """

    place_m: tuple[float, float, float]
    pan_rad: float
    tilt_rad: float
    focal_px: float
    width_px: int
    height_px: int

    @property
    def axes(self) -> Floats:
        """Rows: right, down and forward of the camera, as unit vectors."""
        sin_p, cos_p = np.sin(self.pan_rad), np.cos(self.pan_rad)
        sin_t, cos_t = np.sin(self.tilt_rad), np.cos(self.tilt_rad)
        forward = np.array([sin_p * cos_t, cos_p * cos_t, -sin_t])
        right = np.array([cos_p, -sin_p, 0.0])
        return np.stack([right, np.cross(forward, right), forward])

    @property
    def lens(self) -> Floats:
        """From directions in the camera's axes to homogeneous pixels."""
        return np.array([[self.focal_px, 0, self.width_px / 2], [0, self.focal_px, self.height_px / 2], [0, 0, 1.0]])

    def seen(self, points_m: Floats) -> Floats:
        """Pixels of places in space.

        Parameters
        ----------
        points_m : ndarray, shape (n, 3)
            Metres.

        Returns
        -------
        ndarray, shape (n, 3)
            x and y in pixels, and the distance along the axis in metres (negative behind the camera).
        """
        inside = (points_m - np.array(self.place_m)) @ self.axes.T
        depth = inside[:, 2:3]
        safe = np.where(np.abs(depth) < 1e-6, 1e-6, depth)
        flat = inside[:, :2] * self.focal_px / safe + np.array([self.width_px / 2, self.height_px / 2])
        return np.hstack([flat, depth])

    def from_view(self, other: View) -> Floats:
        """The homography from another view of the same camera to this one."""
        return self.lens @ self.axes @ other.axes.T @ np.linalg.inv(other.lens)


def spot_m(rules: FloorRules) -> tuple[float, float, float]:
    """The camera's place: in the stand at the middle of the near side."""
    return 0.0, -(rules.width_m / 2 + 10.8), 13.8


def still_view(rules: FloorRules, width_px: int, height_px: int) -> View:
    """The view that shows the whole floor."""
    place = spot_m(rules)
    tilt = float(np.radians(33.5))
    depth = -place[1] * np.cos(tilt) + place[2] * np.sin(tilt)
    focal = width_px / 2 / (rules.length_m / 2 + 0.2) * float(depth)
    return View(place, 0.0, tilt, focal, width_px, height_px)


def high_view(rules: FloorRules, width_px: int, height_px: int) -> View:
    """The whole floor from high up, which fills the picture and keeps players apart who stand behind each other."""
    place = (0.0, -(rules.width_m / 2 + 9.0), 22.0)
    tilt = float(np.arctan2(place[2], 1.0 - place[1]))
    depth = -place[1] * np.cos(tilt) + place[2] * np.sin(tilt)
    return View(place, 0.0, tilt, width_px / 2 / (rules.length_m / 2 + 0.2) * float(depth), width_px, height_px)


def views(
    moved: Moved, rules: FloorRules, width_px: int, *, height_px: int, fps: float, pan: bool, seed: int,
    high: bool = False,
) -> list[View]:  # fmt: skip
    """The camera's view in every frame.

    A still camera always gives the same view. A panning one follows the ball and the people around it, late and
    smoothly, as a person with a tripod does, and zooms in when play has settled.
    """
    n_frames = len(moved.ball_m)
    if not pan:
        still = high_view if high else still_view
        return [still(rules, width_px, height_px)] * n_frames
    place = np.array(spot_m(rules))
    aim_x, aim_y, wide = _aims(moved, rules, n_frames)
    rng = np.random.default_rng([seed, 3])
    ahead = np.minimum(np.arange(n_frames) + round(0.45 * fps), n_frames - 1)  # a good operator sees it coming
    aim_x, aim_y, wide = aim_x[ahead], aim_y[ahead], wide[ahead]
    aim_x = _smooth(_smooth(aim_x, 0.45, fps), 0.3, fps)
    aim_y = _smooth(_smooth(aim_y, 0.9, fps), 0.5, fps)
    wide = _smooth(_smooth(wide, 1.1, fps), 0.8, fps)
    t = np.arange(n_frames) / fps
    phase = rng.uniform(0, 2 * np.pi, 4)
    found = []
    for frame in range(n_frames):
        dx, dy, dz = aim_x[frame] - place[0], aim_y[frame] - place[1], 0.8 - place[2]
        pan_rad = (
            np.arctan2(dx, dy) + 0.0011 * np.sin(1.7 * t[frame] + phase[0]) + 0.0007 * np.sin(4.1 * t[frame] + phase[1])
        )
        tilt_rad = np.arctan2(-dz, np.hypot(dx, dy)) + 0.0008 * np.sin(1.3 * t[frame] + phase[2])
        focal = width_px * float(np.sqrt(dx * dx + dy * dy + dz * dz)) / wide[frame]
        found.append(View(tuple(place.tolist()), float(pan_rad), float(tilt_rad), float(focal), width_px, height_px))
    return found


def _aims(moved: Moved, rules: FloorRules, n_frames: int) -> tuple[Floats, Floats, Floats]:
    """What the camera would like to look at, frame by frame: x, y, and how many metres wide."""
    aim_x, aim_y, wide = np.zeros(n_frames), np.zeros(n_frames), np.full(n_frames, 30.0)
    total, count = np.zeros((n_frames, 2)), np.zeros(n_frames)
    low, high = np.full(n_frames, np.inf), np.full(n_frames, -np.inf)
    runners = [track for track in moved.tracks if not track.goal]
    ball_xy = moved.ball_m[:, :2].copy()
    crowd, heads = np.zeros((n_frames, 2)), np.zeros(n_frames)
    for track in runners:
        span = slice(track.from_frame, track.from_frame + len(track.heading))
        crowd[span] += track.place_m
        heads[span] += 1
    away = ~moved.ball_shown  # an official has it: look at the people
    ball_xy[away] = crowd[away] / np.maximum(heads[away], 1)[:, None]
    for track in runners:
        span = slice(track.from_frame, track.from_frame + len(track.heading))
        x = track.place_m[:, 0]
        near = np.abs(x - ball_xy[span, 0]) < 17
        total[span] += track.place_m * near[:, None]
        count[span] += near
        low[span] = np.where(near, np.minimum(low[span], x), low[span])
        high[span] = np.where(near, np.maximum(high[span], x), high[span])
    middle = total / np.maximum(count, 1)[:, None]
    for frame in range(n_frames):
        ball_x, ball_y = ball_xy[frame]
        if count[frame] == 0:
            middle[frame] = ball_x, 0.0
            low[frame] = high[frame] = ball_x
        aim_x[frame] = 0.5 * ball_x + 0.5 * middle[frame, 0]
        near_goal = float(np.clip((abs(aim_x[frame]) - 6) / 8, 0, 1)) * 0.3
        aim_x[frame] += near_goal * (np.sign(aim_x[frame]) * rules.goal_x_m - aim_x[frame])
        aim_y[frame] = 1.4 + 0.2 * ball_y + 0.25 * middle[frame, 1]
        spread = max(high[frame], ball_x) - min(low[frame], ball_x)
        wide[frame] = np.clip(1.2 * spread + 7.0, 20.5, 33.0) if moved.live[frame] else 27.0
    reach = rules.length_m / 2 - 10.0
    return np.clip(aim_x, -reach, reach), np.clip(aim_y, -3.5, 3.0), wide


def _smooth(values: Floats, lag_s: float, fps: float) -> Floats:
    """Follow a row of values late, by a first-order lag."""
    share = 1 - float(np.exp(-1 / (lag_s * fps)))
    out = np.empty_like(values)
    here = float(values[: max(1, int(fps))].mean())
    for index, value in enumerate(values):
        here += (float(value) - here) * share
        out[index] = here
    return out
