"""A bad place in a text file of a season."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TextProblem:
    """One bad place in a text file.

    Attributes
    ----------
    file : str
        Its name.
    line : int
        From 1; 0 when it is the file as a whole.
    text : str
        What is wrong and what would be right.
    """

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        where = f"{self.file}, line {self.line}" if self.line else self.file
        return f"{where}: {self.text}"
