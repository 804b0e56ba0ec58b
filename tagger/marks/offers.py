"""Oracle of the page's `offers.js`: which marks can follow, which is offered, which keys mean something now.

Only what is known is offered. The feeder is offered where who set an on-ball screen shot, from who used it, and only
in that run (`offer_when`); the setter, offered before to whoever shot, was wrong in three of four when somebody new
tagged a film, and Enter had taken him. What belongs together (a screen's pair, its kind and side, a set's five) is
offered as one, remembered for each set and side and for the line that is on; the first digit of another number puts
the offer aside.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from tagger.marks.context import fits, named
from tagger.marks.keyboard import on_keyboard
from tagger.marks.questions import Hand, answer_words, following, listed, offers, question_of
from tagger.marks.vocabulary import Language

Pair = tuple[Mapping[str, Any], Mapping[str, Any]]


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
        The open question's answers, or the marks that can follow; where a stated question narrows what is tagged, only
        those that it needs.
    """
    if hand is None:
        found = []
        needed = context.get("asked", "").split()
        for kind, key in can_follow(language, context):
            if needed and kind["code"] not in needed:
                continue
            found.append(Option(key["key"], key["name"], is_offer(context, kind["code"], key)))
        return found
    question = question_of(language, hand)
    found = [Option(choice["key"], choice["name"]) for choice in listed(language, hand.context, question)]
    found += [Option(choice["key"], choice["name"]) for choice in question.get("choices", [])]
    offered = [answer_words(language, hand.kind, code, value) for code, value in offers(language, hand)]
    if offered and not hand.typed:
        whole = language.data["together"].get(question.get("together"), "") if len(offered) > 1 else ""
        name = f"{whole}: {' · '.join(offered)}" if whole else " · ".join(offered)
        found.insert(0, Option("Enter", name + _without(language, hand), True))
    return found


def _without(language: Language, hand: Hand) -> str:
    """Of a set's five, whom Enter would not fill in, and why not."""
    group = question_of(language, hand).get("together", "")
    if group != "five":
        return ""
    filled = dict(offers(language, hand))
    for question in following(language, hand, own=True):
        if question.get("together") == group and question["code"] not in filled:
            known = [
                hand.context.get(named(one[1:], hand.answers, hand.context), "") for one in question.get("offer", [])
            ]
            there = next((one for one in known if one), "")
            why = f"not: {there} is there already" if there else "is not known from before"
            return f"; {question.get('name', question['code'])} {why}"
    return ""


def can_follow(language: Language, context: Mapping[str, str]) -> Iterator[Pair]:
    """The marks that can follow, key by key.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        At the film's present time.

    Yields
    ------
    tuple of mapping and mapping
        A kind and one of its keys.
    """
    for kind in language.data["kinds"]:
        if is_tagged(language, context, kind) and fits(kind["needs"], context):
            for key in kind["keys"]:
                if fits(key.get("needs", {}), context):
                    yield kind, key


def is_offer(context: Mapping[str, str], kind: str, key: Mapping[str, Any]) -> bool:
    """Whether Enter makes this mark.

    Parameters
    ----------
    context : mapping
        At the film's present time.
    kind : str
        The kind's code.
    key : mapping
        One of its keys.

    Returns
    -------
    bool
        By what the marks so far offer; never one that the stated question does not need.
    """
    needed = context.get("asked", "").split()
    if needed and kind not in needed:
        return False
    offered, _, team = context.get("offer", "").partition(":")
    return bool(offered) and offered == kind and (not team or key.get("answers", {}).get("team") == team)


def is_tagged(language: Language, context: Mapping[str, str], kind: Mapping[str, Any]) -> bool:
    """Whether a kind is tagged here at all.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        At the film's present time.
    kind : mapping
        One of the vocabulary's kinds.

    Returns
    -------
    bool
        By the detail, or because the stated question needs it.
    """
    level = language.level_order.get(context.get("level", ""), 0)
    return language.level_order[kind["level"]] <= level or kind["code"] in context.get("asked", "").split()


def mark_of(language: Language, context: Mapping[str, str], stroke: str) -> Pair | str:
    """The mark that a key makes here, or why it makes none.

    Parameters
    ----------
    language : Language
        The vocabulary.
    context : mapping
        At the film's present time.
    stroke : str
        The key.

    Returns
    -------
    tuple of mapping and mapping, or str
        A kind and its key; or the refusal, with what would be accepted.
    """
    pairs = language.keys.get(stroke)
    if not pairs:
        return f"{on_keyboard(stroke)} is no key here"
    for kind, key in pairs:
        if fits(kind["needs"], context) and fits(key.get("needs", {}), context):
            if not is_tagged(language, context, kind) and not kind.get("any_detail"):
                detail = language.that("detail")
                change = on_keyboard(detail["keys"][0]["key"] if detail and detail["keys"] else "")
                return f"{key['name']} is not tagged at this detail; {change} changes what is tagged"
            return kind, key
    return _why_not(language, context, pairs[0])


def _why_not(language: Language, context: Mapping[str, str], pair: Pair) -> str:
    kind, key = pair
    accepted = " ".join(on_keyboard(option.key) for option in options(language, context, None))
    needs = {**kind["needs"], **key.get("needs", {})}
    missing = [name for name, allowed in needs.items() if not fits({name: allowed}, context)]
    why = {
        "period": "the period is not open",
        "ball": "nobody has the ball",
        "look_set": "no set was named",
        "screened": "no screen was set before",
        "settled": "this possession settled before",
    }
    if "period" in missing and context.get("period") == "open":
        why["period"] = "the period is open"
    if "ball" in missing and context.get("ball") != "none":
        why["ball"] = "the ball is theirs" if context.get("ball") == "theirs" else "the ball is ours"
    if "period" not in missing and context.get("period") == "closed":
        why["ball"] = "the period is not open"
    reason = why.get(missing[0], "it cannot follow") if missing else "it cannot follow"
    return f"{key['name']} does not fit: {reason}. Here: {accepted}"
