"""In which order a film's frames are stored, as far as its beginning tells.

Frames that others refer to are stored before these, so the order is not that of showing. Two things follow for a
browser. A file that stores no decoding times needs some, early enough for the deepest such frame. And in H.264 with
open groups, where frames stored after a key frame are shown before it and refer to frames before that, Chromium gives
up with a decoding error when it seeks to that key frame (seen in Chromium 156).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tagger.film.source import opened, packets_of, picture_stream

N_PACKETS, N_GROUPS, MOST_BYTES = 600, 8, 32 << 20  # a card is slow
_EDGE = 20  # of the last frames looked at, some mates are not seen


@dataclass(frozen=True)
class Order:
    """What the beginning tells.

    Attributes
    ----------
    depth : int
        By how many frames decoding must run ahead of showing.
    open_groups : bool
        Whether frames stored after a later key frame are shown before it.
    """

    depth: int
    open_groups: bool


def order_of(path: Path) -> Order:
    """Read the order of a film's first frames.

    Parameters
    ----------
    path : Path
        The film.

    Returns
    -------
    Order
        Of frames that carry times; in order where none does.

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn
    """
    with opened(path) as container:
        stream = picture_stream(container, path)
        read: list[tuple[int, bool]] = []
        n_keys = n_bytes = 0
        to_the_end = True
        for n, packet in enumerate(packets_of(container, stream)):
            if packet.pts is None or not packet.size:
                continue
            n_keys += packet.is_keyframe
            n_bytes += packet.size
            if n >= N_PACKETS or n_keys > N_GROUPS or n_bytes > MOST_BYTES:
                to_the_end = False
                break
            read.append((packet.pts, packet.is_keyframe))
    first = next((n for n, (_, key) in enumerate(read) if key), len(read))
    begun = [(pts, key) for pts, key in read[first:] if pts >= read[first][0]]
    if not begun:
        return Order(0, False)
    pts = np.array([at for at, _ in begun], dtype=np.int64)
    rank = np.argsort(np.argsort(pts, kind="stable"), kind="stable")
    ahead = (np.arange(len(pts)) - rank)[: max(1, len(pts) - (0 if to_the_end else _EDGE))]
    keys = [n for n, (_, key) in enumerate(begun) if key and n]
    return Order(int(max(0, ahead.max())), any(bool((pts[n + 1 :] < pts[n]).any()) for n in keys))
