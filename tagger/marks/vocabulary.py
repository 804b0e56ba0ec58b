"""The vocabulary of marks, read from data, joined with a playbook and checked before anybody presses a key.

The vocabulary file says which kinds of mark there are, which key makes each, what each asks, what can follow what
(`needs`) and what a mark changes (`effects`). Two small interpreters read it: `strokes` and `context` here, their twins
in the tagging page. `Language` is what both work on: the vocabulary with the team's sets and looks filled in, as plain
data that travels to the page unchanged.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib import resources
from typing import Any

from tagger.marks.clashes import clashes, mark_name
from tagger.marks.rebinding import Binding, Refused, rebound
from tagger.texts.playbook import Playbook, SetPlay
from tagger.texts.units import Unit

VERSION = 2
"""2: re-picks, lines of the team's own, swaps. Only additions: what was marked with
version 1 is read as it was."""


class VocabularyError(ValueError):
    """A vocabulary that would leave a key or a question without meaning; says which and what to change."""


@dataclass(frozen=True)
class Language:
    """A checked vocabulary with a playbook filled in.

    Attributes
    ----------
    data : mapping
        Plain JSON data, the same in the page: levels, film_keys, hand_keys, list_keys, context, kinds, sets, lines,
        asked.
    refused : tuple of Refused
        Keys of the season's own that would have meant two things; the usual ones stand.
    """

    data: Mapping[str, Any]
    refused: tuple[Refused, ...] = ()

    @cached_property
    def kinds(self) -> dict[str, dict[str, Any]]:
        """Kind code → kind."""
        return {kind["code"]: kind for kind in self.data["kinds"]}

    @cached_property
    def sets(self) -> dict[str, dict[str, Any]]:
        """Set code → set, retired ones too."""
        return {play["code"]: play for play in self.data["sets"]}

    @cached_property
    def level_order(self) -> dict[str, int]:
        """Level code → its place, least detail first."""
        return {level["code"]: place for place, level in enumerate(self.data["levels"])}

    @cached_property
    def keys(self) -> dict[str, list[tuple[dict[str, Any], dict[str, Any]]]]:
        """Key → the (kind, key) pairs it can make."""
        found: dict[str, list[tuple[dict[str, Any], dict[str, Any]]]] = {}
        for kind in self.data["kinds"]:
            for key in kind["keys"]:
                found.setdefault(key["key"], []).append((kind, key))
        return found

    @cached_property
    def lines(self) -> dict[str, dict[str, Any]]:
        """Line code → line, retired ones too."""
        return {line["code"]: line for line in self.data["lines"]}

    def question(self, kind: str, code: str) -> dict[str, Any] | None:
        """A kind's question, or None.

        Parameters
        ----------
        kind, code : str
            The kind's and the question's codes.

        Returns
        -------
        dict or None
            As in the data.
        """
        held = self.kinds.get(kind)
        if held is None:
            return None
        return next((question for question in held["questions"] if question["code"] == code), None)


def plain_vocabulary() -> dict[str, Any]:
    """The vocabulary file as it lies in the package.

    Returns
    -------
    dict
        Fresh each time.
    """
    text = resources.files("tagger.marks").joinpath("vocabulary.json").read_text(encoding="utf-8")
    data: dict[str, Any] = json.loads(text)
    return data


def language(
    playbook: Playbook,
    *,
    level: str = "main",
    vocabulary: Mapping[str, Any] | None = None,
    lines: Iterable[Unit] = (),
    keys: Iterable[Binding] = (),
    asked: Iterable[str] = (),
) -> Language:
    """Fill the playbook and the lines into the vocabulary, give keys of the season's own, and check the whole.

    Parameters
    ----------
    playbook : Playbook
        The team's sets.
    level : str
        How much is tagged until a mark says otherwise.
    vocabulary : mapping, optional
        The vocabulary's data; the package's own when left out.
    lines : iterable of Unit
        The team's lines; without any, plain ones are asked for as of the opponents.
    keys : iterable of Binding
        Other keys; those that would clash are refused, and stand in the result.
    asked : iterable of str
        Kinds and questions that a question stated beforehand needs, as `screen` and `screen.free`; then tagging can be
        narrowed to them.

    Returns
    -------
    Language
        Checked.

    Raises
    ------
    VocabularyError
        Two kinds on one key that could both follow, a key that is both a mark and an answer, an unknown reference.
    """
    data = json.loads(json.dumps(vocabulary)) if vocabulary is not None else plain_vocabulary()
    if data.get("version") != VERSION:
        raise VocabularyError(f"this floorbook reads vocabulary version {VERSION}, the file says {data.get('version')}")
    data["context"]["level"] = level
    data["sets"] = [_plain_set(play) for play in playbook.sets]
    for kind in data["kinds"]:
        if kind["keys"] == "playbook":
            kind["keys"] = [_set_key(play) for play in playbook.sets if play.key]
            kind["questions"] += list(_role_questions(playbook.sets))
            kind["effects"] += [
                one for question in kind["questions"] if "together" in question for one in _remember(question)
            ]
    units = list(lines)
    data["lines"] = [
        {"code": unit.code, "name": unit.name, "key": unit.key, "players": list(unit.players)} for unit in units
    ]
    data["asked"] = " ".join(asked)
    if data["asked"]:
        _offer_narrowing(data)
    data, refused = rebound(data, keys)
    refused += _ask_for_lines(data, units)
    made = Language(data, tuple(refused))
    _check(made)
    return made


def _offer_narrowing(data: Mapping[str, Any]) -> None:
    """Let what is tagged be what the question needs; the answer lists it, so that a book keeps what was asked then."""
    for kind in data["kinds"]:
        for question in kind["questions"]:
            for choice in question.get("retired", ()) if kind["code"] == "detail" else ():
                question["choices"] = [*question["choices"], {**choice, "with": {"asked": data["asked"]}}]


def _ask_for_lines(data: Mapping[str, Any], units: list[Unit]) -> list[Refused]:
    """Ask for the team's lines; one whose letter is taken by a mark or by the film keeps its name and has no key."""
    taken = {key["key"]: f"marks {key['name']}" for kind in data["kinds"] for key in kind["keys"]}
    taken |= dict.fromkeys((*data["film_keys"], *data["hand_keys"]), "moves the film")
    refused, own = [], []
    asked = {
        question["code"]: question for kind in data["kinds"] if kind["code"] == "line" for question in kind["questions"]
    }
    if not {"line", "team", "unit"} <= set(asked):
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
        if kind["code"] == "line":  # pairs and fives are remembered for the line that is on
            kind["effects"].append({"if": {"line": [unit.code for unit in units]}, "put": {"line": "$line"}})
    if not units:
        asked["line"]["when"] = {"@level": []}  # never
        del asked["team"]["when"], asked["unit"]["when"]
    return refused


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
            "ask": f"who was {names[code]}?",
            "type": "player",
            "level": "whole",
            "when": {"set": own},
            "offer": [f"@role.{code}/$set/$side/@line", f"@role.{code}/$set/$side"],
            "together": "five",
        }


