"""A desk without a page: key strokes in, marks out, over the Python interpreter. The tests' driver of `cases.json`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.between import entered
from tagger.marks.context import after, start
from tagger.marks.entries import Entry, read_entry
from tagger.marks.offers import options
from tagger.marks.questions import Hand, offer
from tagger.marks.resolve import Mark, last_to_redo, last_to_undo, resolve
from tagger.marks.sentences import sentence
from tagger.marks.strokes import open_hand, press, taken_up
from tagger.marks.vocabulary import Language

STEP_MS = 100  # the film runs on by this much with every stroke


class Keyboard:
    """One person's hand over one film.

    Parameters
    ----------
    language : Language
        The vocabulary with a playbook.
    by : str
        Who tags.
    """

    def __init__(self, language: Language, by: str = "anna") -> None:
        self.language = language
        self.by = by
        self.at_ms = 0
        self.entries: list[Entry] = []
        self.hand: Hand | None = None
        self.in_hand = ""
        self.closed: Hand | None = None
        self.refusal = ""

    def marks(self) -> list[Mark]:
        """All marks in the order of time, rank and place."""
        found, _ = resolve(self.entries)
        return sorted(found, key=lambda mark: (mark.at_ms, self.language.rank(mark.kind), mark.place))

    def context(self, until: Mark | None = None) -> dict[str, str]:
        """What is known at the film's present time, or before one mark."""
        made = start(self.language)
        for mark in self.marks():
            if mark is until or mark == until or (until is None and mark.at_ms > self.at_ms):
                break
            if not mark.removed:
                made = after(self.language, made, mark.kind, mark.answers)
        return made

    def press(self, stroke: str) -> None:
        """One key stroke at the film's present time."""
        self.at_ms += STEP_MS
        if self.hand is None:
            self.hand = taken_up(self.language, self.closed, stroke)
        again = True
        while again:
            pressed = press(self.language, self.context(), self.hand, stroke)
            missing = "".join(self._enter(act) for act in pressed.acts)
            self.hand, again, self.refusal = pressed.hand, pressed.again, pressed.refusal or missing
            self.closed = pressed.closed

    def reopen(self, place: int, question: str = "") -> None:
        """Open the questions of a mark made earlier, by its place in order."""
        mark = self.marks()[place]
        before = self.context(until=mark)
        self.hand = open_hand(self.language, before, mark.kind, mark.answers, question, old=True)
        self.in_hand = mark.id

    def act_on(self, does: str, place: int) -> None:
        """Remove a mark, re-time it to the film's present time, or restore it."""
        mark = self.marks()[place]
        if does == "restore":
            for entry in [e for e in self.entries if e.does == "remove" and e.of == mark.id]:
                self.add({"does": "undo", "of": entry.id})
        elif does == "retime":
            self.add({"does": "retime", "of": mark.id, "film": "f", "at_ms": self.at_ms})
        else:
            self.add({"does": does, "of": mark.id})

    def add(self, facts: Mapping[str, Any]) -> None:
        """Add an entry; what the facts leave out is filled in."""
        n = 1 + max((entry.n for entry in self.entries), default=0)
        name = f"e{len(self.entries) + 1:03d}"
        self.entries.append(read_entry({"v": 1, "id": name, "n": n, "by": self.by, "wall": "", **facts}))

    def seen(self) -> dict[str, Any]:
        """Everything that a case may expect."""
        marks = self.marks()
        offered = offer(self.language, self.hand) if self.hand else ""
        shown = options(self.language, self.context(), self.hand)
        return {
            "marks": [[m.kind, dict(m.answers), *(["removed"] if m.removed else [])] for m in marks],
            "sentences": [sentence(self.language, m.kind, m.answers, self.context(until=m)) for m in marks],
            "hand": [self.hand.kind, self.hand.question, self.hand.typed] if self.hand else None,
            "offer": offered or next((option.key for option in shown if option.offer), ""),
            "options": " ".join(option.key for option in shown),
            "refusal": self.refusal,
            "held": " ".join(self.hand.held) if self.hand else "",
            "n_entries": len(self.entries),
            "context": self.context(),
            "at": [m.at_ms for m in marks],
        }

    def _enter(self, act: Mapping[str, Any]) -> str:
        if act["does"] == "mark":
            self.add({**act, "film": "f", "at_ms": self.at_ms})
            self.in_hand = self.entries[-1].id
        elif act["does"] == "answer":
            kind = next(mark.kind for mark in self.marks() if mark.id == self.in_hand)
            question = self.language.question(kind, act["question"]) or {}
            beside = [c.get("with", {}) for c in question.get("choices", ()) if c["code"] == act["value"]]
            answers = {**entered(question, act["value"]), **(beside[0] if beside else {})}
            self.add({"does": "answer", "of": self.in_hand, "answers": answers})
        else:
            find = last_to_undo if act["does"] == "undo" else last_to_redo
            target = find(self.entries, self.by)
            if target is None:
                return "nothing of yours to take back" if act["does"] == "undo" else "nothing to bring back"
            self.add({"does": "undo", "of": target.id})
        return ""
