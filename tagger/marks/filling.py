"""What a season adds to the vocabulary: its sets on their keys, its lines by their letters, what it asks for only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from tagger.marks.rebinding import Binding, Refused
from tagger.texts.playbook import Playbook, SetPlay
from tagger.texts.units import Unit

_NO_SLOT = str.maketrans("{|}", "   ")  # what a sentence would read as a place for an answer


def fill_in(data: dict[str, Any], playbook: Playbook, units: list[Unit]) -> None:
    """Put a season's sets and lines into a vocabulary, and into every kind the rank that it leaves out.

    Parameters
    ----------
    data : dict
        The vocabulary; changed.
    playbook : Playbook
        The team's sets.
    units : list of Unit
        The team's lines.
    """
    data["sets"] = [_plain_set(play) for play in playbook.sets]
    data["lines"] = [
        {"code": unit.code, "name": unit.name, "key": unit.key, "players": list(unit.players)} for unit in units
    ]
    for kind in data["kinds"]:
        kind.setdefault("rank", data["rank"])
        if kind["keys"] == "playbook":
            kind["keys"] = [_set_key(play) for play in playbook.sets if play.key]
            roles = list(_role_questions(playbook.sets))
            kind["questions"] += roles
            kind["say"] += [{"text": f", {one['name']} {{{one['code']}}}"} for one in roles]
            kind["effects"] += [
                one for question in kind["questions"] if "together" in question for one in _remember(question)
            ]


def offer_narrowing(data: dict[str, Any], asked: Iterable[str]) -> None:
    """Let what is tagged be what the question needs; the answer lists it, so that a book keeps what was asked then.

    Parameters
    ----------
    data : dict
        The vocabulary; changed.
    asked : iterable of str
        Kinds and questions, as `screen` and `screen.free`; none: nothing is offered.
    """
    data["asked"] = " ".join(asked)
    for question in _asked_by(data, "detail") if data["asked"] else ():
        for choice in question.get("retired", ()):
            question["choices"] = [*question["choices"], {**choice, "with": {"asked": data["asked"]}}]


def ask_for_lines(data: dict[str, Any], units: list[Unit]) -> list[Refused]:
    """Ask for the team's lines; one whose letter is taken by a mark or by the film keeps its name and has no key.

    Parameters
    ----------
    data : dict
        The vocabulary with its keys; changed.
    units : list of Unit
        The team's lines.

    Returns
    -------
    list of Refused
        One for each line that has no key.
    """
    taken = {key["key"]: f"marks {key['name']}" for kind in data["kinds"] for key in kind["keys"]}
    taken |= dict.fromkeys((*data["film_keys"], *data["hand_keys"]), "moves the film")
    refused, own = [], []
    asked = {question["code"]: question for question in _asked_by(data, "line")}
    if not asked:
        return []
    taken |= {choice["key"]: f"says “{choice['name']}”" for choice in asked["line"]["choices"]}
    for unit in units:
        choice = {"code": unit.code, "name": unit.name, "key": unit.key}
        if unit.key in taken:
            words = f"line “{unit.name}”: the key {unit.key} {taken[unit.key]}; give the line another letter"
            refused.append(Refused(Binding(unit.code, unit.key, unit.at_line), words, of_keys=False))
        if unit.key and unit.key not in taken:
            own.append(choice)
        else:
            asked["line"].setdefault("retired", []).append(choice)
    asked["line"]["choices"][:0] = own
    for kind in data["kinds"]:
        if kind.get("does") == "line":  # pairs and fives are remembered for the line that is on
            kind["effects"].append({"if": {"line": [unit.code for unit in units]}, "put": {"line": "$line"}})
    if not units:
        asked["line"]["ask"] = "whose change?"
        for choice in asked["line"]["choices"]:
            choice["name"] = choice.get("say", choice["name"])
        asked["unit"]["when"] = {"line": [choice["code"] for choice in asked["line"]["choices"]]}
    return refused


def _asked_by(data: Mapping[str, Any], does: str) -> list[dict[str, Any]]:
    """The questions of what does this."""
    return [question for kind in data["kinds"] if kind.get("does") == does for question in kind["questions"]]


def _plain_set(play: SetPlay) -> dict[str, Any]:
    def listed(items: Iterable[Any]) -> list[dict[str, str]]:
        return [{"code": item.code, "name": item.name} for item in items]

    return {
        "code": play.code,
        "name": play.name,
        "key": play.key,
        "strength": play.strength,
        "sides": list(play.sides),
        "roles": listed(play.roles),
        "looks": listed(play.looks),
        "checkpoints": listed(play.checkpoints),
    }


def _set_key(play: SetPlay) -> dict[str, Any]:
    answers = {"set": play.code}
    if len(play.sides) == 1:
        answers["side"] = play.sides[0]
    return {"key": play.key, "name": play.name, "answers": answers}


def _role_questions(sets: Iterable[SetPlay]) -> Iterable[dict[str, Any]]:
    users: dict[str, list[str]] = {}
    names: dict[str, str] = {}
    for play in sets:
        for role in play.roles:
            users.setdefault(role.code, []).append(play.code)
            names.setdefault(role.code, role.name)
    for code, own in users.items():
        yield {
            "code": f"role.{code}",
            "name": names[code].partition(",")[0].translate(_NO_SLOT).strip(),
            "ask": f"who was {names[code]}?",
            "type": "player",
            "level": "whole",
            "when": {"set": own},
            "offer": [f"@role.{code}/$set/$side/@line", f"@role.{code}/$set/$side"],
            "together": "five",
            "whose": "ours",
        }


def _remember(question: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Who filled a role is offered when the same line runs the same set to the same side again."""
    code = question["code"]
    return [
        {"if": {code: ["*"]}, "put": {f"{code}/$set/$side/@line": f"${code}"}},
        {"if": {code: ["*"], "@line": [""]}, "put": {f"{code}/$set/$side": f"${code}"}},
    ]
