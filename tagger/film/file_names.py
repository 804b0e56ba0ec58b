"""A file's name as it is shown: printable whatever is in it, and never longer than a line takes.

A name is whatever a camera, a card or a stranger made of it: bytes that are no text, signals to a terminal, hundreds
of letters. It is shown so that it can be recognised, and goes into no database before it is known to be text.
"""

from __future__ import annotations

from pathlib import Path

MOST_LETTERS = 80
_TAIL = 16  # the end is kept: it tells what kind of file it is, and which of many


def spoken_name(name: str) -> str:
    """A name as it is shown.

    Parameters
    ----------
    name : str
        A file's, as the system or a browser says it.

    Returns
    -------
    str
        At most `MOST_LETTERS` letters, all of them printable: others as their codes, what is too much left out of
        the middle.

    Examples
    --------
    >>> spoken_name("second half.mp4")
    'second half.mp4'
    >>> spoken_name("a\\x1b[2Jb\\udcff.mp4")
    'a\\\\x1b[2Jb\\\\xff.mp4'
    >>> len(spoken_name("n" * 10_000 + ".mp4"))
    80
    """
    if len(name) > MOST_LETTERS:
        name = f"{name[:MOST_LETTERS]}…{name[-_TAIL:]}"
    shown = "".join(char if char.isprintable() else _code(char) for char in name)
    if len(shown) <= MOST_LETTERS:
        return shown
    return f"{shown[: MOST_LETTERS - _TAIL - 1]}…{shown[-_TAIL:]}"


def is_text(path: Path) -> bool:
    """Whether a path can be written down.

    Parameters
    ----------
    path : Path
        A file's.

    Returns
    -------
    bool
        False where bytes in it are no UTF-8.
    """
    try:
        str(path).encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _code(char: str) -> str:
    number = ord(char)
    if 0xDC80 <= number <= 0xDCFF:  # a byte that was no text
        number -= 0xDC00
    return f"\\x{number:02x}" if number < 256 else f"\\u{number:04x}"
