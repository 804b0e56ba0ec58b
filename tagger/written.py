"""A file that is written beside its place and takes its name only when it is whole and on the disk.

Whatever floorbook writes goes through here, so that three things hold everywhere: a reader never meets half a file, a
full disk is called a full disk and leaves what was there, and what is written may be read by its owner only.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

PART_SUFFIX = ".part"
OWNER_ONLY = 0o600
OWNERS_FOLDER = 0o700
_FULL = frozenset({errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)})
_MOST_NAME = 120


class FullDisk(OSError):
    """There was no room to write a file; what stood there before is untouched.

    Parameters
    ----------
    target : Path
        The file that was to be written.
    """

    def __init__(self, target: Path) -> None:
        super().__init__(f"{target.name}: the disk is full; make room and try again, nothing was lost")
        self.target = target

    def __reduce__(self) -> tuple[type, tuple[Path]]:
        return type(self), (self.target,)


def is_full(fault: BaseException) -> bool:
    """Whether an error says that there is no room left: on the disk, in the user's share of it, or in a file.

    Parameters
    ----------
    fault : BaseException
        What was raised.

    Returns
    -------
    bool
        True for ENOSPC, EDQUOT and EFBIG, and for what was made of them here.
    """
    return isinstance(fault, FullDisk) or (isinstance(fault, OSError) and fault.errno in _FULL)


@contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """Write a file whole or not at all.

    Parameters
    ----------
    target : Path
        Where it shall be; its folder must be there. What is there already is replaced at the end, in one step.

    Yields
    ------
    Path
        Where to write: an empty file beside the target that its owner alone can read.

    Raises
    ------
    FullDisk
        There was no room; nothing half is left, and what stood there still does.
    OSError
        It can't be written there.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with whole_file(Path(folder) / "a.txt") as beside:
    ...         _ = beside.write_text("whole", encoding="utf-8")
    ...     [path.name for path in Path(folder).iterdir()]
    ['a.txt']
    """
    beside = target.with_name(f".{target.name[:_MOST_NAME]}.{secrets.token_hex(3)}{PART_SUFFIX}")
    try:
        _make(beside)
        yield beside
        put_in_place(beside, target)
    except OSError as fault:
        if is_full(fault) and not isinstance(fault, FullDisk):
            raise FullDisk(target) from fault
        raise
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """Write a folder whole or not at all.

    Parameters
    ----------
    target : Path
        Where it shall be: nothing, or an empty folder.

    Yields
    ------
    Path
        A new, empty folder beside the target that its owner alone can read; what an earlier try left there is gone.

    Raises
    ------
    FullDisk
        There was no room; nothing half is left.
    OSError
        It can't be written there.
    """
    target = target.absolute()
    beside = target.with_name(f".{target.name[:_MOST_NAME]}{PART_SUFFIX}")
    shutil.rmtree(beside, ignore_errors=True)
    try:
        beside.mkdir(mode=OWNERS_FOLDER, parents=True)
        yield beside
        if target.exists():
            target.rmdir()
        beside.replace(target)
    except BaseException as fault:
        shutil.rmtree(beside, ignore_errors=True)
        if is_full(fault) and not isinstance(fault, FullDisk):
            raise FullDisk(target) from fault
        raise


def begin_part(part: Path, *, afresh: bool = True) -> None:
    """Begin a file that grows under a name that others know, so that it can be gone on with or removed.

    Parameters
    ----------
    part : Path
        The growing file; its folder must be there. Nobody but its owner can read it.
    afresh : bool
        Whether what an earlier try left there is thrown away.

    Raises
    ------
    OSError
        It can't be made; for a full disk see `is_full`.
    """
    if afresh:
        part.unlink(missing_ok=True)
    elif part.exists():
        part.chmod(OWNER_ONLY)
        return
    _make(part)


def put_in_place(part: Path, target: Path) -> None:
    """Give a file that is whole its name, once all of it is on the disk.

    Parameters
    ----------
    part : Path
        The file, in the target's folder.
    target : Path
        Its place; what is there is replaced in one step.

    Raises
    ------
    OSError
        It did not get onto the disk, or may not stand there; for a full disk see `is_full`.
    """
    _on_disk(part)
    part.replace(target)
    _name_on_disk(target.parent)


def write_whole(target: Path, text: str) -> None:
    """Write a text whole or not at all, as UTF-8 with plain line ends.

    Parameters
    ----------
    target : Path
        The file.
    text : str
        What goes into it.

    Raises
    ------
    FullDisk, OSError
        As from `whole_file`.
    """
    with whole_file(target) as beside:
        beside.write_text(text, encoding="utf-8", newline="")


def _make(path: Path) -> None:
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))


def _on_disk(path: Path) -> None:
    with path.open("r+b") as file:
        os.fsync(file.fileno())


def _name_on_disk(folder: Path) -> None:
    """Have the new name on the disk too, where the system lets a folder be opened for that."""
    with suppress(OSError):
        held = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(held)
        finally:
            os.close(held)
