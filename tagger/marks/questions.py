"""Oracle of the page's `questions.js`: which question is asked when, what is offered, and what its list holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.marks.context import holds, named
from tagger.marks.keyboard import NO_KEYS
from tagger.marks.vocabulary import Language

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
    held : tuple of str
        Keys that wait: one that the open question refused, and all that came after it.
    """

    kind: str
    answers: Mapping[str, Any]
    context: Mapping[str, str]
    question: str
    typed: str = ""
    said: tuple[str, ...] = ()
    old: bool = False
    held: tuple[str, ...] = ()


def question_of(language: Language, hand: Hand) -> Mapping[str, Any]:
    """The open question.

    Parameters
    ----------
    language : Language
        The vocabulary.
    hand : Hand
        The open mark.

    Returns
    -------
    mapping
        As in the vocabulary; one without answers where that does not know it.
    """
    found = language.question(hand.kind, hand.question)
    return found if found is not None else {"code": hand.question, "type": "choice", "ask": ""}


def following(language: Language, hand: Hand, *, own: bool) -> Iterator[Mapping[str, Any]]:
    """Questions that may be asked now, from the open one on.

    Of a new mark those that are not answered and not beyond the detail, or of a kind that the stated question needs
    those that it needs; of one made earlier all of them.

    Parameters
    ----------
    language : Language
        The vocabulary.
    hand : Hand
        The open mark.
    own : bool
        Whether the open question is among them.

    Yields
    ------
    mapping
        In the vocabulary's order.
    """
    here = hand.question == ""
    for question in language.kinds[hand.kind]["questions"]:
        code = question["code"]
        if code == hand.question:
            here = True
            if own:
                yield question
            continue
        if not here or question["type"] in NO_KEYS:
            continue
        if not hand.old and (code in hand.answers or question["type"] == "set"):
            continue
        asked = hand.old or is_asked(language, hand.context, hand.kind, question)
        if asked and holds(question.get("when", {}), hand.answers, hand.context):
            yield question


def is_asked(language: Language, context: Mapping[str, str], kind: str, question: Mapping[str, Any]) -> bool:
    """Whether a question is asked of a new mark.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        Before the mark.
    kind : str
        The mark's kind.
    question : mapping
        One of its questions.

    Returns
    -------
    bool
        By the detail, or by the kind's own where that is more; of a kind that the stated question needs, by that
        question alone.
    """
    needed = context.get("asked", "").split()
    if kind in needed:
        return f"{kind}.{question['code']}" in needed
    order = language.level_order
    most = max(order.get(context.get("level", ""), 0), order[language.kinds[kind]["level"]])
    return order[question["level"]] <= most


def next_question(language: Language, hand: Hand) -> str:
    """Code of the question after the open one.

    Parameters
    ----------
    language : Language
        The vocabulary.
    hand : Hand
        The open mark.

    Returns
    -------
    str
        Empty when none is left.
    """
    found = next(following(language, hand, own=False), None)
    return found["code"] if found else ""


def listed(language: Language, context: Mapping[str, str], question: Mapping[str, Any]) -> list[dict[str, str]]:
    """The sets, or looks or checkpoints of the set at hand, each with its digit.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        Before the mark.
    question : mapping
        The question that asks for one of them.

    Returns
    -------
    list of dict
        `code`, `name`, `key`; empty for a question of another type.
    """
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
        A player's number, or one of the question's choices; empty when nothing is offered. No player is offered twice
        in one mark.
    """
    question = question_of(language, hand)
    if question["code"] in hand.answers or not holds(question.get("offer_when", {}), hand.answers, hand.context):
        return ""
    choices = {choice["code"] for choice in question.get("choices", [])}
    taken = {value for name, value in hand.answers.items() if isinstance(value, str) and name != question["code"]}
    for source in question.get("offer", []):
        value = hand.context.get(named(source[1:], hand.answers, hand.context), "")
        if value and (value not in taken if question["type"] == "player" else value in choices):
            return value
    return ""


def offers(language: Language, hand: Hand) -> list[tuple[str, str]]:
    """All that Enter would take: the open question's offer, and those of the questions that belong together with it.

    Parameters
    ----------
    language : Language
        The vocabulary.
    hand : Hand
        The open mark.

    Returns
    -------
    list of (str, str)
        Question and answer, in the order in which they are asked. Questions belong together when they follow each other
        and have the same word in the vocabulary's `together`: the pair of a screen, the five of a set.
    """
    found: list[tuple[str, str]] = []
    group = question_of(language, hand).get("together", "")
    while value := offer(language, hand):
        found.append((hand.question, value))
        hand = replace(hand, answers={**hand.answers, hand.question: value})
        onward = next_question(language, hand)
        question = language.question(hand.kind, onward) if onward else None
        if not group or question is None or question.get("together") != group:
            break
        hand = replace(hand, question=onward)
    return found


def answer_words(language: Language, kind: str, code: str, value: str) -> str:
    """An offered answer as the strip shows it.

    Parameters
    ----------
    language : Language
        The vocabulary.
    kind, code : str
        Of the mark and of its question.
    value : str
        The answer.

    Returns
    -------
    str
        A choice's name; else the answer itself.
    """
    question = language.question(kind, code) or {}
    names = {choice["code"]: str(choice["name"]) for choice in question.get("choices", [])}
    return names.get(value, value)
