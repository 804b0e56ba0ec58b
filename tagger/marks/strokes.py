"""Oracle of the page's `strokes.js`: key strokes to marks, the interpreter of the keyboard, free of any browser.

A stroke is a character ("e", "B", "1"), a named key ("Enter", "Escape", "Backspace", "Shift+Backspace") or, for a text
question, "=" and the whole text. `press` takes the context, the hand (the mark whose questions are open, or None) and
a stroke, and gives back the new hand, what to enter, and a refusal when the key means nothing here. Both pass the
cases of `cases.json`.

Rules, in short. A mark's key makes the mark at once and opens its questions, most telling first. A question takes the
answers that the strip shows and no others: its own letters, the digits of a list (looks, checkpoints), a number. From a
question for a number a letter goes on to the first later question that knows it; where no number or list is left to
ask, digits are mark keys again. Enter takes what is typed or offered, of questions that belong together (a screen's
pair, a set's five) all at once, else skips the question; Shift and Enter skip it whatever is offered; any mark's key
ends the questions. Nothing is filled in that was not pressed.

A key that cannot follow is refused, not taken and listed: problems in the list come from later edits, imports and two
people, where refusing is not possible. Somebody new to the page had lost answers to letters that silently answered a
later question, and had started a set with a digit meant for a look; hence a question takes the answers on show and no
others. Who types ahead does not see a refusal in time, and what follows would answer other questions (a set's roles had
shifted by one man): so a key that the open question refuses holds itself and all keys after it, Enter too, until Escape
lets them go; Backspace lets go of the last one.

Unsure between two, somebody says both with “or” between them: two numbers where one is asked, or after a set's digit
the other set's (`between.py`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.marks.between import OR, entered, merged
from tagger.marks.offers import can_follow, is_offer, mark_of
from tagger.marks.questions import LISTS, Hand, following, listed, next_question, offers, question_of
from tagger.marks.vocabulary import Language

DIGITS = "0123456789"
MOST_DIGITS = {"player": 2, "clock": 4}


@dataclass(frozen=True)
class Pressed:
    """What a stroke led to.

    Attributes
    ----------
    hand : Hand or None
        The new hand.
    acts : tuple of mapping
        To enter, in order: {"does": "mark", "kind", "answers"}, {"does": "answer", "question", "value"},
        {"does": "undo"}, {"does": "redo"}.
    again : bool
        The stroke is to be pressed once more, with the context after these acts.
    refusal : str
        Why nothing happened; empty when something did.
    closed : Hand or None
        The hand that had its last question with this stroke; `taken_up` says with which next stroke it is at hand
        again.
    """

    hand: Hand | None
    acts: tuple[Mapping[str, Any], ...] = ()
    again: bool = False
    refusal: str = ""
    closed: Hand | None = None


def open_hand(
    language: Language,
    context: Mapping[str, str],
    kind: str,
    answers: Mapping[str, Any],
    question: str = "",
    *,
    old: bool = False,
) -> Hand | None:
    """Open a mark's questions: a new mark's first, or one of an old mark's.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        Before the mark.
    kind : str
        The mark's kind.
    answers : mapping
        What is answered already.
    question : str
        The question to open; the first one when empty.
    old : bool
        Whether the mark was made earlier.

    Returns
    -------
    Hand or None
        None when nothing is to be asked.
    """
    hand = Hand(kind, dict(answers), dict(context), question, old=old)
    code = question or next_question(language, hand)
    return replace(hand, question=code) if code else None


def taken_up(language: Language, closed: Hand | None, stroke: str) -> Hand | None:
    """The hand with which a stroke is to be pressed where no question is open.

    Parameters
    ----------
    language : Language
        The vocabulary.
    closed : Hand or None
        That had its last question with the stroke before.
    stroke : str
        The next one.

    Returns
    -------
    Hand or None
        A Backspace takes back the last answer and asks again; “or” says a second set.
    """
    return closed if stroke == "Backspace" or (stroke == OR and unsure_set(language, closed)) else None


def press(language: Language, context: Mapping[str, str], hand: Hand | None, stroke: str) -> Pressed:
    """One key stroke.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        At the film's present time, all marks counted.
    hand : Hand or None
        The open mark.
    stroke : str
        See the module's text.

    Returns
    -------
    Pressed
        Never raises for a key.
    """
    if hand is not None and hand.held:
        return _held(hand, stroke)
    if hand is not None and question_of(language, hand)["type"] == "text":
        return _press_text(language, hand, stroke)
    if stroke == "Backspace":
        return _take_back(language, hand)
    if stroke == "Shift+Backspace":
        return Pressed(None, ({"does": "redo"},))
    if stroke == "Escape":
        return Pressed(None) if hand else Pressed(None, refusal="no question is open")
    if hand is not None and hand.typed and not _is_digit(stroke) and (lacks := _lacks(language, hand)):
        return Pressed(hand, refusal=lacks)
    if stroke == OR:
        return _or(language, hand)
    if stroke == "Enter":
        return _enter(language, context, hand)
    if stroke == "Shift+Enter":
        if hand is None:
            return Pressed(None, refusal="no question is open")
        return _enter(language, context, hand) if hand.typed else _skipped(language, hand)
    if hand is not None:
        answered = _answer_key(language, hand, stroke)
        if answered is not None:
            return answered
    made = _mark_key(language, context, stroke)
    if made.refusal and hand is not None:
        return _holding(hand, stroke, f"{made.refusal}; the question stays open")
    if hand is not None and hand.typed:
        return Pressed(None, (_said(hand.question, _typed_value(language, hand)),), again=True)
    return made


def _holding(hand: Hand, stroke: str, refusal: str) -> Pressed:
    return Pressed(replace(hand, held=(stroke,)), refusal=refusal)


def _held(hand: Hand, stroke: str) -> Pressed:
    if stroke == "Escape":
        return Pressed(replace(hand, held=()))
    if stroke == "Backspace":
        return Pressed(replace(hand, held=hand.held[:-1]))
    return Pressed(replace(hand, held=(*hand.held, stroke)), refusal="this key waits with those before it")


def _said(question: str, value: Any) -> dict[str, Any]:
    return {"does": "answer", "question": question, "value": value}


def _is_digit(stroke: str) -> bool:
    return len(stroke) == 1 and stroke in DIGITS


def _lacks(language: Language, hand: Hand) -> str:
    """Why what is typed is no answer yet; empty where it is one."""
    if question_of(language, hand)["type"] == "clock" and int(hand.typed[-2:]) >= 60:
        return "a minute has 60 seconds; Backspace takes the last digit back"
    one, between, other = hand.typed.partition(OR)
    if between and not other:
        return "and which other one? Backspace takes the “or” back"
    return "the same one twice; Backspace takes it back" if one == other else ""


def unsure_set(language: Language, hand: Hand | None) -> str:
    """The question that a set's digit answered, of which “or” begins the other set.

    Parameters
    ----------
    language : Language
        The vocabulary.
    hand : Hand or None
        The open mark.

    Returns
    -------
    str
        Its code; empty where there is none, or the two are said.
    """
    for question in language.kinds[hand.kind]["questions"] if hand is not None and not hand.typed else ():
        code = question["code"]
        if question["type"] == "set" and question.get("two") and hand is not None and hand.answers.get(code):
            return str(code)
    return ""


def _or(language: Language, hand: Hand | None) -> Pressed:
    if hand is None:
        return Pressed(None, refusal="“or” follows a number that is being typed, or a set’s digit")
    if code := unsure_set(language, hand):
        return Pressed(replace(hand, question=code, typed=f"{hand.answers[code]}{OR}"))
    question = question_of(language, hand)
    if question.get("two") and hand.typed and OR not in hand.typed:
        return Pressed(replace(hand, typed=hand.typed + OR))
    return _holding(hand, OR, "“or” follows a number that is being typed, or a set’s digit")


def _typed_value(language: Language, hand: Hand) -> Any:
    if question_of(language, hand)["type"] == "clock":
        digits = hand.typed.zfill(3)
        return int(digits[:-2]) * 60 + int(digits[-2:])
    return hand.typed


def _answered(
    language: Language, hand: Hand, question: str, value: Any, before: tuple[Mapping[str, Any], ...] = ()
) -> Pressed:
    said = (*hand.said, *(act["question"] for act in before), question)
    onward = replace(hand, answers=_with(language, hand, question, value), question=question, typed="", said=said)
    return _onward(language, onward, (*before, _said(question, value)))


def _with(language: Language, hand: Hand, code: str, value: Any) -> dict[str, Any]:
    question = language.question(hand.kind, code) or {"code": code, "type": "choice"}
    return merged(hand.answers, entered(question, value))


def _answer_key(language: Language, hand: Hand, stroke: str) -> Pressed | None:
    """The stroke as an answer to this or a later question; None when it is none."""
    if _is_digit(stroke):
        return _digit(language, hand, stroke)
    before: tuple[Mapping[str, Any], ...] = ()
    so_far = hand
    if hand.typed:
        value = _typed_value(language, hand)
        before = (_said(hand.question, value),)
        so_far = replace(hand, answers=_with(language, hand, hand.question, value))
    forward = question_of(language, hand)["type"] in MOST_DIGITS
    for question in following(language, so_far, own=not hand.typed):
        if question["code"] != hand.question and not forward:
            break
        for choice in question.get("choices", []):
            if choice["key"] == stroke:
                return _answered(language, so_far, question["code"], choice["code"], before)
    return None


def _digit(language: Language, hand: Hand, stroke: str) -> Pressed | None:
    question = question_of(language, hand)
    if question["type"] in LISTS:
        for choice in listed(language, hand.context, question):
            if choice["key"] == stroke and hand.typed == f"{choice['code']}{OR}":
                return _holding(hand, stroke, f"{choice['name']} is the one already; the other set’s digit")
            if choice["key"] == stroke:
                return _answered(language, hand, question["code"], hand.typed + choice["code"])
        return _holding(hand, stroke, f"the list has no {stroke}")
    most = MOST_DIGITS.get(question["type"])
    if most is not None:
        if len(hand.typed.rpartition(OR)[2]) >= most:
            return _holding(hand, stroke, f"{most} digits at most")
        return Pressed(replace(hand, typed=hand.typed + stroke))
    if any(later["type"] in MOST_DIGITS for later in following(language, hand, own=False)):
        return _holding(hand, stroke, "no number is asked here")
    return None


def _enter(language: Language, context: Mapping[str, str], hand: Hand | None) -> Pressed:
    if hand is not None:
        if hand.typed:
            return _answered(language, hand, hand.question, _typed_value(language, hand))
        offered = offers(language, hand)
        return _taken(language, hand, offered) if offered else _skipped(language, hand)
    for kind, key in can_follow(language, context):
        if is_offer(context, kind["code"], key):
            return _made(language, context, kind, key)
    return Pressed(None, refusal="nothing is offered here")


def _taken(language: Language, hand: Hand, offered: list[tuple[str, str]]) -> Pressed:
    """All that is offered together; it is taken back one by one."""
    *firsts, (last, value) = offered
    before = tuple(_said(question, answer) for question, answer in firsts)
    hand = replace(hand, answers={**hand.answers, **dict(firsts)}, said=(*hand.said, *(one for one, _ in firsts)))
    done = _answered(language, hand, last, value)
    return replace(done, acts=(*before, *done.acts))


def _skipped(language: Language, hand: Hand) -> Pressed:
    return _onward(language, replace(hand, said=(*hand.said, f"?{hand.question}")), ())


def _onward(language: Language, hand: Hand, acts: tuple[Mapping[str, Any], ...]) -> Pressed:
    code = next_question(language, hand)
    return Pressed(replace(hand, question=code), acts) if code else Pressed(None, acts, closed=hand)


def _take_back(language: Language, hand: Hand | None) -> Pressed:
    if hand is None:
        return Pressed(None, ({"does": "undo"},))
    if hand.typed:
        return _untyped(language, hand)
    if not hand.said:
        return Pressed(None, () if hand.old else ({"does": "undo"},))
    last = hand.said[-1]
    if last.startswith("?"):
        return Pressed(replace(hand, question=last[1:], said=hand.said[:-1]))
    answers = merged(hand.answers, {last: None})
    return Pressed(replace(hand, answers=answers, question=last, said=hand.said[:-1]), ({"does": "undo"},))


def _untyped(language: Language, hand: Hand) -> Pressed:
    if question_of(language, hand)["type"] in LISTS:  # the “or” after a set, which stays as it was
        code = next_question(language, replace(hand, typed=""))
        return Pressed(replace(hand, question=code, typed="") if code else None)
    return Pressed(replace(hand, typed=hand.typed[:-1]))


def _press_text(language: Language, hand: Hand, stroke: str) -> Pressed:
    if stroke.startswith("=") and len(stroke) > 1:
        return _answered(language, hand, hand.question, stroke[1:])
    if stroke in ("Enter", "="):
        return _skipped(language, hand)
    if stroke == "Escape":
        return Pressed(None)
    if stroke == "Backspace":
        return _take_back(language, hand)
    return Pressed(hand, refusal="a text is being written; Enter ends it")


def _mark_key(language: Language, context: Mapping[str, str], stroke: str) -> Pressed:
    found = mark_of(language, context, stroke)
    return Pressed(None, refusal=found) if isinstance(found, str) else _made(language, context, *found)


def _made(language: Language, context: Mapping[str, str], kind: Mapping[str, Any], key: Mapping[str, Any]) -> Pressed:
    """A mark with its key's answers; one that begins with @ is the context's, left out where that is not known."""
    told = {
        name: context.get(value[1:], "") if value.startswith("@") else value
        for name, value in key.get("answers", {}).items()
    }
    answers = {name: value for name, value in told.items() if value}
    act = {"does": "mark", "kind": kind["code"], "answers": answers}
    hand = open_hand(language, context, kind["code"], answers)
    bare = Hand(kind["code"], answers, dict(context), "")
    return Pressed(hand, (act,), closed=bare if hand is None and unsure_set(language, bare) else None)
