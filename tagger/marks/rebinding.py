"""Keys of the season's own: another key for a mark or an answer, applied where nothing clashes.

All of them are applied together, so two marks may trade keys. One that would give a key two meanings is refused by
name, and the usual key stands; refusing it may bring back a usual key that another one clashes with, so it goes on
until nothing clashes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tagger.marks.clashes import answer_name, clashes, mark_name


@dataclass(frozen=True)
class Binding:
    """One line of the season's key file.

    Attributes
    ----------
    name : str
        What is to have the key: a mark (`screen`, `possession.ours`) or an answer (`shot.result.goal`).
    key : str
        The key it is to have.
    line : int
        Where that stands in the file, from 1.
    """

    name: str
    key: str
    line: int = 0


@dataclass(frozen=True)
class Refused:
    """A key that was not given, and why; `of_keys` says whether the key file or the lines' file asked for it."""

    binding: Binding
    text: str
    of_keys: bool = True


def rebound(data: Mapping[str, Any], bindings: Iterable[Binding]) -> tuple[dict[str, Any], list[Refused]]:
    """A vocabulary with other keys.

    Parameters
    ----------
    data : mapping
        The vocabulary with the playbook filled in; not changed.
    bindings : iterable of Binding
        The season's own keys.

    Returns
    -------
    tuple of dict and list of Refused
        The vocabulary with every key that could be given, and those that could not, in order of their lines.
    """
    refused = []
    taken: list[Binding] = []
    usual = {name: holder["key"] for name, holder in _holders(data)}
    for binding in bindings:
        fault = _fault(binding, usual, taken)
        if fault:
            refused.append(Refused(binding, fault))
        else:
            taken.append(binding)
    while True:
        made = _applied(data, taken)
        guilty, why = _guilty(made, taken)
        if guilty is None:
            return made, sorted(refused, key=lambda one: one.binding.line)
        taken.remove(guilty)
        refused.append(Refused(guilty, f"{guilty.name}: {why}. Its usual key {usual[guilty.name]} stands"))


def names(data: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Everything that can have another key.

    Parameters
    ----------
    data : mapping
        A vocabulary.

    Yields
    ------
    tuple of str, str and str
        Its name, its key, and what it is called on the screen.
    """
    for name, holder in _holders(data):
        yield name, holder["key"], holder["name"]


def _holders(data: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Everything that can have another key, by name. The sets' and the lines' keys stand in files of their own."""
    for kind in data["kinds"]:
        if kind.get("does") != "set":  # its keys are the playbook's
            for key in kind["keys"]:
                yield mark_name(kind, key), key
        for question in kind["questions"]:
            for choice in question.get("choices", []):
                yield answer_name(kind, question, choice), choice


def _fault(binding: Binding, usual: Mapping[str, str], taken: list[Binding]) -> str:
    name, key = binding.name, binding.key
    if name == "set":
        return "the sets’ keys stand in playbook.toml; change them there"
    if name not in usual:
        near = [one for one in usual if one.startswith(f"{name}.") and one.count(".") == name.count(".") + 1]
        if near:
            return f"“{name}” has several keys; say which: {', '.join(near)}"
        above = name.rpartition(".")[0]
        beside = [one for one in usual if one.rpartition(".")[0] == above]
        return f"floorbook knows no “{name}”; there is {', '.join(beside) or 'no such mark or answer'}"
    if any(one.name == name for one in taken):
        return f"“{name}” has a key already, further up; take one of the two out"
    if usual[name].isdigit():
        return (
            ""
            if key in set("0123456789")
            else f"“{name}” lies on a digit, since digits name what is played; “{key}” is none"
        )
    if not (len(key) == 1 and key.isascii() and key.isalpha()):
        return f"the key of “{name}” is one letter, a capital for Shift and the letter; “{key}” is not"
    return ""


def _applied(data: Mapping[str, Any], taken: list[Binding]) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(json.dumps(data))
    wanted = {binding.name: binding.key for binding in taken}
    for name, holder in _holders(made):
        holder["key"] = wanted.get(name, holder["key"])
    return made


def _guilty(made: Mapping[str, Any], taken: list[Binding]) -> tuple[Binding | None, str]:
    for clash in clashes(made):
        at_fault = [binding for binding in taken if binding.name in clash.parts]
        if at_fault:
            return at_fault[-1], clash.text.split(";")[0]
    return None, ""
