"""The truth of a sample game as marks to be typed: what is asked at a level, and what a person has to say.

What the fold works out by itself, how a ball was gained after a save, that no feed has no pass before it, a person need
not say; the tables come out the same without, which is checked here. Places are pointed at with the mouse and left out
on both sides of a comparison.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.marks import context as contexts
from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, Folded, GameFacts, fold
from tagger.marks.resolve import Mark, resolve
from tagger.marks.vocabulary import Language
from tagger.season import Season

POINTED_AT = ("place",)  # with the mouse, not typed
WORKED_OUT = (("possession", "gained"), ("shot", "feeder2"), ("line", "team"))


@dataclass(frozen=True)
class TruthBook:
    """Marks in order of game time, each at a frame, and what is needed to fold them.

    Attributes
    ----------
    marks : tuple of Mark
        What is to be typed.
    tables : Folded
        What the truth says at this level, said in full.
    facts : GameFacts
        For folding what was typed.
    """

    marks: tuple[Mark, ...]
    tables: Folded
    facts: GameFacts


def truth_book(
    season: Season, game: str, level: str, *, until_ms: int | None = None, without_roles: bool = False
) -> TruthBook:
    """The marks of a game's chosen book as far as a level of detail asks for them.

    Parameters
    ----------
    season : Season
        The sample season.
    game : str
        The game's id; a game without film keeps its times.
    level : str
        A level of the vocabulary.
    until_ms : int, optional
        Where to stop; a mark at it counts.
    without_roles : bool
        Leave out who filled the roles of a set.

    Returns
    -------
    TruthBook
        Its marks leave out what the fold works out.
    """
    language = season.texts.language()
    entries, _ = season.journal.entries(game, season.tagged.chosen_book(game))
    marks = {mark.id: mark for mark in resolve(entries)[0]}
    (film,) = season.shelf.films(game)
    index = season.shelf.indexes.of(film.id) if film.state == "ready" else None
    rules = season.texts.settings
    facts = GameFacts(
        game,
        "typist",
        language,
        films=(FilmSpan(film.id, film.offset_ms, film.duration_ms),),
        roster=frozenset(one.number for one in season.texts.roster),
        period_s=rules.period_minutes * 60,
        stop_clock=rules.stop_clock,
        penalties=rules.penalties,
        reaction_ms=rules.reaction_ms,
    )
    made = []
    context = contexts.start(language)
    for line in season.tagged.folded(game).log:
        mark = marks[line.mark.id]
        if until_ms is not None and mark.at_ms > until_ms:
            break
        if (answers := _asked(language, mark, level)) is not None:
            if without_roles:
                answers = {name: value for name, value in answers.items() if not name.startswith("role.")}
            if not contexts.fits(language.kinds[mark.kind]["needs"], context):
                continue  # no key makes it there, a line change before the period begins: left out on both sides
            context = contexts.after(language, context, mark.kind, answers)
            at_ms = mark.at_ms if index is None else index.at_ms(index.nearest(mark.at_ms))
            made.append(replace(mark, answers=answers, at_ms=at_ms))
    tables = fold(entries_of(made), facts)
    return TruthBook(tuple(_to_say(made, tables, facts)), tables, facts)


def entries_of(marks: Iterable[Mark]) -> list[Entry]:
    """Marks as the entries of one book, in their order."""
    return [
        Entry(one.id, n, "truth", "mark", kind=one.kind, film=one.film, at_ms=one.at_ms, answers=one.answers)
        for n, one in enumerate(marks, 1)
    ]


def plain(folded: Folded, *, times: bool = True) -> Mapping[str, list[dict[str, Any]]]:
    """Rows with ids replaced by the place of the row that they name, so that two books can be compared.

    Parameters
    ----------
    folded : Folded
        What a book says.
    times : bool
        Whether times are compared too; without them rows of a table are compared in their order alone.

    Returns
    -------
    mapping of str to list of dict
        Table name → rows. In place of `marks` stands their number.
    """
    places: dict[str, str] = {}
    for name, rows in folded.rows.items():
        for place, row in enumerate(rows):
            places.setdefault(row["id"], f"{name} {place}")
    made = {}
    for name, rows in folded.rows.items():
        made[name] = [
            {
                column: places.get(value, value) if isinstance(value, str) else value
                for column, value in row.items()
                if times or not (column.endswith("_ms") or column == "clock_s")
            }
            | {"marks": len(row["marks"])}
            for row in rows
        ]
    return made


def _asked(language: Language, mark: Mark, level: str) -> dict[str, Any] | None:
    """The answers that a level asks for; None where it does not ask for the kind."""
    most = language.level_order[level]
    kind = language.kinds[mark.kind]
    if language.level_order[kind["level"]] > most:
        return None
    if mark.kind == "detail":
        return {"level": level}
    asked = {one["code"] for one in kind["questions"] if language.level_order[one["level"]] <= most}
    asked |= set(kind.get("beside", ())) - set(POINTED_AT)
    answers = {name: value for name, value in mark.answers.items() if name in asked and name not in POINTED_AT}
    return answers | brought(language, mark.kind, answers)


def brought(language: Language, kind: str, answers: Mapping[str, Any]) -> dict[str, Any]:
    """What else the page enters with some of the answers."""
    made: dict[str, Any] = {}
    for code, value in answers.items():
        for choice in (language.question(kind, code) or {}).get("choices", ()):
            if choice["code"] == value:
                made |= choice.get("with", {})
    return made


def _to_say(marks: list[Mark], tables: Folded, facts: GameFacts) -> list[Mark]:
    """The marks without the answers that make no difference: all of them at once, else each half of them."""
    wanted = plain(tables)
    waiting = [
        [
            (place, question)
            for place, mark in enumerate(marks)
            for kind, question in WORKED_OUT
            if mark.kind == kind and question in mark.answers
        ]
    ]
    said = marks
    while waiting:
        some = waiting.pop()
        less = _without(said, some)
        if plain(fold(entries_of(less), facts)) == wanted:
            said = less
        elif len(some) > 1:
            half = len(some) // 2
            waiting += [some[:half], some[half:]]
    return said


def _without(marks: list[Mark], answers: list[tuple[int, str]]) -> list[Mark]:
    said = list(marks)
    for place, question in answers:
        kept = {name: value for name, value in said[place].answers.items() if name != question}
        said[place] = replace(said[place], answers=kept)
    return said
