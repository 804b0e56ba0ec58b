"""Whether a vocabulary hangs together: everything that a kind names is there, and no key means two things."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from tagger.marks.between import beside
from tagger.marks.clashes import clashes, mark_name
from tagger.marks.plain import VocabularyError
from tagger.marks.traits import DOES, ENDS, NAMES, OF_SET, PLAYS, ROW, RUN, TEAM
from tagger.tables import Tables, tables_of

QUESTION_TYPES = frozenset({"choice", "player", "text", "look", "checkpoint", "clock", "place", "set"})
_LOG = ("opens", "ends")
_WHOSE = ("ours", "theirs", "others")
_SLOT = re.compile(r"\{([a-z0-9_.]+)(?:\|[^}]*)?\}")


def check(data: Mapping[str, Any]) -> None:
    """Refuse a vocabulary that names what is not there, or gives a key two meanings.

    Parameters
    ----------
    data : mapping
        Spelt as `spelling.py` has it, with playbook and lines filled in.

    Raises
    ------
    VocabularyError
        Says which, and what would be right.
    """
    for fault in _faults(data):
        raise VocabularyError(fault)


def _faults(data: Mapping[str, Any]) -> Iterator[str]:
    levels = {level["code"]: place for place, level in enumerate(data["levels"])}
    if data["context"]["level"] not in levels:
        yield f"the level “{data['context']['level']}” is none of {', '.join(levels)}"
    if not set(data["list_keys"]) <= set("123456789"):
        yield "the places of a list (looks, checkpoints) are on digits; list_keys says otherwise"
    yield from _faults_of_endings(data)
    try:
        tables = tables_of(data["kinds"])
    except ValueError as fault:
        yield str(fault)
        return
    codes: set[str] = set()
    for kind in data["kinds"]:
        what = f"kind “{kind['code']}”"
        if kind["code"] in codes:
            yield f"{what} stands twice"
        codes.add(kind["code"])
        yield from _one_of(what, "level", kind["level"], levels)
        yield from _faults_of_context(what, kind, data["context"])
        yield from _faults_of_questions(what, kind, data, levels)
        yield from _faults_of_keys(what, kind, data["context"])
        yield from _faults_of_conditions(what, kind, data["context"])
        yield from _faults_of_doing(what, kind, data)
        yield from _faults_of_table(what, kind, tables)
    for clash in clashes(data):
        yield clash.text


def _faults_of_endings(data: Mapping[str, Any]) -> Iterator[str]:
    shapes = [one["code"] for one in data["shapes"]]
    gained = _ways_to_gain(data)
    for ending in data["endings"]:
        what = f"ending “{ending['code']}”"
        if "shape" in ending:
            yield from _one_of(what, "shape", ending["shape"], shapes)
        if "gained" in ending:
            yield from _one_of(what, "gained", ending["gained"], gained)


def _ways_to_gain(data: Mapping[str, Any]) -> list[str]:
    """How a possession can be gained."""
    return [
        choice["code"]
        for kind in data["kinds"]
        for question in kind["questions"]
        for choice in question.get("choices", ())
        if kind.get("does") == "possession" and question["code"] == "gained"
    ]


def _faults_of_context(what: str, kind: Mapping[str, Any], context: Mapping[str, str]) -> Iterator[str]:
    for name in (*kind["needs"], *(name for key in kind["keys"] for name in key.get("needs", {}))):
        if name not in context:
            yield f"{what} needs “{name}”, which nothing keeps track of"
    for effect in kind["effects"]:
        for name in (part.lstrip("@") for whole in effect["put"] for part in _parts(whole)):
            if name not in context:
                yield f"{what} changes “{name}”, which nothing keeps track of"


def _faults_of_questions(
    what: str, kind: Mapping[str, Any], data: Mapping[str, Any], levels: Mapping[str, int]
) -> Iterator[str]:
    asked: set[str] = set()
    for question in kind["questions"]:
        where = f"question “{question['code']}” of {what}"
        if question["type"] not in QUESTION_TYPES:
            yield f"{where} has the unknown type “{question['type']}”"
        if question["code"] in asked:
            yield f"{where} stands twice"
        if question["level"] not in levels or levels[question["level"]] < levels[kind["level"]]:
            yield f"{where} is asked at a level at which its kind is not tagged"
        if question.get("together", "five") not in data["together"]:
            yield f"{where} belongs together with “{question['together']}”, which nothing explains"
        if "whose" in question:
            yield from _one_of(where, "whose", question["whose"], _WHOSE)
        for name in (*question.get("when", {}), *([question["none_with"]] if "none_with" in question else ())):
            if not name.startswith("@") and name not in asked:
                yield f"{where} waits for “{name}”, which is not asked before it"
        asked.add(question["code"])
        for choice in question.get("choices", ()):
            for name in choice.get("with", {}):
                if name not in _answers(kind):
                    yield f"{where} answers “{name}” with “{choice['code']}”, which it does not ask"


def _faults_of_keys(what: str, kind: Mapping[str, Any], context: Mapping[str, str]) -> Iterator[str]:
    answers = _answers(kind)
    names = [mark_name(kind, key) for key in kind["keys"]]
    if kind.get("does") != "set" and len(set(names)) != len(names):
        yield f"{what} has two keys of one name; give each a code"
    for key in kind["keys"]:
        for name, value in key.get("answers", {}).items():
            if name not in answers:
                yield f"the key {key['key']} of {what} answers “{name}”, which it does not ask"
            if value.startswith("@") and value[1:] not in context:
                yield f"the key {key['key']} of {what} takes “{value}”, which nothing keeps track of"


def _faults_of_conditions(what: str, kind: Mapping[str, Any], context: Mapping[str, str]) -> Iterator[str]:
    """Everything that an effect, an ending or a part of the sentence looks at is asked, and can be answered so."""
    answers = _answers(kind)
    places = [
        *((f"an effect of {what}", one.get("if", {})) for one in kind["effects"]),
        *((f"an ending of {what}", one.get("when", {})) for one in kind.get("ends_possession", ())),
        *((f"what {what} says also", one.get("when", {})) for one in kind.get("also", ())),
        *((f"the sentence of {what}", one.get("when", {})) for one in kind["say"]),
        *((f"question “{one['code']}” of {what}", one.get("when", {})) for one in kind["questions"]),
        *(
            (f"answer “{choice['code']}” of {what}", choice.get("unlikely", {}))
            for one in kind["questions"]
            for choice in one.get("choices", ())
        ),
    ]
    for where, conditions in places:
        for name, allowed in conditions.items():
            if name.startswith("@"):
                if name[1:] not in context:
                    yield f"{where} looks at “{name}”, which nothing keeps track of"
                continue
            if name not in answers:
                yield f"{where} looks at “{name}”, which it does not ask"
            known = answers.get(name)
            for value in allowed:
                if (
                    known is not None
                    and value is not None
                    and value not in known
                    and value[:1] not in ("*", "#", "$", "@")
                ):
                    yield f"{where} looks for “{name}” to be “{value}”; it can be {', '.join(known)}"
    for part in kind["say"]:
        for name in _SLOT.findall(part["text"]):
            if name not in answers:
                yield f"the sentence of {what} says “{{{name}}}”, which it does not ask"


def _faults_of_doing(what: str, kind: Mapping[str, Any], data: Mapping[str, Any]) -> Iterator[str]:
    """What it does to a game: everything that it needs for that is said, and there."""
    asked = [question["code"] for question in kind["questions"]]
    phases = [phase["code"] for phase in data["phases"]]
    endings = [ending["code"] for ending in data["endings"]]
    run = kind.get("run", RUN[0])
    for name, known in (("run", RUN), ("team", TEAM), ("plays", PLAYS), ("log", _LOG), ("does", tuple(DOES))):
        if name in kind:
            yield from _one_of(what, name, kind[name], known)
    for name, of, where in (("phase", phases, NAMES), ("ended", endings, ENDS), ("leaves", phases, ENDS)):
        if name in kind and run != where:
            yield f"{what} says its “{name}”, which means something only where run is “{where}”"
        elif name in kind:
            yield from _one_of(what, name, kind[name], of)
        elif run == where and name != "leaves":
            yield f"{what} does not say its “{name}”, though run is “{run}”"
    if "named_by" in kind:
        yield from _one_of(what, "named_by", kind["named_by"], asked)
    for one in kind.get("ends_possession", ()):
        yield from _one_of(what, "ends_possession", one["ended"], ["", *endings])
    for one in kind.get("begins_possession", ()):
        yield from _one_of(what, "begins_possession", one["gained"], _ways_to_gain(data))
        yield from () if "team" in asked else (f"{what} begins a possession, and does not ask “team”",)
    others = {other["code"]: other for other in data["kinds"] if "table" in other}
    for one in kind.get("also", ()):
        yield from _one_of(what, "also", one["kind"], others)
        if one["kind"] in others:
            for name, value in one["answers"].items():
                yield from _one_of(what, "also", name, _answers(others[one["kind"]]))
                yield from () if value[:1] != "$" else _one_of(what, "also", value[1:], asked)
    for name in kind.get("cuts", ()):
        yield from _one_of(what, "cuts", name, asked)
    if "second_look" in kind and (run != OF_SET or not ("table" in kind or kind.get("does") == "look")):
        yield f"{what} says its “second_look”, which means something only of a table whose run is “{OF_SET}”"
    does = DOES.get(kind.get("does", ""))
    if does is None:
        return
    for name in does.asks:
        if name not in asked:
            yield f"{what} does “{kind['does']}”, and does not ask “{name}”"
    if "table" in kind and not does.row:
        yield f"{what} does “{kind['does']}”, which is worked into other tables; it has none of its own"
    if does.run and run != does.run:
        yield f"{what} does “{kind['does']}”, so its run is “{does.run}”, not “{run}”"


def _faults_of_table(what: str, kind: Mapping[str, Any], tables: Tables) -> Iterator[str]:
    table = kind.get("table")
    if table is None:
        if any("second_look" in question for question in kind["questions"]):
            yield f"{what} has a question with “second_look”, and has no table"
        for name in ("part", "again"):
            if name in kind:
                yield f"{what} says its “{name}”, and has no table"
        if kind.get("plays") == ROW:
            yield f"{what} plays its row, and has no table"
        return
    columns = [column.name for column in tables[table["name"]]]
    for name in table.get("columns_since", {}):
        yield from _one_of(what, "columns_since", name, columns)
    for name in ("part", "again"):
        for answer in kind.get(name, ()):
            yield from _one_of(what, name, answer, columns)
    if kind.get("team") == TEAM[1] and "team" not in columns:
        yield f"the table of {what} has no column “team”, which its row gets"
    for question in kind["questions"]:
        wanted = {"place": ("x_m", "y_m"), "clock": ("clock_s",)}.get(question["type"], (question["code"],))
        if question["code"] == "line" == kind.get("does"):
            wanted = ("unit",)  # a line of ours is what is on the floor then
        for name in wanted:
            if name not in columns:
                yield f"the table of {what} has no column “{name}” for its question “{question['code']}”"


def _answers(kind: Mapping[str, Any]) -> dict[str, Collection[str] | None]:
    """What a mark of a kind can have answered, and with which codes; None: anything."""
    found: dict[str, Collection[str] | None] = dict.fromkeys(kind.get("beside", ()))
    for question in kind["questions"]:
        if question.get("two"):
            found[beside(question["code"])] = None
        held = [choice["code"] for choice in (*question.get("choices", ()), *question.get("retired", ()))]
        found[question["code"]] = held if question["type"] == "choice" else None
    return found


def _one_of(what: str, name: str, value: str, known: Iterable[str]) -> Iterator[str]:
    held = list(known)
    if value not in held:
        yield f"{what} says “{value}” for its “{name}”; it is one of {', '.join(filter(None, held)) or 'none'}"


def _parts(name: str) -> list[str]:
    """What of a name in the context must be kept track of: of a remembered one what it is looked up by."""
    return [part for part in name.split("/") if part[:1] == "@"] if "/" in name else [name]
