"""The packets of an MP4 as its sample tables list them, tried against what the library reads.

The tables say when every frame of a film is shown without the film being read: hours of it on a card within a second
instead of minutes. They are believed only where the library agrees: with the number of its own entries and with many
of them, with the packets it reads at the beginning, in places all over the film and at the end, all at one common
shift of time (the edit list's). Wherever anything differs, nothing is given and the film is read through.

In H.264 and AV1 the library takes from the pictures themselves which packets decoding can begin at. There the tables'
list is believed where it agrees with the packets tried; a key picture that is damaged between those stays one here.

Reading 12 GB from a card takes minutes, so the tables are believed where the packets tried at the beginning, all over
the film and at its end agree; whatever is odd or torn is read through. Times are the same either way. In H.264 and
AV1 reading takes key flags from the pictures: a key picture damaged between the places tried stays a key frame in the
index, and the look through the film finds it damaged.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tagger.film.boxes import SampleTable, sample_table
from tagger.film.source import opened, packets_of, picture_stream, time_base

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.packet import Packet
    from av.video.stream import VideoStream

CODECS = ("h264", "hevc", "av1", "libdav1d", "mjpeg", "prores", "mpeg4")  # one packet a sample, always
N_HEAD, HEAD_BYTES = 120, 32 << 20
N_ENTRIES = 400
N_PLACES, N_THERE = 12, 3
MOST_TAIL, TAIL_BYTES = 2000, 128 << 20
_LOWEST = np.iinfo(np.int64).min
_Rows = NDArray[np.int64]  # [n, 5]: place in the file, PTS, key, hidden, duration


@dataclass(frozen=True, eq=False)
class _Listed:
    """What the tables say of the samples that the library reads, in units of the stream's time base.

    `rows` are int64[n, 5] like those of packets; `size` is int64[n], bytes.
    """

    rows: _Rows
    size: NDArray[np.int64]

    def agrees(self, packets: _Rows, first: int | None = None) -> bool:
        """Whether packets are listed one after the other, from `first` on or from wherever their first one lies."""
        if len(packets) == 0:
            return False
        if first is None:
            places = np.flatnonzero(self.rows[:, 0] == packets[0, 0])
            if len(places) != 1:
                return False
            first = int(places[0])
        return np.array_equal(self.rows[first : first + len(packets)], packets)


def sampled_packets(path: Path) -> tuple[NDArray[np.int64], NDArray[np.bool_], int] | None:
    """PTS and key flag of every packet to be shown, in decoding order, and how long the last one is shown.

    Parameters
    ----------
    path : Path
        A film.

    Returns
    -------
    tuple or None
        int64[n], bool[n] and int, as reading all packets gives it; None when the file has no plain tables, ends before
        its tables say, or they are not to be believed.

    Raises
    ------
    FilmMissing, FilmForbidden, NotFilm, FilmTorn, FilmTooMuch
    """
    with opened(path) as container:
        stream = picture_stream(container, path)
        if not container.format.name.startswith("mov") or stream.codec_context.name not in CODECS:
            return None
        table = sample_table(path, stream.id)
        if table is None or time_base(stream) * table.timescale != 1:
            return None
        if table.offset.min() < 0 or int((table.offset + table.size).max()) > path.stat().st_size:
            return None
        listed = _listed(table, container, stream)
        if listed is None or not _places_agree(listed, container, stream):
            return None
    shown = listed.rows[:, 3] == 0
    if not shown.any():
        return None
    last = int(np.argmax(np.where(shown, listed.rows[:, 1], _LOWEST)))
    if last < len(shown) - MOST_TAIL:
        return None
    return listed.rows[shown, 1].copy(), listed.rows[shown, 2].astype(bool), int(listed.rows[last, 4])


def _listed(table: SampleTable, container: InputContainer, stream: VideoStream) -> _Listed | None:
    """The samples from the first packet on, at the first packet's shift of time, if the packets after it agree.

    Of what lies before the edit's first frame the library keeps what it needs to decode that, and of what lies behind
    its end a little more; what is kept is one stretch of the samples.
    """
    head = _rows(packets_of(container, stream), N_HEAD, HEAD_BYTES)
    if len(head) == 0:
        return None
    entries = stream.index_entries
    n = len(entries)
    places = np.flatnonzero(table.offset == head[0, 0])
    if len(places) != 1 or not len(head) <= n <= len(table.size) - int(places[0]):
        return None
    part = slice(int(places[0]), int(places[0]) + n)
    shown = table.shown[part]
    begin, end = table.edit or (_LOWEST, np.iinfo(np.int64).max)
    hidden = (shown < begin) | (shown >= end)
    shift = int(head[0, 1]) - int(shown[0])
    rows = np.stack([table.offset[part], shown + shift, table.key[part], hidden, table.step[part]], axis=1)
    listed = _Listed(rows, table.size[part])
    if not listed.agrees(head, 0):
        return None
    for number in np.unique(np.linspace(0, n - 1, N_ENTRIES).astype(int)).tolist():
        entry = entries[number]
        said = (entry.pos, entry.size, entry.is_keyframe, entry.is_discard)
        if said != (rows[number, 0], listed.size[number], bool(rows[number, 2]), bool(rows[number, 3])):
            return None
    return listed


def _places_agree(listed: _Listed, container: InputContainer, stream: VideoStream) -> bool:
    """Whether what is read all over the film, and from its last key frame to its end, is what is listed."""
    n = len(listed.rows)
    keys = np.flatnonzero(listed.rows[:, 2])
    if len(keys) == 0 or n - keys[-1] > MOST_TAIL or listed.size[keys[-1] :].sum() > TAIL_BYTES:
        return False
    tried = keys[np.unique(np.linspace(0, len(keys) - 1, N_PLACES).astype(int))]
    for key in tried[1:-1].tolist():
        if not listed.agrees(_packets_at(listed, key, container, stream, N_THERE)):
            return False
    last = int(keys[-1])
    tail = _packets_at(listed, last, container, stream, MOST_TAIL + 1)
    return len(tail) > 0 and bool(tail[0, 0] <= listed.rows[last, 0]) and _ends(listed, tail)


def _ends(listed: _Listed, tail: _Rows) -> bool:
    """Whether the packets are the last ones listed, none more, none less."""
    first = len(listed.rows) - len(tail)
    return first >= 0 and listed.agrees(tail, first)


def _packets_at(listed: _Listed, key: int, container: InputContainer, stream: VideoStream, most: int) -> _Rows:
    container.seek(int(listed.rows[key, 1]), stream=stream)
    return _rows(packets_of(container, stream), most, TAIL_BYTES)


def _rows(packets: Iterable[Packet], most: int, most_bytes: int) -> _Rows:
    """Some packets as int64[n, 5]; none when one of them has no time or place."""
    rows: list[tuple[int, int, int, int, int]] = []
    n_bytes = 0
    for packet in islice(packets, most):
        if packet.size == 0:  # the end
            continue
        if packet.pts is None or packet.pos is None:
            return np.empty((0, 5), dtype=np.int64)
        rows.append((packet.pos, packet.pts, packet.is_keyframe, packet.is_discard, packet.duration or 0))
        n_bytes += packet.size
        if n_bytes > most_bytes:
            break
    return np.array(rows, dtype=np.int64).reshape(-1, 5)
