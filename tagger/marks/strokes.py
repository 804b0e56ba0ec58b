"""Key strokes to marks: the interpreter of the keyboard, free of any browser.

A stroke is a character ("e", "B", "1"), a named key ("Enter", "Escape", "Backspace", "Shift+Backspace") or, for a text
question, "=" and the whole text. `press` takes the context, the hand (the mark whose questions are open, or None) and
a stroke, and gives back the new hand, what to enter, and a refusal when the key means nothing here. The page's twin is
`strokes.js`; both pass the cases of `cases.json`.

Rules, in short. A mark's key makes the mark at once and opens its questions, most telling first. A question takes the
answers that the strip shows and no others: its own letters, the digits of a list (looks, checkpoints), a number. From a
question for a number a letter goes on to the first later question that knows it; where no number or list is left to
ask, digits are mark keys again. Enter takes what is typed or offered, else skips the question; Shift and Enter skip it
whatever is offered; any mark's key ends the questions. Nothing is filled in that was not pressed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from tagger.marks.context import fits, holds
from tagger.marks.vocabulary import Language

DIGITS = "0123456789"
MOST_DIGITS = {"player": 2, "clock": 4}
LISTS = ("set", "look", "checkpoint")


@dataclass(frozen=True)
class Hand:
    """The mark whose questions are open.

    Attributes
    ----------
    kind : str
        Its kind.
    answers : mapping
        Its answers so far.
    context : mapping
        As it was before the mark.
    question : str
        Code of the open question.
    typed : str
        Digits typed and not yet entered.
    said : tuple of str
        Questions answered in this hand, so that they can be taken back one by one; "?" stands before one skipped.
    old : bool
        Whether the mark was made earlier: then its questions are all asked again, those that are answered too, and
        taking back reaches only what was answered in this hand.
    """

    kind: str
    answers: Mapping[str, Any]
    context: Mapping[str, str]
    question: str
    typed: str = ""
    said: tuple[str, ...] = ()
    old: bool = False


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
        The hand that had its last question with this stroke. When the next stroke is a Backspace, press that with this
        hand: it takes back the last answer and asks again.
    """

    hand: Hand | None
    acts: tuple[Mapping[str, Any], ...] = ()
    again: bool = False
    refusal: str = ""
    closed: Hand | None = None


@dataclass(frozen=True)
class Option:
    """A key that means something now.

    Attributes
    ----------
    key, name : str
        The key and what it does.
    offer : bool
        Whether Enter takes it.
    """

    key: str
    name: str
    offer: bool = field(default=False)


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
    code = question or _next(language, hand)
    return replace(hand, question=code) if code else None


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
    if hand is not None and _question(language, hand)["type"] == "text":
        return _press_text(language, hand, stroke)
    if stroke == "Backspace":
        return _take_back(hand)
    if stroke == "Shift+Backspace":
        return Pressed(None, ({"does": "redo"},))
    if stroke == "Escape":
        return Pressed(None) if hand else Pressed(None, refusal="no question is open")
    if hand is not None and hand.typed and not _is_digit(stroke) and not _is_time(language, hand):
        return Pressed(hand, refusal="a minute has 60 seconds; Backspace takes the last digit back")
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
        return replace(made, hand=hand, refusal=f"{made.refusal}; the question stays open")
    if hand is not None and hand.typed:
        return Pressed(None, (_said(hand.question, _typed_value(language, hand)),), again=True)
    return made


def options(language: Language, context: Mapping[str, str], hand: Hand | None) -> list[Option]:
    """The keys that mean something now, as the prompt strip shows them.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        At the film's present time.
    hand : Hand or None
        The open mark.

    Returns
    -------
    list of Option
        The open question's answers, or the marks that can follow.
    """
    if hand is None:
        found = []
        for kind, key in _can_follow(language, context):
            found.append(Option(key["key"], key["name"], _is_offer(context, kind["code"], key)))
        return found
    question = _question(language, hand)
    found = [Option(choice["key"], choice["name"]) for choice in _listed(language, hand.context, question)]
    found += [Option(choice["key"], choice["name"]) for choice in question.get("choices", [])]
    offered = offer(language, hand)
    if offered and not hand.typed:
        found.insert(0, Option("Enter", offered, True))
    return found


def offer(language: Language, hand: Hand) -> str:
    """The answer that Enter would take for the open question.

    Parameters
    ----------
    language : Language
        The vocabulary.
    hand : Hand
        The open mark.

    Returns
    -------
    str
        A player's number, or empty.
    """
    question = _question(language, hand)
    if question["code"] in hand.answers:
        return ""
    taken = {value for name, value in hand.answers.items() if isinstance(value, str) and name != question["code"]}
    for source in question.get("offer", []):
        value = hand.context.get(source[1:], "")
        if value and value not in taken:
            return value
    return ""


