"""Every byte of a folder searched: names of files, texts, databases cell by cell and raw, archives unpacked.

A text is compared without accents and case. Bytes that are no text are searched for each way in which a name is written
down: UTF-8, UTF-16, Latin, percent signs, `\\u` escapes, composed or not. A short word says nothing in film, where any
three letters come up by chance; there words of six letters and more are looked for.
"""

from __future__ import annotations

import gzip
import io
import json
import os
import sqlite3
import unicodedata
import urllib.parse
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path
from typing import BinaryIO

from dashboard.erasing.person import Person, folded, search_forms
from tagger.progress import Progress

_CHUNK = 4 * 1024 * 1024
_LEAST_BYTES = 6
_MOST_TEXT = 64 * 1024 * 1024
_MOST_UNPACKED = 2 * 1024 * 1024 * 1024
_DEEPEST = 3
_DATABASE, _ZIP, _GZIP = b"SQLite format 3\0", b"PK\x03\x04", b"\x1f\x8b"
_QUIET = (".lock",)


class Search:
    """What is looked for, ready to be looked for.

    Parameters
    ----------
    person : Person
        Who.
    more : iterable of str
        Other words, as ids of films; taken as they are.
    """

    def __init__(self, person: Person | None, more: Iterable[str] = ()) -> None:
        self.person = person
        self.more = tuple(more)
        forms = (*(search_forms(person) if person is not None else ()), *self.more)
        self.needles = tuple(sorted({needle for form in forms for needle in written(form)}, key=len))
        self._longest = max(map(len, self.needles), default=1)

    def folder(self, folder: Path, progress: Progress | None = None) -> list[str]:
        """Search everything in a folder.

        Parameters
        ----------
        folder : Path
            Links are not followed.
        progress : callable, optional
            Told how far it is.

        Returns
        -------
        list of str
            Where something was found, or what can't be read: a path in the folder, and what of it.
        """
        found: list[str] = []
        paths = list(walked(folder))
        for place, path in enumerate(paths):
            name = path.relative_to(folder).as_posix()
            if progress is not None:
                progress(place / len(paths), name)
            if self.in_text(name):
                found.append(f"{name}: its name")
            if path.is_symlink() or not path.is_file():
                continue
            try:
                found += [f"{name}{inside}" for inside in self.file(path)]
            except OSError as fault:
                found.append(f"{name}: can’t be read ({fault.strerror})")
        return found

    def file(self, path: Path) -> list[str]:
        """Search one file.

        Parameters
        ----------
        path : Path
            A plain file.

        Returns
        -------
        list of str
            What of it holds something: empty text for its bytes, else where in it.

        Raises
        ------
        OSError
            It can't be read.
        """
        if path.suffix in _QUIET or path.stat().st_size == 0:
            return []
        with path.open("rb") as file:
            return list(dict.fromkeys(self._stream(file, path.stat().st_size, 0)))

    def in_text(self, text: str) -> bool:
        """Whether a text holds what is looked for.

        Parameters
        ----------
        text : str
            Any.

        Returns
        -------
        bool
            Whatever the case and the accents.
        """
        if self.person is not None and self.person.named_in(text):
            return True
        plain = folded(text) if self.more else ""
        return any(folded(word) in plain for word in self.more)

    def _stream(self, file: BinaryIO, size: int, depth: int) -> Iterator[str]:
        head = file.read(16)
        file.seek(0)
        if self._in_bytes(file):
            yield ""
        file.seek(0)
        if head == _DATABASE and size <= _MOST_UNPACKED:
            yield from (f": {where}" for where in self._database(file.read()))
        elif head[:4] == _ZIP and depth < _DEEPEST:
            yield from self._archive(file, depth)
        elif head[:2] == _GZIP and depth < _DEEPEST:
            try:
                whole = gzip.decompress(file.read())
                yield from (f", unpacked{where}" for where in self._stream(io.BytesIO(whole), len(whole), depth + 1))
            except (OSError, EOFError, zlib.error):
                return
        elif size <= _MOST_TEXT:
            text = _text_of(file.read())
            if text is not None and self.in_text(_unescaped(text)):
                yield ""

    def _in_bytes(self, file: BinaryIO) -> bool:
        needles = [needle for needle in self.needles if len(needle) >= _LEAST_BYTES]
        if not needles:
            return False
        kept = b""
        while block := file.read(_CHUNK):
            window = (kept + block).lower()
            if any(needle in window for needle in needles):
                return True
            kept = block[-self._longest :] if len(block) >= self._longest else (kept + block)[-self._longest :]
        return False

    def _archive(self, file: BinaryIO, depth: int) -> Iterator[str]:
        try:
            with zipfile.ZipFile(file) as archive:
                for member in archive.infolist():
                    if self.in_text(member.filename):
                        yield f", {member.filename}: its name"
                    if member.is_dir() or member.file_size > _MOST_UNPACKED:
                        continue
                    if member.compress_type == zipfile.ZIP_STORED and member.file_size > _MOST_TEXT:
                        continue  # its bytes lie in the archive as they are, and were searched
                    data = archive.read(member)
                    yield from (
                        f", {member.filename}{where}" for where in self._stream(io.BytesIO(data), len(data), depth + 1)
                    )
        except (OSError, EOFError, RuntimeError, NotImplementedError, ValueError, zipfile.BadZipFile, zlib.error):
            yield ": an archive that can’t be unpacked, and so not be searched"

    def _database(self, data: bytes) -> Iterator[str]:
        """Every text in every cell: raw bytes miss what lies over two pages, and short words."""
        try:
            with closing(sqlite3.connect(":memory:")) as db:
                db.deserialize(_not_logged(data))
                names = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
                for name in names:
                    for row in db.execute(f'SELECT * FROM "{name}"'):
                        if any(isinstance(cell, str) and self.in_text(_unescaped(cell)) for cell in row):
                            yield name
                            break
        except sqlite3.Error as fault:
            yield f"a database that can’t be read ({fault}); its bytes alone were searched"


