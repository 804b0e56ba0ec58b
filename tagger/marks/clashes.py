"""Keys that would mean two things: between marks, between marks and answers, within a question, with the film's keys.

Every part of a clash has a name (`screen`, `possession.ours`, `shot.result.goal`), so that it can be refused by name
and a line of the season's key file be found that is at fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Clash:
    """One key with two meanings.

    Attributes
    ----------
    text : str
        Which, by name, and what to change.
    parts : frozenset of str
        Names of what lies on the key: a mark's key (`mark_name`) or an answer (`answer_name`).
    """

    text: str
    parts: frozenset[str]


def mark_name(kind: Mapping[str, Any], key: Mapping[str, Any]) -> str:
    """The name of one of a kind's keys.

    Parameters
    ----------
    kind, key : mapping
        As in the vocabulary.

    Returns
    -------
    str
        The kind's code; where the kind has several keys, with the key's own code: `possession.ours`.
    """
    own = key.get("code", "")
    return f"{kind['code']}.{own}" if own else str(kind["code"])


def answer_name(kind: Mapping[str, Any], question: Mapping[str, Any], choice: Mapping[str, Any]) -> str:
    """The name of an answer.

    Parameters
    ----------
    kind, question, choice : mapping
        As in the vocabulary.

    Returns
    -------
    str
        Kind, question and choice: `shot.result.goal`.
    """
    return f"{kind['code']}.{question['code']}.{choice['code']}"


def clashes(data: Mapping[str, Any]) -> Iterator[Clash]:
    """All keys of a vocabulary that would mean two things.

    Parameters
    ----------
    data : mapping
        The vocabulary with the playbook filled in.

    Yields
    ------
    Clash
        Two answers of a question first, then mark keys, then answers on a film key.
    """
    film = {*data["film_keys"], *data["hand_keys"]}
    marks: dict[str, list[tuple[Mapping[str, Any], Mapping[str, Any]]]] = {}
    answers: dict[str, dict[str, str]] = {}
    for kind in data["kinds"]:
        for key in kind["keys"]:
            marks.setdefault(key["key"], []).append((kind, key))
        for question in kind["questions"]:
            own: dict[str, str] = {}
            where = f"question “{question['code']}” of kind “{kind['code']}”"
            for choice in question.get("choices", []):
                name, key = answer_name(kind, question, choice), choice["key"]
                if key in own:
                    yield Clash(f"{where} has two answers on the key {key}", frozenset({own[key], name}))
                own[key] = name
                answers.setdefault(key, {})[name] = where
    for key, pairs in marks.items():
        names = " and ".join(dict.fromkeys(f"“{kind['code']}”" for kind, _ in pairs))
        parts = frozenset(mark_name(kind, one) for kind, one in pairs)
        if key in film:
            yield Clash(f"the key {key} moves the film; {names} needs another", parts)
        if key in answers:
            where = next(iter(answers[key].values()))
            yield Clash(
                f"the key {key} marks {names} and answers {where}; change one of them", parts | set(answers[key])
            )
        for place, (kind, one) in enumerate(pairs):
            for other, another in pairs[place + 1 :]:
                if not _apart(
                    {**kind["needs"], **one.get("needs", {})}, {**other["needs"], **another.get("needs", {})}
                ):
                    both = frozenset({mark_name(kind, one), mark_name(other, another)})
                    two = f"“{kind['code']}” and “{other['code']}”"
                    yield Clash(f"the key {key} marks {two}, which can both follow; give one another key", both)
    for key in sorted(film & set(answers)):
        where = next(iter(answers[key].values()))
        yield Clash(f"the key {key} moves the film and answers {where}; change one of them", frozenset(answers[key]))


def _apart(one: Mapping[str, list[str]], other: Mapping[str, list[str]]) -> bool:
    return any(
        name in other and "*" not in allowed and "*" not in other[name] and not set(allowed) & set(other[name])
        for name, allowed in one.items()
    )
