"""Random hands on the keyboard: keys, corrections, jumps in the film, as a page would enter them, and fast.

Marks are kept in order with what is known after each, and a change works out anew only what comes after it, so that a
game of thousands of keys costs little. What the keys mean is the interpreter's alone.
"""

from __future__ import annotations

import random
from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from typing import Any

from tagger.marks import context as contexts
from tagger.marks.between import entered
from tagger.marks.entries import Entry
from tagger.marks.offers import options
from tagger.marks.questions import Hand
from tagger.marks.resolve import Mark, last_to_redo, last_to_undo, resolve
from tagger.marks.strokes import open_hand, press, taken_up
from tagger.marks.vocabulary import Language

FILMS = {"f1": 0, "f2": 1_800_000}
LAST_MS = 3_600_000
PLAIN = ("Enter", "Shift+Enter", "Escape", "Backspace", "Shift+Backspace", *"0123456789", "=a word about #14", "K", "/")


class RandomHands:
    """Somebody who presses any key, mostly one that can follow.

    Parameters
    ----------
    language : Language
        The vocabulary.
    seed : int
        The same seed presses the same keys.
    """

    def __init__(self, language: Language, seed: int) -> None:
        self.language = language
        self.chance = random.Random(seed)
        self.entries: list[Entry] = []
        self.hand: Hand | None = None
        self.closed: Hand | None = None
        self.held = ""
        self.at_ms = 0
        letters = {
            choice["key"]
            for kind in language.data["kinds"]
            for question in kind["questions"]
            for choice in question.get("choices", [])
        }
        self.strokes = [*language.keys, *sorted(letters), *PLAIN]
        self._marks: dict[str, Mark] = {}
        self._order: list[tuple[int, int, tuple[int, str]]] = []
        self._after: list[contexts.Context] = []
        self._ids: list[str] = []

    def press(self) -> None:
        """One random stroke; once in a while a mark is re-timed, removed, restored or asked anew instead."""
        self.at_ms = min(max(0, self.at_ms + self.chance.choice((0, 0, 0, 40, 1000, 4000, 9000, -3000))), LAST_MS)
        if self._marks and self.chance.random() < 0.03:
            self._correct(self.chance.choice(list(self._marks.values())))
            return
        shown = [one.key for one in options(self.language, self._context(), self.hand)]
        if self.hand is not None and self.hand.held and self.chance.random() < 0.5:
            shown = ["Escape", "Backspace"]
        stroke = self.chance.choice(shown if shown and self.chance.random() < 0.6 else self.strokes)
        if self.hand is None:
            self.hand = taken_up(self.language, self.closed, stroke)
        for _ in range(3):
            pressed = press(self.language, self._context(), self.hand, stroke)
            self.hand, self.closed = pressed.hand, pressed.closed
            for act in pressed.acts:
                self._act(act)
            if not pressed.again:
                return
        raise AssertionError(f"{stroke} was to be pressed again and again")

    def take_everything_back(self) -> list[Entry]:
        """All entries, and an undo of everything that stands, the last first."""
        entries = list(self.entries)
        first = last_to_undo(entries, "anna")
        void = _void(entries)
        standing = [one for one in entries if one.does != "undo" and one.id not in void]
        assert (first is None) == (not standing) and (first is None or first == standing[-1])
        for entry in reversed(standing):
            entries.append(self._entry({"does": "undo", "of": entry.id}, len(entries)))
        assert last_to_undo(entries, "anna") is None
        return entries

    def _correct(self, mark: Mark) -> None:
        what = self.chance.choice(("retime", "remove", "restore", "reopen"))
        self.closed = None
        if what == "retime":
            film, at_ms = self._where(self.chance.randrange(LAST_MS))
            self._add({"does": "retime", "of": mark.id, "film": film, "at_ms": at_ms})
        elif what == "remove":
            self._add({"does": "remove", "of": mark.id})
        elif what == "restore":
            for entry in [one for one in self.entries if one.does == "remove" and one.of == mark.id]:
                self._add({"does": "undo", "of": entry.id})
        elif not mark.removed:
            place = bisect_left(self._order, self._key(mark))
            before = self._after[place - 1] if place else contexts.start(self.language)
            self.hand = open_hand(self.language, before, mark.kind, mark.answers, old=True)
            self.held = mark.id

    def _act(self, act: Mapping[str, Any]) -> None:
        if act["does"] == "mark":
            film, at_ms = self._where(self.at_ms)
            speed = self.chance.choice((0, 0, 1, 2, -1))
            self._add(
                {
                    "does": "mark",
                    "kind": act["kind"],
                    "film": film,
                    "at_ms": at_ms,
                    "speed": speed,
                    "answers": act["answers"],
                }
            )
            self.held = self.entries[-1].id
        elif act["does"] == "answer":
            kind = next(one.kind for one in self.entries if one.id == self.held)
            question = self.language.question(kind, act["question"]) or {"code": act["question"]}
            self._add({"does": "answer", "of": self.held, "answers": entered(question, act["value"])})
        else:
            find = last_to_undo if act["does"] == "undo" else last_to_redo
            target = find(self.entries, "anna")
            if target is not None:
                self._add({"does": "undo", "of": target.id})

    def _entry(self, facts: Mapping[str, Any], n: int) -> Entry:
        return Entry(id=f"e{n + 1:05d}", n=n + 1, by="anna", **facts)

    def _add(self, facts: Mapping[str, Any]) -> None:
        entry = self._entry(facts, len(self.entries))
        self.entries.append(entry)
        if entry.does == "mark":
            self._marks[entry.id] = resolve([entry])[0][0]
            self._sort(entry.id)
            return
        old = self._marks
        self._marks = {mark.id: mark for mark in resolve(self.entries)[0]}
        for id_ in {*old, *self._marks}:
            if old.get(id_) != self._marks.get(id_):
                self._sort(id_, old.get(id_))

    def _sort(self, id_: str, old: Mark | None = None) -> None:
        """Put a mark where it stands now, and work out anew what is known from there on."""
        least = len(self._order)
        if old is not None:
            place = bisect_left(self._order, self._key(old))
            del self._order[place], self._ids[place], self._after[place]
            least = place
        mark = self._marks.get(id_)
        if mark is not None:
            place = bisect_left(self._order, self._key(mark))
            self._order.insert(place, self._key(mark))
            self._ids.insert(place, id_)
            self._after.insert(place, {})
            least = min(least, place)
        context = self._after[least - 1] if least else contexts.start(self.language)
        for place in range(least, len(self._order)):
            one = self._marks.get(self._ids[place])
            if one is not None and not one.removed:
                context = contexts.after(self.language, context, one.kind, one.answers)
            self._after[place] = context

    def _context(self) -> contexts.Context:
        place = bisect_right(self._order, (self.at_ms, 1000, (0, "")))
        return self._after[place - 1] if place else contexts.start(self.language)

    def _key(self, mark: Mark) -> tuple[int, int, tuple[int, str]]:
        return FILMS[mark.film] + mark.at_ms, self.language.kinds[mark.kind]["rank"], mark.place

    @staticmethod
    def _where(game_ms: int) -> tuple[str, int]:
        film = "f2" if game_ms >= FILMS["f2"] else "f1"
        return film, game_ms - FILMS[film]


def _void(entries: list[Entry]) -> set[str]:
    """Ids of entries that a standing undo names; all are one person's."""
    void: set[str] = set()
    for entry in reversed(entries):
        if entry.does == "undo" and entry.id not in void:
            void.add(entry.of)
    return void
