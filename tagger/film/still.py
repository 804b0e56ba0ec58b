"""One exact picture out of a film."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tagger.film.errors import FilmTorn
from tagger.film.index import FrameIndex
from tagger.film.picture import PictureChain, rgb
from tagger.film.reader import FrameReader

JPEG_QUALITY = 90


def still(path: Path | str, index: FrameIndex, frame: int) -> NDArray[np.uint8]:
    """The picture of one frame as it is shown.

    Parameters
    ----------
    path : Path or str
        The film.
    index : FrameIndex
        Its frame index.
    frame : int
        Frame number, from 0.

    Returns
    -------
    uint8[height, width, 3]
        RGB, upright, square pixels.

    Raises
    ------
    BadClip
        When the film has no such frame.
    FilmTorn
        When the frame can't be decoded.
    """
    with FrameReader(path, index) as reader:
        chain = PictureChain(index.time_base, reader.aspect, pix_fmt="rgb24")
        for _, stored in reader.frames(frame, frame + 1):
            for picture in [*chain.push(stored), *chain.flush()]:
                return rgb(picture)
    raise FilmTorn(f"frame {frame} can't be decoded", path, "choose a moment beside it")


def still_jpeg(path: Path | str, index: FrameIndex, frame: int, *, width_px: int | None = None) -> bytes:
    """One frame as a JPEG file's bytes, made no wider than `width_px`; otherwise as `still`."""
    import cv2

    picture = still(path, index, frame)
    height, width = picture.shape[:2]
    if width_px is not None and 0 < width_px < width:
        size = (width_px, max(1, round(height * width_px / width)))
        picture = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    flags = [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY]
    ok, data = cv2.imencode(".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), flags)
    if not ok:
        raise ValueError(f"a picture of {width} x {height} can't be written as JPEG")
    return data.tobytes()
