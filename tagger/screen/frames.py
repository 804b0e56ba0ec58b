"""When each frame of a film is shown, small enough to send: steps between frames, equal neighbours said once."""

from __future__ import annotations

from typing import Any

import numpy as np

from tagger.film.index import FrameIndex


def frame_times(index: FrameIndex) -> dict[str, Any]:
    """A frame index for the page.

    Parameters
    ----------
    index : FrameIndex
        The film's frames.

    Returns
    -------
    dict
        `base`: [numerator, denominator] of a unit in seconds; `steps`: [step, how often] pairs in units, the last one
        the time for which the last frame is shown. The first frame stands at 0.
    """
    steps = np.append(np.diff(index.pts), index.end_pts - index.pts[-1])
    ends = np.append(np.flatnonzero(np.diff(steps)), len(steps) - 1)
    counts = np.diff(np.append(-1, ends))
    return {
        "base": [index.time_base.numerator, index.time_base.denominator],
        "steps": [[int(step), int(n)] for step, n in zip(steps[ends], counts, strict=True)],
    }
