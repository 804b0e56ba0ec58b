"""One player of ours taken out of a book: his number is "somebody", texts do not name him, his grades are empty.

The only thing that ever changes what was entered, and pure: entries in, what becomes of them out. The season's
`floorbook erase` writes the journal anew with it. An opponent may wear the same number, so an answer is his unless the
mark is known to be of the other team: by what it says itself, else by whose possession it stands in. Where nobody knows
it is taken as his. Every answer ever given counts, not only those that stand: the journal keeps them all. No entry goes
away, since order is meaning: a grade of him stays as one of "somebody" that says nothing, and makes no row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from tagger.marks.between import OR, beside, question_beside, two_of
from tagger.marks.context import other
from tagger.marks.entries import Entry
from tagger.marks.fold import Folded, GameFacts, fold
from tagger.marks.onfloor import whose
from tagger.marks.resolve import Mark, resolve
from tagger.marks.vocabulary import Language
from tagger.tables import OTHERS, SOMEBODY, THEIRS

_ROLE = "role."


@dataclass(frozen=True)
class Who:
    """Who is taken out.

    Attributes
    ----------
    number : str
        His number on our roster, as text; empty: only texts are looked at.
    cleared : callable
        Free text without him.
    renamed : mapping of str to str
        Names of taggers that are his, and what stands for each.
    """

    number: str
    cleared: Callable[[str], str] = field(default=lambda text: text)
    renamed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class TextChange:
    """A free text as it was and as it becomes."""

    entry: str
    before: str
    after: str


@dataclass(frozen=True)
class TakenOut:
    """What becomes of a book's entries; all others stay as they are.

    Attributes
    ----------
    changed : mapping of str to Entry
        Entry's id → as it is written instead: same id, n and place.
    n_answers : int
        How many answers named him by number.
    n_unsure : int
        How many of these stand in no possession, so that nobody can say whether an opponent was meant.
    n_grades : int
        How many grades were of him.
    texts : tuple of TextChange
        Free texts that named him.
    """

    changed: Mapping[str, Entry]
    n_answers: int
    n_unsure: int
    n_grades: int
    texts: tuple[TextChange, ...]


def without(entries: Iterable[Entry], facts: GameFacts, who: Who) -> TakenOut:
    """Take a player out of one book.

    Parameters
    ----------
    entries : iterable of Entry
        All of the book's.
    facts : GameFacts
        What the book is folded with.
    who : Who
        The player.

    Returns
    -------
    TakenOut
        Whoever folds the book with it gets the same rows, save that his number is "somebody", his grades are not there
        and texts do not name him.
    """
    held = list(entries)
    marks = {mark.id: mark for mark in resolve(held)[0]}
    kinds = {entry.id: entry.kind for entry in held if entry.does == "mark"}
    grades = {of for of, kind in kinds.items() if facts.language.does(kind) == "grade"}
    graded = _graded(held, grades, marks, who.number) if who.number else set()
    teams = _Teams(held, fold(held, facts), facts, marks)
    changed: dict[str, Entry] = {}
    texts: list[TextChange] = []
    n_answers = n_unsure = 0
    for entry in held:
        of = entry.id if entry.does == "mark" else entry.of
        made: dict[str, Any] = _emptied(entry) if of in graded else {}
        for code, value in entry.answers.items() if of not in graded else ():
            kind = kinds.get(of, "")
            if _is_number(facts.language, kind, code, value, who.number):
                team = teams.of(of, kind, code)
                if team != THEIRS:
                    made[code] = SOMEBODY
                    n_answers += 1
                    n_unsure += team is None
            elif who.number in (two := _two(facts.language, kind, code, entry.answers)):
                team = teams.of(of, kind, code.removesuffix(beside("")))
                if team != THEIRS:
                    made[code] = OR.join(SOMEBODY if one == who.number else one for one in two)
                    n_answers += 1
                    n_unsure += team is None
            elif isinstance(value, str) and _is_text(facts.language, kind, code):
                after = who.cleared(value)
                if after != value:
                    made[code] = after
                    texts.append(TextChange(entry.id, value, after))
        by = who.renamed.get(entry.by, entry.by)
        if made or by != entry.by:
            answers = made if of in graded else {**entry.answers, **made}
            changed[entry.id] = replace(entry, by=by, answers=answers)
    return TakenOut(changed, n_answers, n_unsure, len(graded), tuple(texts))


def _graded(entries: list[Entry], grades: set[str], marks: Mapping[str, Mark], number: str) -> set[str]:
    """Grades that are of him; one that was put right to another player is that player's."""
    named: dict[str, bool] = {}
    for entry in entries:
        of = entry.id if entry.does == "mark" else entry.of
        if of in grades and str(entry.answers.get("player")) == number:
            named[of] = True
    return {of for of in named if of not in marks or str(marks[of].answers.get("player", number)) == number}


