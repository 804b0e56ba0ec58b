"""What is wrong with one mark's answers, seen on their own: types, choices, players not on the roster."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.between import question_beside, two_of
from tagger.marks.context import other
from tagger.marks.resolve import Mark
from tagger.marks.vocabulary import Language
from tagger.tables import NONE, OTHERS, SOMEBODY, UNSEEN


def clean_answers(language: Language, mark: Mark) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    """A mark's answers without those that can mean nothing, and what was wrong.

    Parameters
    ----------
    language : Language
        The vocabulary.
    mark : Mark
        Of a known kind.

    Returns
    -------
    tuple of dict and list of (str, str)
        Answers of the right type (clock: whole seconds; place: two numbers; all others: text), and a code and a text
        for each fault. An answer that is no longer among a question's choices is kept and named.
    """
    kept: dict[str, Any] = {}
    faults: list[tuple[str, str]] = []
    for code, value in mark.answers.items():
        question = language.question(mark.kind, code)
        if question is None and (told := question_beside(language.kinds[mark.kind], code)) is not None:
            if two_of(mark.answers, told["code"]):
                kept[code] = value
            else:
                faults.append(("unknown_answer", f"“{value}” is not two for “{told['ask']}”; answer it anew"))
            continue
        if question is None:
            if code not in language.kinds[mark.kind].get("beside", ()) and not code.startswith("role."):
                faults.append(
                    ("unknown_question", f"it answers “{code}”, which is not asked of it; remove it or mark it anew")
                )
                continue
            question = {"type": "player" if code.startswith("role.") else "choice", "ask": code, "choices": None}
        kind = question["type"]
        if kind == "clock" and isinstance(value, int | float) and value >= 0:
            kept[code] = int(value)
        elif isinstance(value, list if kind == "place" else str) and kind != "clock":
            kept[code] = value
        else:
            faults.append(("unknown_answer", f"“{value}” is no answer to “{question['ask']}”; answer it anew"))
            continue
        choices = question.get("choices")
        if (
            kind == "choice"
            and choices is not None
            and value not in {choice["code"] for choice in (*choices, *question.get("retired", ()))}
        ):
            faults.append(("unknown_answer", f"“{value}” is no answer to “{question['ask']}”; answer it anew"))
    return kept, faults


def strangers(
    language: Language, kind: str, answers: Mapping[str, Any], team: str | None, roster: frozenset[str]
) -> list[str]:
    """Our players in a mark's answers who are not on the roster.

    Parameters
    ----------
    language : Language
        The vocabulary.
    kind : str
        The mark's kind.
    answers : mapping
        Cleaned.
    team : str or None
        Whose ball it is.
    roster : frozenset of str
        Our numbers; empty: nobody is checked.

    Returns
    -------
    list of str
        Their numbers.
    """
    if not roster:
        return []
    found = []
    for code, value in answers.items():
        question = language.question(kind, code) or question_beside(language.kinds[kind], code)
        if question is None or question["type"] != "player" or value in (NONE, UNSEEN, SOMEBODY):
            continue
        numbers = [value] if question["code"] == code else two_of(answers, question["code"])
        side = answers.get("team") or team
        asked = question.get("whose") or side
        whose = other(side or "") if asked == OTHERS else asked
        if whose == "ours":
            found += [str(one) for one in numbers if one not in roster and one != SOMEBODY]
    return found


def looks_for(language: Language, level: str, asked: str = "") -> str:
    """The kinds and questions that are looked for at a level of detail, or for a stated question.

    Parameters
    ----------
    language : Language
        The vocabulary.
    level : str
        basic, main or whole; an unknown one counts as the least.
    asked : str
        What a stated question needs; empty where nothing narrows the level.

    Returns
    -------
    str
        Codes with a space between: `screen`, `screen.coverage`.
    """
    if asked:
        known = {kind: {question["code"] for question in held["questions"]} for kind, held in language.kinds.items()}
        parts = [(one, *one.partition(".")[::2]) for one in asked.split()]
        return " ".join(one for one, kind, name in parts if kind in known and (not name or name in known[kind]))
    order = language.level_order
    most = order.get(level, 0)
    found = []
    for kind in language.data["kinds"]:
        if order[kind["level"]] > most:
            continue
        found.append(kind["code"])
        found += [f"{kind['code']}.{one['code']}" for one in kind["questions"] if order[one["level"]] <= most]
    return " ".join(found)