def _remember(question: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Who filled a role is offered when the same line runs the same set to the same side again."""
    code = question["code"]
    return [
        {"if": {code: ["*"]}, "put": {f"{code}/$set/$side/@line": f"${code}"}},
        {"if": {code: ["*"], "@line": [""]}, "put": {f"{code}/$set/$side": f"${code}"}},
    ]


QUESTION_TYPES = frozenset({"choice", "player", "text", "look", "checkpoint", "clock", "place", "set"})


def _check(made: Language) -> None:
    data = made.data
    levels = made.level_order
    if data["context"]["level"] not in levels:
        raise VocabularyError(f"the level “{data['context']['level']}” is none of {', '.join(levels)}")
    if not set(data["list_keys"]) <= set("123456789"):
        raise VocabularyError("the places of a list (looks, checkpoints) are on digits; list_keys says otherwise")
    codes: set[str] = set()
    for kind in data["kinds"]:
        what = f"kind “{kind['code']}”"
        if kind["code"] in codes:
            raise VocabularyError(f"{what} stands twice")
        codes.add(kind["code"])
        _check_fields(what, kind, data["context"])
        asked: set[str] = set()
        for question in kind["questions"]:
            where = f"question “{question['code']}” of {what}"
            if question["type"] not in QUESTION_TYPES:
                raise VocabularyError(f"{where} has the unknown type “{question['type']}”")
            if question["code"] in asked:
                raise VocabularyError(f"{where} stands twice")
            if question["level"] not in levels or levels[question["level"]] < levels[kind["level"]]:
                raise VocabularyError(f"{where} is asked at a level at which its kind is not tagged")
            if question.get("together", "five") not in data["together"]:
                raise VocabularyError(f"{where} belongs together with “{question['together']}”, which nothing explains")
            for name in question.get("when", {}):
                if not name.startswith("@") and name not in asked:
                    raise VocabularyError(f"{where} waits for “{name}”, which is not asked before it")
            asked.add(question["code"])
        names = [mark_name(kind, key) for key in kind["keys"]]
        if kind["code"] != "set" and len(set(names)) != len(names):
            raise VocabularyError(f"{what} has two keys of one name; give each a code")
        for key in kind["keys"]:
            for name, value in key.get("answers", {}).items():
                if name not in asked and name not in kind.get("beside", ()):
                    raise VocabularyError(f"the key {key['key']} of {what} answers “{name}”, which it does not ask")
                if value.startswith("@") and value[1:] not in data["context"]:
                    raise VocabularyError(
                        f"the key {key['key']} of {what} takes “{value}”, which nothing keeps track of"
                    )
    for clash in clashes(data):
        raise VocabularyError(clash.text)


def _check_fields(what: str, kind: Mapping[str, Any], context: Mapping[str, Any]) -> None:
    for name in (*kind["needs"], *(name for key in kind["keys"] for name in key.get("needs", {}))):
        if name not in context:
            raise VocabularyError(f"{what} needs “{name}”, which nothing keeps track of")
    for effect in kind["effects"]:
        for name in (part.lstrip("@") for whole in effect["put"] for part in _parts(whole)):
            if name not in context:
                raise VocabularyError(f"{what} changes “{name}”, which nothing keeps track of")


def _parts(name: str) -> list[str]:
    """What of a name in the context must be kept track of: of a remembered one what it is looked up by."""
    return [part for part in name.split("/") if part[:1] == "@"] if "/" in name else [name]