def walked(folder: Path) -> Iterator[Path]:
    """Everything in a folder, folders too, in order of name.

    Parameters
    ----------
    folder : Path
        No link is followed.

    Yields
    ------
    Path
        Each once.
    """
    for each in sorted(os.scandir(folder), key=lambda one: one.name):
        path = Path(each.path)
        yield path
        if each.is_dir(follow_symlinks=False):
            yield from walked(path)


def written(form: str) -> set[bytes]:
    """The ways in which a word can lie in a file, ASCII letters small.

    Parameters
    ----------
    form : str
        A word or a phrase.

    Returns
    -------
    set of bytes
        To be looked for in bytes whose ASCII letters are small.
    """
    found: set[bytes] = set()
    texts = {unicodedata.normalize(how, form) for how in ("NFC", "NFD")} | {folded(form)}
    for text in {each for one in texts for each in (one, one.lower(), one.upper())}:
        found |= {text.encode("utf-8"), text.encode("utf-16-le"), text.encode("utf-16-be")}
        found.add(text.encode("cp1252", "ignore") if text.isascii() else _latin(text))
        if not text.isascii():
            found |= {json.dumps(text)[1:-1].encode(), urllib.parse.quote(text, safe=" ").encode()}
        found.add(urllib.parse.quote(text).encode())
    return {each.lower() for each in found if each}


def _latin(text: str) -> bytes:
    try:
        return text.encode("cp1252")
    except UnicodeEncodeError:
        return text.encode("utf-8")


def _text_of(data: bytes) -> str | None:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", "replace")
        return text if sum(byte < 9 for byte in data[:4096]) == 0 else None
    return text if "\0" not in text[:4096] else None


def _unescaped(text: str) -> str:
    """A text with what is written in it as escapes, as `\\u00f8` and `%C3%B8`, beside it."""
    more = []
    if "\\u" in text:
        more.append(text.encode("latin-1", "backslashreplace").decode("unicode_escape", "replace"))
    if "%" in text:
        more.append(urllib.parse.unquote(text, errors="replace"))
    if "&" in text:
        import html

        more.append(html.unescape(text))
    return "\n".join([text, *more])


def _not_logged(data: bytes) -> bytes:
    """A database's bytes that can be opened without the log beside it."""
    return data[:18] + b"\x01\x01" + data[20:] if data[18:20] == b"\x02\x02" else data
