"""Recordings put one after the other into one file, each with a clock that begins anew.

A stream's files can be joined by writing their bytes into one. Where the camera's clock ran on, that is one film.
Where it began anew the same time stamp stands for several frames, and no time names a frame any more.

Such a file is refused, saying to bring the parts. A 33-bit clock that wraps is unwrapped by the demuxer, wherever in
the film that is.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

BACK_S = 1.0  # frames come a little out of order for the decoder's sake; never so far
STRAY_FRAMES = 12  # fewer in a row are damaged time stamps
SHARE = 0.05  # of all frames: less is a piece of the file that came twice, and does no harm


def clock_restarts_after_s(pts: NDArray[np.int64], base: Fraction) -> float | None:
    """When a film's clock goes back for good.

    Parameters
    ----------
    pts : int64[n]
        Presentation times in the order of decoding.
    base : Fraction
        Seconds per unit.

    Returns
    -------
    float or None
        After how many seconds of frames the clock begins anew; none when it only runs on.
    """
    edges = np.flatnonzero(np.abs(np.diff(pts)) * float(base) > BACK_S) + 1
    runs = [run for run in np.split(pts, edges) if len(run) > STRAY_FRAMES]
    if not runs:
        return None
    begun, latest = int(runs[0].min()), int(runs[0].max())
    at_s, n_behind = 0.0, 0
    for run in runs[1:]:
        if int(run.min()) < latest - BACK_S / float(base):
            at_s = at_s if n_behind else float((latest - begun) * base)
            n_behind += len(run)
        latest = max(latest, int(run.max()))
    return at_s if n_behind > SHARE * len(pts) else None
