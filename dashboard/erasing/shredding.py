"""Files that go for good: overwritten first, then taken away; and files that are replaced, the old one overwritten.

What was overwritten is gone from the file. A solid-state disk, a file system that keeps a journal or snapshots, and a
folder that is copied to a cloud may still hold what was there; `beyond` says so. A file of which another name leads to
the same content is only taken away: overwriting it would destroy what that other name is kept for.
"""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from tagger.written import PART_SUFFIX, whole_file

_ZEROS = bytes(1024 * 1024)


def shred(path: Path) -> None:
    """Overwrite a file with zeros and take it away; harmless when it is not there.

    Parameters
    ----------
    path : Path
        A file. A link is taken away, what it leads to stays; so does the content of a file that has another name.

    Raises
    ------
    OSError
        It can't be written or taken away.
    """
    try:
        found = path.lstat()
    except FileNotFoundError:
        return
    if stat.S_ISREG(found.st_mode) and found.st_nlink == 1:
        with path.open("r+b") as file:
            _overwrite(file)
    path.unlink(missing_ok=True)


def shred_folder(folder: Path) -> None:
    """Shred everything in a folder, and the folder.

    Parameters
    ----------
    folder : Path
        No link in it is followed.

    Raises
    ------
    OSError
        Something in it can't be taken away.
    """
    if folder.is_symlink() or not folder.is_dir():
        shred(folder)
        return
    for each in list(folder.iterdir()):
        shred_folder(each)
    folder.rmdir()


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Keep hold of a file's content while its name goes or leads to another file, and overwrite it at the end.

    Parameters
    ----------
    path : Path
        The file; harmless when it is not there. Nothing is overwritten while the name still leads to it.

    Yields
    ------
    None
        Replace it, or have it replaced or taken away, in the block.
    """
    beside = path.with_name(f".{path.name[:100]}.{secrets.token_hex(3)}{PART_SUFFIX}")
    file: BinaryIO | None = None
    try:
        os.link(path, beside)
    except FileNotFoundError:
        yield
        return
    except OSError:  # a disk without second names: keep it open instead, where a system allows that
        file = path.open("r+b") if os.name != "nt" else None
    try:
        yield
    finally:
        if file is not None:
            with file:
                if os.fstat(file.fileno()).st_nlink == 0:
                    _overwrite(file)
        with suppress(FileNotFoundError):
            shred(beside)


def replace_text(target: Path, text: str) -> None:
    """Write a text in the place of another, which is overwritten.

    Parameters
    ----------
    target : Path
        The file.
    text : str
        As it shall be, line ends included.

    Raises
    ------
    OSError
        It can't be written; what stood there still does.
    """
    with held(target), whole_file(target) as beside:
        beside.write_text(text, encoding="utf-8", newline="")


def _overwrite(file: BinaryIO) -> None:
    left = file.seek(0, os.SEEK_END)
    file.seek(0)
    while left > 0:
        left -= file.write(_ZEROS[:left])
    file.flush()
    os.fsync(file.fileno())