def _question(language: Language, hand: Hand) -> Mapping[str, Any]:
    found = language.question(hand.kind, hand.question)
    return found if found is not None else {"code": hand.question, "type": "choice", "ask": ""}


def _following(language: Language, hand: Hand, *, own: bool) -> Iterator[Mapping[str, Any]]:
    """Questions that may be asked now, from the open one on (itself too when `own`).

    Of a new mark those that are not answered and not beyond the detail; of one made earlier all of them.
    """
    here = hand.question == ""
    level = language.level_order.get(hand.context.get("level", ""), 0)
    for question in language.kinds[hand.kind]["questions"]:
        code = question["code"]
        if code == hand.question:
            here = True
            if own:
                yield question
            continue
        if not here or (not hand.old and (code in hand.answers or question["type"] == "set")):
            continue
        asked = hand.old or language.level_order[question["level"]] <= level
        if asked and holds(question.get("when", {}), hand.answers, hand.context):
            yield question


def _next(language: Language, hand: Hand) -> str:
    found = next(_following(language, hand, own=False), None)
    return found["code"] if found else ""


def _listed(language: Language, context: Mapping[str, str], question: Mapping[str, Any]) -> list[dict[str, str]]:
    """The sets, or looks or checkpoints of the set at hand, each with its digit."""
    if question["type"] == "set":
        return [
            {"code": play["code"], "name": play["name"], "key": play["key"]}
            for play in language.data["sets"]
            if play["key"]
        ]
    if question["type"] not in LISTS:
        return []
    play = language.sets.get(context.get("look_set", ""))
    items = play["looks" if question["type"] == "look" else "checkpoints"] if play else []
    return [{**item, "key": key} for key, item in zip(language.data["list_keys"], items, strict=False)]


def _said(question: str, value: Any) -> dict[str, Any]:
    return {"does": "answer", "question": question, "value": value}


def _is_digit(stroke: str) -> bool:
    return len(stroke) == 1 and stroke in DIGITS


def _is_time(language: Language, hand: Hand) -> bool:
    return _question(language, hand)["type"] != "clock" or int(hand.typed[-2:]) < 60


def _typed_value(language: Language, hand: Hand) -> Any:
    if _question(language, hand)["type"] == "clock":
        digits = hand.typed.zfill(3)
        return int(digits[:-2]) * 60 + int(digits[-2:])
    return hand.typed


def _answered(
    language: Language, hand: Hand, question: str, value: Any, before: tuple[Mapping[str, Any], ...] = ()
) -> Pressed:
    said = (*hand.said, *(act["question"] for act in before), question)
    onward = replace(hand, answers={**hand.answers, question: value}, question=question, typed="", said=said)
    return _onward(language, onward, (*before, _said(question, value)))


def _answer_key(language: Language, hand: Hand, stroke: str) -> Pressed | None:
    """The stroke as an answer to this or a later question; None when it is none."""
    if _is_digit(stroke):
        return _digit(language, hand, stroke)
    before: tuple[Mapping[str, Any], ...] = ()
    so_far = hand
    if hand.typed:
        value = _typed_value(language, hand)
        before = (_said(hand.question, value),)
        so_far = replace(hand, answers={**hand.answers, hand.question: value})
    forward = _question(language, hand)["type"] in MOST_DIGITS
    for question in _following(language, so_far, own=not hand.typed):
        if question["code"] != hand.question and not forward:
            break
        for choice in question.get("choices", []):
            if choice["key"] == stroke:
                return _answered(language, so_far, question["code"], choice["code"], before)
    return None


def _digit(language: Language, hand: Hand, stroke: str) -> Pressed | None:
    question = _question(language, hand)
    if question["type"] in LISTS:
        for choice in _listed(language, hand.context, question):
            if choice["key"] == stroke:
                return _answered(language, hand, question["code"], choice["code"])
        return Pressed(hand, refusal=f"the list has no {stroke}; Enter goes on")
    most = MOST_DIGITS.get(question["type"])
    if most is not None:
        if len(hand.typed) >= most:
            return Pressed(hand, refusal=f"{most} digits at most; Enter goes on")
        return Pressed(replace(hand, typed=hand.typed + stroke))
    if any(later["type"] in MOST_DIGITS for later in _following(language, hand, own=False)):
        return Pressed(hand, refusal="no number is asked here; Enter goes on")
    return None


