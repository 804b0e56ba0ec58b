"""The edge where words meet a terminal: what would move it, colour it or turn its writing round is shown, not obeyed.

Names of players, teams, opponents and films come from files and from other people's devices. Whatever is printed goes
through here, so that no command has to think of it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

_OBEYED = "\n\t"
_TURNING = (*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x061C, 0x200E, 0x200F, 0x2028, 0x2029, 0xFEFF)
_SHOWN = {
    **{code: chr(0x2400 + code) for code in range(0x20) if chr(code) not in _OBEYED},
    0x7F: "␡",
    **{code: f"‹{code:02X}›" for code in range(0x80, 0xA0)},
    **{code: f"‹{code:04X}›" for code in _TURNING},
}


def shown(text: str) -> str:
    """A text in which nothing is obeyed by a terminal but line ends and tabs.

    Parameters
    ----------
    text : str
        Any.

    Returns
    -------
    str
        Control characters as their pictures (␛), the others that act by their number (‹202E›).

    Examples
    --------
    >>> shown("Quarry \\x1b[2JHill")
    'Quarry ␛[2JHill'
    """
    return text.translate(_SHOWN)


class Shown:
    """A stream that shows what is written to it, and is the stream below in all else.

    Parameters
    ----------
    below : TextIO
        Where it goes.
    """

    def __init__(self, below: TextIO) -> None:
        self._below = below

    def write(self, text: str) -> int:
        """Write a text; a return to the line's beginning is obeyed where it stands first, as progress writes it."""
        first = "\r" if text.startswith("\r") else ""
        self._below.write(first + shown(text[len(first) :]))
        return len(text)

    def writelines(self, lines: Iterator[str]) -> None:
        """Write several texts."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._below, name)


@contextmanager
def shown_streams() -> Iterator[None]:
    """Have everything that is printed go through `Shown`, as long as the block lasts.

    Yields
    ------
    None
        With `sys.stdout` and `sys.stderr` exchanged.
    """
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = Shown(before[0]), Shown(before[1])
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before
