"""The season's key file: another key for a mark or for an answer, one a line.

    [marks]
    screen.new = "w"             # a kind with several keys: its code, a dot, and which
    shot = "E"
    [answers]
    shot.result.goal = "u"       # the kind, the question, the answer

A new season's file has every name with its usual key, commented out (`usual`). What a key would clash with is seen when
the whole language is put together (`tagger.marks.rebinding`); here only the file is read and begun.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from tagger.marks.rebinding import Binding, names
from tagger.texts.toml_file import line_of

KEYS = "keys.toml"
_PARTS = {"marks": (1, 2), "answers": (3, 3)}


def read_keys(text: str, data: Mapping[str, Any]) -> tuple[list[Binding], list[tuple[int, str]]]:
    """Read a key file.

    Parameters
    ----------
    text : str
        The file's text, for line numbers.
    data : mapping
        The same, parsed.

    Returns
    -------
    tuple of list of Binding and list of (int, str)
        The bindings in order of their lines; faults with their line.
    """
    found: list[Binding] = []
    faults: list[tuple[int, str]] = []
    for path, value in _leaves(data):
        line = line_of(text, path)
        section, name = path[0], ".".join(path[1:])
        least, most = _PARTS.get(section, (0, 0))
        if not most:
            faults.append((line, f"“{section}” is no section; keys stand under [marks] or [answers]"))
        elif not least <= len(path) - 1 <= most:
            right = "a kind, or a kind and which of its keys" if section == "marks" else "kind.question.answer"
            faults.append((line, f"“{name}” under [{section}] is not {right}"))
        elif not isinstance(value, str):
            faults.append((line, f'“{name}” has {value!r} for a key; write it as text: "w"'))
        else:
            found.append(Binding(name, value, line))
    return sorted(found, key=lambda one: one.line), sorted(faults)


def usual(data: Mapping[str, Any]) -> str:
    """A key file to start from: every name with its usual key, commented out.

    Parameters
    ----------
    data : mapping
        A vocabulary.

    Returns
    -------
    str
        The file's text; read, it changes nothing.
    """
    marks: list[str] = []
    answers: list[str] = []
    for name, key, about in names(data):
        lines = marks if name.count(".") < 2 else answers
        lines.append(f'# {name} = "{key}"'.ljust(44) + f"# {about}")
    return "\n".join([*_ABOUT, "", "[marks]", *marks, "", "[answers]", *answers, ""])


_ABOUT = (
    "# Keys of your own. Take the # away before a line and write another letter; a capital is Shift and the letter.",
    "# All are read together, so two marks may trade their keys. A key that would mean two things is refused by name",
    "# when the season is opened, and the usual one stands. The sets' keys stand in playbook.toml, the lines' in",
    "# lines.toml.",
)


def _leaves(data: Mapping[str, Any], above: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in data.items():
        if isinstance(value, dict):
            yield from _leaves(value, (*above, name))
        else:
            yield (*above, name), value
