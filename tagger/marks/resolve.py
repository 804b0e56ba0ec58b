"""From entries to marks as they stand now.

Entries are taken in the order of `(n, id)`, never of file or wall time. An entry that a later, itself active undo
names is void, and so is what was wrong with it; walking from the last entry to the first settles that in one pass,
since an undo only reaches back. It reaches one's own entries only, but for putting a book back (`putback`). What is
left builds the marks. The page's twin is `resolve.js`; both pass the same cases.

Film is often held while several keys are pressed, so many marks share a frame: there the order of entry counts. A
kind's rank in the vocabulary only lifts what frames a game (detail and period beginnings first; notes, then period
ends last), all marks of play have one rank. So a mark means what the person saw offered at that frame.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from tagger.marks.between import merged
from tagger.marks.entries import PUT_BACK, Entry
from tagger.marks.problems import Problem


@dataclass(frozen=True)
class Mark:
    """A mark as it stands after all corrections.

    Attributes
    ----------
    id, kind, by : str
        The mark's id, its kind and who made it.
    film : str
        Id of the film whose time `at_ms` is.
    at_ms : int
        Film time, ms from the film's first shown frame.
    answers : mapping
        Question → value; a skipped question is not there.
    place : tuple of (int, str)
        `(n, id)` of the entry that made it.
    removed : bool
        Taken out of the tables, still restorable.
    copied_from : str
        Id of the mark in another book that it was taken over from.
    speed : float
        How fast the film ran when it was made; 0 when held, and once it was put on another frame by hand.
    """

    id: str
    kind: str
    by: str
    film: str
    at_ms: int
    answers: Mapping[str, Any]
    place: tuple[int, str]
    removed: bool = False
    copied_from: str = ""
    speed: float = 0.0


def resolve(entries: Iterable[Entry]) -> tuple[list[Mark], list[Problem]]:
    """The marks that the entries of one book leave standing.

    Parameters
    ----------
    entries : iterable of Entry
        In any order; the same entry twice counts once.

    Returns
    -------
    tuple of list of Mark and list of Problem
        Marks (removed ones too, flagged) in the order of the entries that made them; entries that act on nothing.
    """
    ordered = sorted({entry.id: entry for entry in entries}.values(), key=lambda entry: entry.place)
    by_id = {entry.id: entry for entry in ordered}
    void, problems = _void(ordered, by_id)
    marks: dict[str, Mark] = {}
    for entry in ordered:
        if entry.does == "undo" or entry.id in void:
            continue
        if entry.does != "mark" and (
            entry.of not in by_id or by_id[entry.of].does != "mark" or not _earlier(by_id, entry)
        ):
            problems.append(
                Problem(
                    "acts_on_nothing",
                    f"“{entry.does}” acts on a mark that is not in this book; nothing came of it",
                    entry.id,
                )
            )
            continue
        if entry.does == "mark":
            answers = {name: value for name, value in entry.answers.items() if value is not None}
            marks[entry.id] = Mark(
                entry.id,
                entry.kind,
                entry.by,
                film=entry.film,
                at_ms=entry.at_ms,
                answers=answers,
                place=entry.place,
                copied_from=entry.copied_from,
                speed=entry.speed,
            )
            continue
        mark = marks.get(entry.of)
        if mark is None:
            continue
        if entry.does == "answer":
            mark = replace(mark, answers=merged(mark.answers, entry.answers))
        elif entry.does == "retime":
            mark = replace(mark, film=entry.film, at_ms=entry.at_ms, speed=0.0)
        else:
            mark = replace(mark, removed=True)
        marks[entry.of] = mark
    return list(marks.values()), problems


def _earlier(by_id: Mapping[str, Entry], entry: Entry) -> bool:
    return by_id[entry.of].place < entry.place


def _void(ordered: list[Entry], by_id: Mapping[str, Entry]) -> tuple[set[str], list[Problem]]:
    void: set[str] = set()
    problems: list[Problem] = []
    for entry in reversed(ordered):
        if entry.does != "undo" or entry.id in void:
            continue
        target = by_id.get(entry.of)
        if target is None or not _earlier(by_id, entry):
            problems.append(
                Problem(
                    "acts_on_nothing", "a take-back names no earlier entry of this book; nothing came of it", entry.id
                )
            )
        elif entry.by not in (target.by, PUT_BACK):
            who, whose = entry.by or "somebody", target.by or "somebody else"
            problems.append(
                Problem(
                    "not_own",
                    f"{who} took back what {whose} entered; only one’s own can be",
                    entry.id,
                )
            )
        else:
            void.add(target.id)
    problems.reverse()
    return void, problems


def last_to_undo(entries: Iterable[Entry], by: str) -> Entry | None:
    """Oracle of the page's `lastToUndo`: what one more take-back reaches: the last of one's own that stands.

    Parameters
    ----------
    entries : iterable of Entry
        The book's entries.
    by : str
        The person.

    Returns
    -------
    Entry or None
        None at the beginning.
    """
    ordered, void = _standing(entries)
    return next((e for e in reversed(ordered) if e.by == by and e.does != "undo" and e.id not in void), None)


def last_to_redo(entries: Iterable[Entry], by: str) -> Entry | None:
    """Oracle of the page's `lastToRedo`: the take-back that one more redo of this person reverses.

    Only while nothing new was entered since.

    Parameters
    ----------
    entries : iterable of Entry
        The book's entries.
    by : str
        The person.

    Returns
    -------
    Entry or None
        An active undo of an entry that is no undo.
    """
    ordered, void = _standing(entries)
    by_id = {entry.id: entry for entry in ordered}
    for entry in reversed(ordered):
        if entry.by != by:
            continue
        if entry.does != "undo":
            if entry.id in void:
                continue
            return None
        target = by_id.get(entry.of)
        if target is not None and target.does != "undo" and entry.id not in void:
            return entry
    return None


def _standing(entries: Iterable[Entry]) -> tuple[list[Entry], set[str]]:
    ordered = sorted({entry.id: entry for entry in entries}.values(), key=lambda entry: entry.place)
    void, _ = _void(ordered, {entry.id: entry for entry in ordered})
    return ordered, void
