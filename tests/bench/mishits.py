"""What a typist's slips come to: each slip alone in a typed evening, over the sample games' truth, without a browser.

The keys are those of `tests.whole.typist`, pressed through the interpreter that the page's is the twin of. Somebody who
types does not look: what the page shows counts as seen when it still stands once a mark is typed, so a refusal that the
next key wipes away is none. A slip that is seen ends there; one that is not is typed on, and the book is folded.

Slips, a stroke each: a wrong key (one beside the right one); a key typed ahead (it changes places with the one before
it, also over a mark's end); two digits of a number exchanged. Of marks: one forgotten. A slip is shown when a refusal
stands, when what was forgotten is still offered, or when the fold lists a problem or the second look a question that
the right book has not. It is silent when nothing of that is so and yet rows are not the truth's.
"""

from __future__ import annotations

import random
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tagger.marks import context as contexts
from tagger.marks.between import entered, merged
from tagger.marks.entries import Entry
from tagger.marks.fold import Folded, fold
from tagger.marks.offers import can_follow, is_offer
from tagger.marks.questions import Hand
from tagger.marks.resolve import last_to_undo
from tagger.marks.strokes import press
from tagger.screen.unanswered import unanswered
from tests.bench.figure import Figure, at_most
from tests.whole.truth_book import TruthBook, plain, truth_book
from tests.whole.typist import type_marks

if TYPE_CHECKING:
    from tagger.marks.resolve import Mark
    from tagger.marks.vocabulary import Language
    from tagger.season import Season

NAME = "mishits"
ABOUT = "a typed evening with a typist's slips: how many end as wrong rows that nothing showed or asked about"
GAMES = ("g1", "g2", "g3")
SHARES = {"wrong key": 0.02, "typed ahead": 0.05, "number exchanged": 0.01, "mark forgotten": 0.02}
MOST_SILENT = 0.2
MOST_SLIPS = 400  # of a game and level, drawn from all that the shares give
ROWS = ("`1234567890", " qwertyuiop", " asdfghjkl", " zxcvbnm")


@dataclass(frozen=True)
class Slip:
    """One thing typed wrongly: at which mark, at which of its strokes, and what is pressed in place of it."""

    what: str
    mark: int
    stroke: int = 0
    instead: str = ""


@dataclass
class State:
    """What the hand has come to: entries, the open mark, and what was known before the last mark."""

    entries: list[Entry]
    before: contexts.Context
    kind: str = ""
    answers: dict[str, Any] | None = None
    hand: Hand | None = None
    refusal: str = ""
    made: int = 0

    def context(self, language: Language) -> contexts.Context:
        """At the film's present time."""
        if not self.kind:
            return self.before
        return contexts.after(language, self.before, self.kind, self.answers or {})

    def copy(self) -> State:
        """The same, to be typed on."""
        return replace(self, entries=list(self.entries), answers=dict(self.answers or {}))