def _emptied(entry: Entry) -> dict[str, Any]:
    """A grade's answers taken back, so that it says nothing; an entry that answered must still answer something."""
    said = {} if entry.does == "mark" else dict.fromkeys(entry.answers)
    return {**said, "player": SOMEBODY} if entry.does == "mark" or "player" in said else said


def _is_number(language: Language, kind: str, code: str, value: Any, number: str) -> bool:
    """Whether an answer is this number of a player; a question that nobody knows may ask for one."""
    if not number or isinstance(value, bool) or not isinstance(value, str | int) or str(value) != number:
        return False
    question = language.question(kind, code)
    if question is not None:
        return str(question["type"]) == "player"
    return code.startswith(_ROLE) or code not in (language.kinds.get(kind) or {}).get("beside", ())


def _two(language: Language, kind: str, code: str, answers: Mapping[str, Any]) -> list[str]:
    """The two men between whom an answer lies."""
    held = language.kinds.get(kind)
    question = question_beside(held, code) if held is not None else None
    return two_of(answers, question["code"]) if question is not None and question["type"] == "player" else []


def _is_text(language: Language, kind: str, code: str) -> bool:
    question = language.question(kind, code)
    return question is None or question["type"] == "text"


class _Teams:
    """Whose man an answer means: ours, theirs, or None where nobody knows."""

    def __init__(self, entries: list[Entry], folded: Folded, facts: GameFacts, marks: Mapping[str, Mark]) -> None:
        self._language = facts.language
        self._rows = folded.rows["possessions"]
        self._team = {row["id"]: row["team"] for row in self._rows}
        self._possession = {logged.mark.id: logged.possession for logged in folded.log}
        offsets = {film.id: film.offset_ms for film in facts.films}
        self._answers: dict[str, dict[str, Any]] = {}
        self._at_ms: dict[str, int] = {}
        for entry in entries:  # undone marks too, which stand nowhere any more
            of = entry.id if entry.does == "mark" else entry.of
            self._answers.setdefault(of, {}).update(entry.answers)
            if entry.does in ("mark", "retime") and entry.film in offsets:
                self._at_ms[of] = offsets[entry.film] + entry.at_ms
        for mark in marks.values():
            self._answers[mark.id] = dict(mark.answers)
            if mark.film in offsets:
                self._at_ms[mark.id] = offsets[mark.film] + mark.at_ms

    def of(self, mark: str, kind: str, code: str) -> str | None:
        question = self._language.question(kind, code) or {}
        always = "ours" if code.startswith(_ROLE) else question.get("whose")
        if always == OTHERS:
            return other(self._side(mark, kind) or "") or None
        return str(always) if always is not None else self._side(mark, kind)

    def _side(self, mark: str, kind: str) -> str | None:
        answers = self._answers.get(mark, {})
        said = (whose(answers) if self._language.does(kind) == "line" else answers).get("team")
        if said in ("ours", THEIRS):
            return str(said)
        possession = self._possession.get(mark)
        if possession is not None:
            found = self._team.get(possession)
            return str(found) if found is not None else None
        at_ms = self._at_ms.get(mark)
        if at_ms is None:
            return None
        teams = {
            row["team"]
            for row in self._rows
            if row["start_ms"] <= at_ms and (row["end_ms"] is None or at_ms <= row["end_ms"])
        }
        return str(next(iter(teams))) if len(teams) == 1 and None not in teams else None
