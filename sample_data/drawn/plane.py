"""Flat things in space laid into a picture as a camera sees them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sample_data.drawn.camera import View

Picture = NDArray[np.uint8]


def lay(
    picture: Picture, view: View, texture: Picture, *, corner: tuple[float, ...], along: tuple[float, float, float],
    down: tuple[float, float, float], px_m: float, mask: Picture | None = None,
) -> None:  # fmt: skip
    """Lay a flat texture into the picture: top left at `corner`, rows along one direction, columns down another."""
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