class Evening:
    """A book typed by its truth.

    Parameters
    ----------
    language : Language
        The vocabulary.
    book : TruthBook
        What is to be typed.
    """

    def __init__(self, language: Language, book: TruthBook) -> None:
        self.language, self.book = language, book
        self.strokes = [
            list(one.strokes) for one in type_marks(language, [(one.kind, one.answers) for one in book.marks])
        ]
        self.states = [State([], contexts.start(language))]
        for mark, strokes in zip(book.marks, self.strokes, strict=True):
            state = self.states[-1].copy()
            self.type(state, mark, strokes)
            self.states.append(state)
        self.right = self.fold(self.states[-1].entries)
        assert plain(self.right) == plain(book.tables), "typed without a slip, the tables are not the truth's"
        self.rows = plain(self.right, times=False)
        self.shown = self._shown(self.right)

    def fold(self, entries: Sequence[Entry]) -> Folded:
        """The typed book."""
        return fold(entries, self.book.facts)

    def _shown(self, folded: Folded) -> Counter[tuple[Any, ...]]:
        told: list[tuple[Any, ...]] = [(one.code, one.text) for one in folded.problems]
        told += [(one["why"], one["question"], one["kind"]) for one in unanswered(folded, self.language)]
        return Counter(told)

    def type(self, state: State, mark: Mark, strokes: Sequence[str]) -> None:
        """Press strokes on a mark's frame."""
        for stroke in strokes:
            self.press(state, mark, stroke)

    def press(self, state: State, mark: Mark, stroke: str) -> None:
        """One stroke; keys of the film change nothing here."""
        if len(stroke) == 1 and stroke in (*self.language.data["film_keys"], *self.language.data["hand_keys"]):
            return
        for _ in range(3):
            pressed = press(self.language, state.context(self.language), state.hand, stroke)
            for act in pressed.acts:
                self._act(state, mark, act)
            state.hand, state.refusal = pressed.hand, pressed.refusal
            if not pressed.again:
                return

    def _act(self, state: State, mark: Mark, act: Any) -> None:
        n = len(state.entries) + 1
        if act["does"] == "mark":
            if mark.at_ms < (state.entries[-1].at_ms or 0 if state.entries else 0):
                raise AssertionError("marks are typed in their order")
            state.before = state.context(self.language)
            state.kind, state.answers = act["kind"], dict(act["answers"])
            state.entries.append(
                Entry(
                    f"e{n:05d}",
                    n,
                    "typist",
                    "mark",
                    kind=act["kind"],
                    film=mark.film,
                    at_ms=mark.at_ms,
                    answers=act["answers"],
                )
            )
            state.made = n
        elif act["does"] == "answer":
            held = self.language.question(state.kind, act["question"]) or {"code": act["question"]}
            beside = [one.get("with", {}) for one in held.get("choices", ()) if one["code"] == act["value"]]
            answers = {**entered(held, act["value"]), **(beside[0] if beside else {})}
            state.answers = merged(state.answers or {}, answers)
            of = state.entries[state.made - 1].id
            state.entries.append(Entry(f"e{n:05d}", n, "typist", "answer", of=of, answers=answers))
        elif act["does"] == "undo" and last_to_undo(state.entries, "typist") is not None:
            raise AssertionError("no slip takes back")

    # Slips --------------------------------------------------------------------------------------------------------

    def comes_to(self, slip: Slip) -> str:
        """What one slip comes to: harmless, refused, offered, listed, asked, or silent."""
        state = self.states[slip.mark].copy()
        marks = self.book.marks
        carried: list[str] = []
        for place in range(slip.mark, len(marks)):
            strokes = [*carried, *self.strokes[place]]
            carried = []
            if place == slip.mark:
                strokes, carried = self._slipped(slip, strokes)
            elif (
                place == slip.mark + 1
                and slip.what == "typed ahead"
                and slip.stroke == len(self.strokes[slip.mark]) - 1
            ):
                strokes = [strokes[0], *strokes[2:]]  # the carried one, then what follows the key typed ahead
            if slip.what == "mark forgotten" and place == slip.mark + 1 and self._is_offered(state, marks[slip.mark]):
                return "offered"
            self.type(state, marks[place], strokes)
            if place <= slip.mark + 1 and state.refusal:
                return "refused"
            if place > slip.mark and self._is_as_meant(state, place + 1):
                state.entries += self._rest(place + 1, len(state.entries))
                break
        folded = self.fold(state.entries)
        if plain(folded, times=False) == self.rows:
            return "harmless"
        new = self._shown(folded) - self.shown
        if any(len(one) == 2 for one in new):
            return "listed"
        return "asked" if new else "silent"

    def _slipped(self, slip: Slip, strokes: list[str]) -> tuple[list[str], list[str]]:
        if slip.what == "mark forgotten":
            return [], []
        if slip.what in ("wrong key", "number exchanged"):
            return [
                *strokes[: slip.stroke],
                *slip.instead.split(),
                *strokes[slip.stroke + len(slip.instead.split()) :],
            ], []
        if slip.stroke < len(strokes) - 1:
            one, other = strokes[slip.stroke : slip.stroke + 2]
            return [*strokes[: slip.stroke], other, one, *strokes[slip.stroke + 2 :]], []
        ahead = self.strokes[slip.mark + 1][0]
        return [*strokes[:-1], ahead], [strokes[-1]]

    def _is_offered(self, state: State, mark: Mark) -> bool:
        context = state.context(self.language)
        return state.hand is None and any(
            kind["code"] == mark.kind
            and is_offer(context, kind["code"], key)
            and all(mark.answers.get(name) == value for name, value in key.get("answers", {}).items())
            for kind, key in can_follow(self.language, context)
        )

    def _is_as_meant(self, state: State, place: int) -> bool:
        meant = self.states[place]
        return state.hand == meant.hand and state.context(self.language) == meant.context(self.language)

    def _rest(self, place: int, n: int) -> Iterator[Entry]:
        """What is typed from a mark on, once everything is again as it was meant."""
        shift = n - len(self.states[place].entries)
        ids: dict[str, str] = {}
        for one in self.states[-1].entries[len(self.states[place].entries) :]:
            ids[one.id] = f"r{one.n:05d}"
            yield replace(one, id=ids[one.id], n=one.n + shift, of=ids.get(one.of, one.of) if one.of else one.of)

    def slips(self, chance: random.Random) -> list[Slip]:
        """The slips of an evening, by their shares."""
        found = []
        for place, strokes in enumerate(self.strokes):
            last = place == len(self.strokes) - 1
            if chance.random() < SHARES["mark forgotten"] and not last:
                found.append(Slip("mark forgotten", place))
            for number, stroke in enumerate(strokes):
                onward = (
                    strokes[number + 1] if number + 1 < len(strokes) else "" if last else self.strokes[place + 1][0]
                )
                if chance.random() < SHARES["wrong key"] and (beside := beside_of(stroke)):
                    found.append(Slip("wrong key", place, number, chance.choice(beside)))
                if (
                    (
                        chance.random() < SHARES["typed ahead"]
                        and onward
                        and onward != stroke
                        and not stroke.startswith("=")
                    )
                    and not (stroke.isdigit() and onward.isdigit())
                    and not onward.startswith("=")
                ):
                    found.append(Slip("typed ahead", place, number))
                both = stroke.isdigit() and onward.isdigit() and number + 1 < len(strokes) and stroke != onward
                if both and chance.random() < SHARES["number exchanged"]:
                    found.append(Slip("number exchanged", place, number, f"{onward} {stroke}"))
        return found


