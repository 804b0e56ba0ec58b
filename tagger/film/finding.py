"""Finding films again that were moved or renamed: a whole folder at once, by their fingerprints."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from tagger.film.errors import FilmError, FilmStopped, from_os
from tagger.film.fingerprint import fingerprint
from tagger.film.index import Progress, Stop, build_index

_VIDEO = "3gp asf avi dv flv m2t m2ts m4v mkv mod mov mp4 mpeg mpg mts mxf ogv ts vob webm wmv"
SUFFIXES = frozenset(f".{word}" for word in _VIDEO.split(" "))
MAX_FILES = 20_000


def films_in(folder: Path | str) -> Iterator[Path]:
    """Files below a folder that are called like films, by name; hidden folders and links are passed over."""
    n = 0
    for place, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = Path(place, name)
            if path.suffix.casefold() in SUFFIXES and not name.startswith(".") and not path.is_symlink():
                yield path
                n += 1
                if n >= MAX_FILES:
                    return


def find_again(
    wanted: Mapping[str, int], folder: Path | str, *, progress: Progress | None = None, stop: Stop | None = None
) -> dict[str, Path]:
    """Look for known films below a folder.

    Parameters
    ----------
    wanted : mapping of str to int
        Size in bytes by fingerprint; only files of one of these sizes are looked into.
    folder : Path or str
        Where to look.
    progress, stop : callable, optional
        As in `tagger.film.index.build_index`.

    Returns
    -------
    dict of str to Path
        Where each one was found; those not found are missing.

    Raises
    ------
    FilmMissing
        When there is no such folder.
    FilmStopped
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise from_os(FileNotFoundError(2, "no such folder"), folder)
    sizes = set(wanted.values())
    candidates = [path for path in films_in(folder) if _size(path) in sizes]
    found: dict[str, Path] = {}
    for n, path in enumerate(candidates):
        if stop is not None and stop():
            raise FilmStopped("looking for films was stopped", folder, "start it again when you like")
        if progress is not None:
            progress(n / len(candidates), path.name)
        try:
            known = fingerprint(path, build_index(path, stop=stop))
        except FilmStopped:
            raise
        except FilmError:
            continue  # another file of that size, or a damaged copy: not the film
        if known in wanted:
            found.setdefault(known, path)
    if progress is not None:
        progress(1.0, f"{len(found)} of {len(wanted)} found")
    return found


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return -1
