"""A film's identity: its size, samples of its content, and its frame index.

A moved or renamed file keeps its fingerprint; a replaced, re-encoded or trimmed one does not, so marks are
never silently shown on another film. Hours of film are not read through: a sample every so often is enough,
because any re-encoding changes all of it.

Ids of films come from it, so a journal exported from one laptop finds the same film on another.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from tagger.film.errors import from_os
from tagger.film.index import FrameIndex

N_SAMPLES = 32
SAMPLE_BYTES = 16_384
_VERSION = "fb1"


def fingerprint(path: Path | str, index: FrameIndex) -> str:
    """Identify a film whatever its name and place.

    Parameters
    ----------
    path : Path or str
        The film's file.
    index : FrameIndex
        Its frame index.

    Returns
    -------
    str
        Version and 40 hexadecimal digits, as `fb1-…`.

    Raises
    ------
    FilmMissing, FilmForbidden, FilmTorn
        When the file can't be read.
    """
    path = Path(path)
    digest = hashlib.sha256()
    try:
        size = path.stat().st_size
        digest.update(size.to_bytes(8, "little"))
        with path.open("rb") as file:
            for place in _places(size):
                file.seek(place)
                digest.update(file.read(SAMPLE_BYTES))
    except OSError as error:
        raise from_os(error, path) from error
    digest.update(f"{index.time_base.numerator}/{index.time_base.denominator}".encode("ascii"))
    digest.update(index.pts.astype("<i8").tobytes())
    digest.update(index.key.astype("u1").tobytes())
    return f"{_VERSION}-{digest.hexdigest()[:40]}"


def _places(size: int) -> list[int]:
    """Where to sample: the whole of a small file, otherwise evenly from its first byte to its last."""
    room = size - SAMPLE_BYTES
    if size <= N_SAMPLES * SAMPLE_BYTES:
        return list(range(0, max(1, size), SAMPLE_BYTES))
    return [room * n // (N_SAMPLES - 1) for n in range(N_SAMPLES)]
