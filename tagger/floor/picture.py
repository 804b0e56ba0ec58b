"""From a point in the picture to a place on the floor, and back.

A floor is flat, so a camera's picture of it and the floor itself are tied by a homography: a 3 x 3 matrix that
four pairs of points fix, and more pairs steady. It is fitted by OpenCV's least squares, on points that are first
moved and scaled to a common size so that pixels and metres weigh alike (Hartley 1997, "In defense of the
eight-point algorithm", from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tagger.floor.errors import PointBeyondHorizon, PointsInLine, PointsTooFew

Floats = NDArray[np.float64]
_FLAT = 1e-4


@dataclass(frozen=True)
class FloorPicture:
    """How one picture shows the floor.

    Attributes
    ----------
    floor_from_picture : tuple of 9 floats
        The matrix, row by row, that takes homogeneous pixels to homogeneous metres.
    spread_m : float
        Root mean square distance, in metres, between the marked floor points and where the fit puts them;
        0 with four pairs, which any homography fits exactly.
    """

    floor_from_picture: tuple[float, ...]
    spread_m: float = 0.0

    @property
    def matrix(self) -> Floats:
        """The 3 x 3 matrix from pixels to metres."""
        return np.array(self.floor_from_picture, dtype=np.float64).reshape(3, 3)

    def on_floor(self, points_px: ArrayLike) -> Floats:
        """Places on the floor of points in the picture.

        Parameters
        ----------
        points_px : array_like, shape (n, 2)
            Pixels, x to the right and y down.

        Returns
        -------
        ndarray of float64, shape (n, 2)
            Metres.

        Raises
        ------
        PointBeyondHorizon
            If a point shows no place on the floor: it lies on or above the line where the floor ends in the picture.
        """
        points = _as_points(points_px)
        # Points of the floor that the camera sees all lie on one side of the horizon; the fit fixes the sign so
        # that this side is positive.
        return _apply(self.matrix, points, complain=True)

    def in_picture(self, points_m: ArrayLike) -> Floats:
        """Pixels of places on the floor, shape (n, 2) to (n, 2); places behind the camera come out as NaN."""
        return _apply(np.asarray(np.linalg.inv(self.matrix), dtype=np.float64), _as_points(points_m), complain=False)


def fit_floor(points_px: ArrayLike, points_m: ArrayLike) -> FloorPicture:
    """Fit how a picture shows the floor, from points known in both.

    Parameters
    ----------
    points_px : array_like, shape (n, 2)
        Pixels, n at least 4.
    points_m : array_like, shape (n, 2)
        The same points on the floor, metres.

    Returns
    -------
    FloorPicture
        Exact for four pairs, least squares for more.

    Raises
    ------
    PointsTooFew
        Fewer than four pairs, or lists of different length.
    PointsInLine
        No four of the points are in general position, in the picture or on the floor.

    Examples
    --------
    >>> fit = fit_floor([(0, 0), (1, 0), (1, 1), (0, 1)], [(0, 0), (4, 0), (3, 2), (1, 2)])
    >>> fit.on_floor([(0.5, 0.5)]).round(3).tolist()
    [[2.0, 1.333]]
    """
    import cv2

    picture, floor = _as_points(points_px), _as_points(points_m)
    if len(picture) != len(floor) or len(picture) < 4:
        raise PointsTooFew(len(picture), len(floor))
    for points, where in ((picture, "in the picture"), (floor, "on the floor")):
        if not _pins_down(points):
            raise PointsInLine(where)
    to_common_p, to_common_f = _common_size(picture), _common_size(floor)
    found, _ = cv2.findHomography(_apply(to_common_p, picture), _apply(to_common_f, floor), 0)
    if found is None:
        raise PointsInLine("in the picture or on the floor")
    matrix: Any = np.linalg.inv(to_common_f) @ np.asarray(found, dtype=np.float64) @ to_common_p
    depth = np.column_stack([picture, np.ones(len(picture))]) @ matrix[2]
    if depth.mean() < 0:
        matrix, depth = -matrix, -depth
    if depth.min() <= 0 or not np.isfinite(matrix).all():
        raise PointsInLine("in the picture, taken with their places on the floor,")
    matrix = matrix / (matrix[2, 2] if matrix[2, 2] > 1e-12 else np.abs(matrix).max())
    off = _apply(matrix, picture) - floor
    spread = float(np.sqrt((off**2).sum(axis=1).mean())) if len(picture) > 4 else 0.0
    return FloorPicture(tuple(float(value) for value in matrix.ravel()), spread)


def _as_points(points: ArrayLike) -> Floats:
    array = np.asarray(points, dtype=np.float64)
    return array.reshape(-1, 2)


def _apply(matrix: Floats, points: Floats, complain: bool = False) -> Floats:
    moved = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    depth = moved[:, 2]
    beyond = depth <= 1e-12
    if beyond.any() and complain:
        x_px, y_px = points[int(np.argmax(beyond))]
        raise PointBeyondHorizon(float(x_px), float(y_px))
    return moved[:, :2] / np.where(beyond, np.nan, depth)[:, None]


def _common_size(points: Floats) -> Floats:
    """Matrix that moves points to mean 0 and mean distance √2."""
    middle = points.mean(axis=0)
    scale = np.sqrt(2) / max(float(np.linalg.norm(points - middle, axis=1).mean()), 1e-12)
    return np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1.0]])


def _pins_down(points: Floats) -> bool:
    """Whether some four of the points have no three on a line: then a homography is fixed by them.

    The points fail if all but at most one lie on one line (then any four hold three in line) or if fewer than four
    differ. So: for the line through each pair, at least two points must stand clear of it.
    """
    size = float(np.linalg.norm(points - points.mean(axis=0), axis=1).max())
    if size == 0:
        return False
    n = len(points)
    for i in range(n):
        for j in range(i + 1, n):
            along = points[j] - points[i]
            length = float(np.linalg.norm(along))
            if length < _FLAT * size:
                if n == 4:
                    return False
                continue
            offset = points - points[i]
            away = np.abs(along[0] * offset[:, 1] - along[1] * offset[:, 0]) / length
            if (away > _FLAT * size).sum() < 2:
                return False
    return True