def beside_of(stroke: str) -> list[str]:
    """The keys beside a letter or a digit; none for a named key."""
    if len(stroke) != 1:
        return []
    for place, row in enumerate(ROWS):
        if (at := row.find(stroke.lower())) >= 0 and stroke != " ":
            found = [row[at - 1 : at], row[at + 1 : at + 2]]
            found += [
                other[at]
                for other in (ROWS[place - 1] if place else "", *ROWS[place + 1 : place + 2])
                if at < len(other)
            ]
            keys = [one for one in found if one.isalnum()]
            return [one.upper() if stroke.isupper() and one.isalpha() else one for one in keys]
    return []


def measure(season: Season, games: Sequence[str], level: str, *, most: int, seed: int = 3) -> Counter[tuple[str, str]]:
    """What slips come to.

    Parameters
    ----------
    season : Season
        The sample season.
    games : sequence of str
        Games of it.
    level : str
        At which detail they are typed.
    most : int
        Slips of a game at most.
    seed : int
        Of the slips.

    Returns
    -------
    Counter
        By what was typed wrongly, and what it came to.
    """
    chance = random.Random(seed)
    found: Counter[tuple[str, str]] = Counter()
    for game in games:
        evening = Evening(season.texts.language(), truth_book(season, game, level))
        slips = evening.slips(chance)
        for slip in slips if len(slips) <= most else chance.sample(slips, most):
            found[slip.what, evening.comes_to(slip)] += 1
    return found


def run() -> list[Figure]:
    """Type the sample games at two levels of detail, each slip alone."""
    from dashboard.demo import make_demo
    from tagger.season import Season

    figures = []
    with tempfile.TemporaryDirectory() as folder:
        make_demo(Path(folder) / "demo")
        season = Season.open(Path(folder) / "demo")
        for level in ("basic", "whole"):
            found = measure(season, GAMES, level, most=MOST_SLIPS)
            n = sum(found.values())
            silent = sum(times for (_, came), times in found.items() if came == "silent")
            figures.append(
                at_most(f"{level}: slips that end silently as wrong rows, of {n}", silent / n, "", MOST_SILENT)
            )
            for what in SHARES:
                of = {came: times for (name, came), times in found.items() if name == what}
                total = sum(of.values()) or 1
                words = ", ".join(f"{came} {times}" for came, times in sorted(of.items()))
                figures.append(Figure(f"{level}: {what}: {words}; silent", of.get("silent", 0) / total, ""))
        season.close()
    return figures