def _enter(language: Language, context: Mapping[str, str], hand: Hand | None) -> Pressed:
    if hand is not None:
        if hand.typed:
            return _answered(language, hand, hand.question, _typed_value(language, hand))
        offered = offer(language, hand)
        if offered:
            return _answered(language, hand, hand.question, offered)
        return _skipped(language, hand)
    for kind, key in _can_follow(language, context):
        if _is_offer(context, kind["code"], key):
            return _made(language, context, kind, key)
    return Pressed(None, refusal="nothing is offered here")


def _skipped(language: Language, hand: Hand) -> Pressed:
    return _onward(language, replace(hand, said=(*hand.said, f"?{hand.question}")), ())


def _onward(language: Language, hand: Hand, acts: tuple[Mapping[str, Any], ...]) -> Pressed:
    code = _next(language, hand)
    return Pressed(replace(hand, question=code), acts) if code else Pressed(None, acts, closed=hand)


def _take_back(hand: Hand | None) -> Pressed:
    if hand is None:
        return Pressed(None, ({"does": "undo"},))
    if hand.typed:
        return Pressed(replace(hand, typed=hand.typed[:-1]))
    if not hand.said:
        return Pressed(None, () if hand.old else ({"does": "undo"},))
    last = hand.said[-1]
    if last.startswith("?"):
        return Pressed(replace(hand, question=last[1:], said=hand.said[:-1]))
    answers = {name: value for name, value in hand.answers.items() if name != last}
    return Pressed(replace(hand, answers=answers, question=last, said=hand.said[:-1]), ({"does": "undo"},))


def _press_text(language: Language, hand: Hand, stroke: str) -> Pressed:
    if stroke.startswith("=") and len(stroke) > 1:
        return _answered(language, hand, hand.question, stroke[1:])
    if stroke in ("Enter", "="):
        return _skipped(language, hand)
    if stroke == "Escape":
        return Pressed(None)
    if stroke == "Backspace":
        return _take_back(hand)
    return Pressed(hand, refusal="a text is being written; Enter ends it")


def _can_follow(
    language: Language, context: Mapping[str, str]
) -> Iterator[tuple[Mapping[str, Any], Mapping[str, Any]]]:
    level = language.level_order.get(context.get("level", ""), 0)
    for kind in language.data["kinds"]:
        if language.level_order[kind["level"]] <= level and fits(kind["needs"], context):
            for key in kind["keys"]:
                yield kind, key


def _is_offer(context: Mapping[str, str], kind: str, key: Mapping[str, Any]) -> bool:
    offered, _, team = context.get("offer", "").partition(":")
    return bool(offered) and offered == kind and (not team or key.get("answers", {}).get("team") == team)


def _mark_key(language: Language, context: Mapping[str, str], stroke: str) -> Pressed:
    pairs = language.keys.get(stroke)
    if not pairs:
        return Pressed(None, refusal=f"{stroke} is no key here")
    for kind, key in pairs:
        if fits(kind["needs"], context):
            level = language.level_order.get(context.get("level", ""), 0)
            if language.level_order[kind["level"]] > level:
                return Pressed(None, refusal=f"{key['name']} is not tagged at this detail; D changes what is tagged")
            return _made(language, context, kind, key)
    return Pressed(None, refusal=_why_not(language, context, pairs[0]))


def _made(language: Language, context: Mapping[str, str], kind: Mapping[str, Any], key: Mapping[str, Any]) -> Pressed:
    answers = dict(key.get("answers", {}))
    act = {"does": "mark", "kind": kind["code"], "answers": answers}
    return Pressed(open_hand(language, context, kind["code"], answers), (act,))


def _why_not(language: Language, context: Mapping[str, str], pair: tuple[Mapping[str, Any], Mapping[str, Any]]) -> str:
    kind, key = pair
    accepted = " ".join(option.key for option in options(language, context, None))
    missing = [name for name, allowed in kind["needs"].items() if not fits({name: allowed}, context)]
    why = {"period": "the period is not open", "ball": "nobody has the ball", "look_set": "no set was named"}
    if "period" in missing and context.get("period") == "open":
        why["period"] = "the period is open"
    if "ball" in missing and context.get("ball") != "none":
        why["ball"] = "the ball is theirs" if context.get("ball") == "theirs" else "the ball is ours"
    if "period" not in missing and context.get("period") == "closed":
        why["ball"] = "the period is not open"
    reason = why.get(missing[0], "it cannot follow") if missing else "it cannot follow"
    return f"{key['name']} does not fit: {reason}. Here: {accepted}"
