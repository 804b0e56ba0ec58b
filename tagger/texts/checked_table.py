"""Values of a TOML table, each checked; a fault is a line for people, and the usual value stands."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from tagger.texts.problem import TextProblem
from tagger.texts.toml_file import line_of


class CheckedTable:
    """Values of a TOML table, each checked, each fault named by its line.

    Parameters
    ----------
    file, text : str
        The file's name, and what is in it.
    data : mapping
        The table.
    problems : list of TextProblem
        Each fault is added.
    path : tuple of str
        Where in the file the table stands; empty for its top.
    """

    def __init__(
        self, file: str, text: str, data: Mapping[str, Any], problems: list[TextProblem], *, path: tuple[str, ...] = ()
    ) -> None:
        self.file = file
        self.lines = text
        self.data = data
        self.problems = problems
        self.path = path

    def _fault(self, name: str, right: str) -> None:
        words = f"{name} = {self.data[name]!r} is not {right}; the usual value is used"
        self._note(name, words)

    def _note(self, name: str, words: str) -> None:
        self.problems.append(TextProblem(self.file, line_of(self.lines, (*self.path, name)), words))

    def strange(self, name: str, what: str) -> None:
        """List a name that should not stand there."""
        self._note(name, f"“{name}” is {what}; it was left out")

    def only(self, names: Sequence[str], what: str) -> None:
        """List each name that is none of these."""
        for name in self.data:
            if name not in names:
                self.strange(name, f"{what}; there are {', '.join(names)}")

    def flag(self, name: str, usual: bool) -> bool:
        """True or false, or what is usual."""
        value = self.data.get(name, usual)
        if isinstance(value, bool):
            return value
        self._fault(name, "true or false")
        return usual

    def table(self, name: str) -> CheckedTable:
        """A section; an empty one where there is none."""
        held = self.data.get(name, {})
        if not isinstance(held, dict):
            self._fault(name, "a section")
            held = {}
        return CheckedTable(self.file, self.lines, held, self.problems, path=(*self.path, name))

    def text(
        self, name: str, usual: str, form: re.Pattern[str] | None = None, right: str = "text", most: int = 80
    ) -> str:
        """Text of a form, at most so long, or what is usual."""
        value = self.data.get(name, usual)
        if isinstance(value, str) and len(value) <= most and (form is None or form.match(value)):
            return value
        self._fault(name, right)
        return usual

    def whole(self, name: str, usual: int, least: int, most: int) -> int:
        """A whole number from `least` to `most`, or what is usual."""
        value = self.data.get(name, usual)
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self._fault(name, f"a whole number from {least} to {most}")
        return usual

    def one_of(self, name: str, allowed: tuple[str, ...], usual: str) -> str:
        """One of some words, or the usual one."""
        value = self.data.get(name, usual)
        if value in allowed:
            return str(value)
        self._fault(name, "one of " + ", ".join(allowed))
        return usual
