"""A copy of a season unpacked: every name and size in it is checked before a byte is written, every part as it is."""

from __future__ import annotations

import os
import re
import shutil
import stat
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

from dashboard.copies.packing import NEVER
from dashboard.errors import WrongCopy
from tagger.store.exchange import READY

MOST_FILES = 100_000
_SPARE_BYTES = 32 * 1024 * 1024
_CHUNK = 1024 * 1024
_NOT_ON_WINDOWS = re.compile(
    r'[\x00-\x1f\\:*?"<>|]|[ .](/|\Z)|(\A|/)(con|prn|aux|nul|com\d|lpt\d)(\.|/|\Z)', re.IGNORECASE
)
TORN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError)


def parts_of(archive: zipfile.ZipFile, name: str) -> list[zipfile.ZipInfo]:
    """The files of a copy, when all of them may be unpacked.

    Parameters
    ----------
    archive : ZipFile
        Open.
    name : str
        The file's name, for messages.

    Returns
    -------
    list of ZipInfo
        Without folders.

    Raises
    ------
    WrongCopy
        A name leads out of the folder, is a link, or is none that floorbook would write.
    """
    from tagger.store.before_opening import DATABASE
    from tagger.texts.settings import SETTINGS

    parts = [info for info in archive.infolist() if not info.is_dir()]
    if len(parts) > MOST_FILES:
        raise WrongCopy(f"{name}: {len(parts)} files; no copy of a season has so many. Nothing was changed")
    seen: set[str] = set()
    for info in parts:
        why = _wrong(info)
        if why or info.filename in seen:
            raise WrongCopy(
                f"{name}: “{_shown(info.filename)}” in it {why or 'is there twice'}; no copy that floorbook made. "
                "Nothing was changed"
            )
        seen.add(info.filename)
    names = {info.filename for info in parts}
    if DATABASE not in names or SETTINGS not in names:
        raise WrongCopy(f"{name}: no copy of a season (no {DATABASE} and {SETTINGS} in it); nothing was changed")
    return parts


def room_for(parts: list[zipfile.ZipInfo], where: Path, name: str) -> None:
    """Refuse what there is no room for.

    Parameters
    ----------
    parts : list of ZipInfo
        What will be unpacked.
    where : Path
        A folder on the disk it goes to.
    name : str
        The file's name, for messages.

    Raises
    ------
    WrongCopy
        It would fill the disk.
    """
    wanted, free = sum(info.file_size for info in parts) + _SPARE_BYTES, shutil.disk_usage(where).free
    if wanted > free:
        raise WrongCopy(
            f"{name}: unpacked it takes {wanted / 1e9:.2f} GB, the disk has {free / 1e9:.2f} GB free; make room. "
            "Nothing was changed"
        )


def unpack(
    archive: zipfile.ZipFile, info: zipfile.ZipInfo, target: Path, report: Callable[[int], None] | None = None
) -> None:
    """Unpack one file, for its owner only, no longer than it says it is, and onto the disk.

    Parameters
    ----------
    archive : ZipFile
        Open.
    info : ZipInfo
        Which.
    target : Path
        Where; nothing lies there.
    report : callable, optional
        Told how many bytes more are done.

    Raises
    ------
    zipfile.BadZipFile, zlib.error, EOFError
        It is not what its checksum says.
    """
    target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    left = info.file_size
    flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0)
    with archive.open(info) as part, os.fdopen(os.open(target, flags, 0o600), "wb") as out:
        while chunk := part.read(_CHUNK):
            left -= len(chunk)
            if left < 0:
                raise zipfile.BadZipFile(f"{info.filename} is longer than it says")
            out.write(chunk)
            if report is not None:
                report(len(chunk))
        if left:
            raise zipfile.BadZipFile(f"{info.filename} is shorter than it says")
        out.flush()
        os.fsync(out.fileno())


def is_same(info: zipfile.ZipInfo, path: Path) -> bool:
    """Whether a file is what a part of a copy is, by size and checksum.

    Parameters
    ----------
    info : ZipInfo
        The part.
    path : Path
        The file.

    Returns
    -------
    bool
        False also for what is no plain file.
    """
    if path.is_symlink() or not path.is_file() or path.stat().st_size != info.file_size:
        return False
    seen = 0
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            seen = zlib.crc32(chunk, seen)
    return seen == info.CRC


def _wrong(info: zipfile.ZipInfo) -> str:
    name, mode = info.filename, info.external_attr >> 16
    if info.flag_bits & 1:
        return "is locked by a password"
    if mode and stat.S_IFMT(mode) not in (0, stat.S_IFREG):
        return "is a link or a device"
    folders = name.split("/")
    if {"", ".", ".."} & set(folders) or "\0" in name:
        return "is a name that leads elsewhere"
    if os.name == "nt" and _NOT_ON_WINDOWS.search(name):
        return "is a name that Windows does not take"
    if name.endswith(NEVER) or folders[0].casefold() == READY:
        return "is nothing that a copy holds"
    return ""


def _shown(name: str) -> str:
    return name[:80].encode("unicode_escape").decode()
