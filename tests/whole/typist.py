"""A typist: which keys a person would press so that the marks of a book come about, told by the interpreter itself.

Given marks (kind, answers) in their order it finds, for each, the mark's key and then the shortest way through its
questions: an offer that is right is taken with Enter; a question without an answer is skipped, by the letter of a later
question where that letter cannot mean anything earlier, else by Shift and Enter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tagger.marks import context as contexts
from tagger.marks.questions import Hand, offer, question_of
from tagger.marks.strokes import Pressed, press
from tagger.marks.vocabulary import Language


@dataclass(frozen=True)
class Typed:
    """The strokes of one mark."""

    kind: str
    strokes: tuple[str, ...]


class CannotType(AssertionError):
    """A mark that no keys lead to."""


def type_marks(language: Language, marks: Iterable[tuple[str, Mapping[str, Any]]]) -> list[Typed]:
    """The strokes for marks in their order of game time.

    Parameters
    ----------
    language : Language
        The vocabulary.
    marks : iterable of (kind, answers)
        What should come about.

    Returns
    -------
    list of Typed
        One for each mark. A question still open at its end is ended by the next mark's key; where that key is a
        digit, or words are asked for, by Escape.
    """
    typed: list[Typed] = []
    context = contexts.start(language)
    hand: Hand | None = None
    unsaid: Hand | None = None  # the hand before the Enter that ended the last mark
    for kind, answers in marks:
        strokes: list[str] = []
        key = _mark_key(language, context, kind, answers)
        if hand is not None and (key.isdigit() or question_of(language, hand)["type"] == "text"):
            strokes.append("Escape")
            hand = None
        pressed = press(language, context, hand, key)
        if pressed.again:
            pressed = press(language, context, None, key)
        act = _only_mark(pressed, kind, key)
        if unsaid is not None and press(language, context, unsaid, key).again:
            typed[-1] = Typed(typed[-1].kind, typed[-1].strokes[:-1])
        strokes.append(key)
        hand = pressed.hand
        opened = hand
        hand, more = _answer(language, hand, dict(act["answers"]), answers)
        more = _shorter(language, opened, more, hand)
        unsaid = _before_enter(language, opened, more)
        strokes += more
        context = contexts.after(language, context, kind, answers)
        typed.append(Typed(kind, tuple(strokes)))
    return typed


def _shorter(language: Language, opened: Hand | None, strokes: list[str], end: Hand | None) -> list[str]:
    """The same without the Enters that a following letter makes needless."""
    if opened is None:
        return strokes
    place = 0
    while place < len(strokes) - 1:
        without = strokes[:place] + strokes[place + 1 :]
        if strokes[place] == "Enter" and strokes[place - 1].isdigit() and place > 0:
            now, said = _try(language, opened, without)
            _, wanted = _try(language, opened, strokes)
            if now is not _FAILED and said == wanted and (now is None) == (end is None):
                strokes = without
                continue
        place += 1
    return strokes


def _before_enter(language: Language, opened: Hand | None, strokes: list[str]) -> Hand | None:
    """The hand with a number typed that the last stroke enters; None where that is not how the strokes end."""
    if opened is None or len(strokes) < 2 or strokes[-1] != "Enter" or not strokes[-2].isdigit():
        return None
    hand, _ = _try(language, opened, strokes[:-1])
    return hand if isinstance(hand, Hand) and hand.typed else None


def _only_mark(pressed: Pressed, kind: str, key: str) -> Mapping[str, Any]:
    made = [act for act in pressed.acts if act["does"] == "mark"]
    if pressed.refusal or len(made) != 1 or made[0]["kind"] != kind:
        raise CannotType(f"{key} does not make a {kind}: {pressed.refusal or made}")
    return made[0]


def _mark_key(language: Language, context: Mapping[str, str], kind: str, answers: Mapping[str, Any]) -> str:
    for key in language.kinds[kind]["keys"]:
        preset = key.get("answers", {})
        if all(answers.get(name) == value for name, value in preset.items()) and not (
            kind == "note" and answers.get("star") and not preset
        ):
            return str(key["key"])
    raise CannotType(f"no key makes a {kind} with {dict(answers)}")


def _answer(
    language: Language, hand: Hand | None, have: dict[str, Any], want: Mapping[str, Any]
) -> tuple[Hand | None, list[str]]:
    strokes: list[str] = []
    while hand is not None and any(have.get(name) != value for name, value in want.items()):
        question = hand.question
        ways = _ways(language, hand, want[question]) if question in want else [["Shift+Enter"]]
        if question not in want:
            ways = [*_jumps(language, hand, want, have), *ways]
        for way in ways:
            after, said = _try(language, hand, way)
            if after is not _FAILED and said and all(want.get(name) == value for name, value in said.items()):
                break
            if after is not _FAILED and not said and way == ["Shift+Enter"]:
                break
        else:
            raise CannotType(f"{hand.kind}: no keys answer {question} with {want.get(question)}")
        strokes += way
        have.update({**said, **_brought(language, hand.kind, said)})
        hand = after
    missing = {name: value for name, value in want.items() if have.get(name) != value}
    if missing:
        raise CannotType(f"nothing asks for {missing}")
    return hand, strokes


_FAILED: Any = object()


def _try(language: Language, hand: Hand, way: Sequence[str]) -> tuple[Any, dict[str, Any]]:
    said: dict[str, Any] = {}
    now: Hand | None = hand
    for stroke in way:
        if now is None:
            return _FAILED, said
        pressed = press(language, now.context, now, stroke)
        if pressed.refusal or any(act["does"] != "answer" for act in pressed.acts):
            return _FAILED, said
        said.update({act["question"]: act["value"] for act in pressed.acts})
        now = pressed.hand
    return now, said


def _brought(language: Language, kind: str, said: Mapping[str, Any]) -> dict[str, Any]:
    """What the page enters beside an answer."""
    made: dict[str, Any] = {}
    for code, value in said.items():
        for choice in (language.question(kind, code) or {}).get("choices", ()):
            if choice["code"] == value:
                made |= choice.get("with", {})
    return made


def _ways(language: Language, hand: Hand, value: Any) -> list[list[str]]:
    question = language.question(hand.kind, hand.question) or {}
    if question.get("type") == "text":
        return [[f"={value}"]]
    if question.get("type") == "clock":
        return [[*f"{int(value) // 60}{int(value) % 60:02d}", "Enter"]]
    ways = [["Enter"]] if offer(language, hand) == value else []
    listed = [item for item in _listed(language, hand, question) if item["code"] == value]
    ways += [[choice["key"]] for choice in [*question.get("choices", []), *listed] if choice["code"] == value]
    if question.get("type") == "player":
        ways.append([*str(value), "Enter"])
    return ways


def _listed(language: Language, hand: Hand, question: Mapping[str, Any]) -> list[dict[str, str]]:
    if question.get("type") not in ("look", "checkpoint"):
        return []
    play = language.sets.get(hand.context.get("look_set", ""), {"looks": [], "checkpoints": []})
    items = play["looks" if question["type"] == "look" else "checkpoints"]
    return [{**item, "key": key} for key, item in zip(language.data["list_keys"], items, strict=False)]


def _jumps(language: Language, hand: Hand, want: Mapping[str, Any], have: Mapping[str, Any]) -> list[list[str]]:
    found = []
    for question in language.kinds[hand.kind]["questions"]:
        code = question["code"]
        if code in want and have.get(code) != want[code]:
            found += [[choice["key"]] for choice in question.get("choices", []) if choice["code"] == want[code]]
            break
    return found
