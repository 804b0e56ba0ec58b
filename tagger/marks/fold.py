"""The fold: the entries of one book become event tables, a log and a list of problems.

Pure: the same entries, in whatever order they lie, give the same result. Entries are resolved to marks, marks are put
on the game's time line, and one walk over them cuts the game into periods, possessions and runs and hangs every event
where its film time falls. Order is game time, then the vocabulary's rank, then `(n, id)`: within one frame the order of
entry counts, so what a person saw offered at that frame is what the mark means. A mark that fits nowhere
is kept and listed; nothing a person can enter raises.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from tagger.floor.rules import PenaltyRules
from tagger.marks.context import start
from tagger.marks.entries import Entry
from tagger.marks.fitting import misfits
from tagger.marks.problems import Problem
from tagger.marks.reaction import counted
from tagger.marks.resolve import Mark, resolve
from tagger.marks.sentences import sentence
from tagger.marks.twice import marked_twice
from tagger.marks.vocabulary import Language
from tagger.marks.walk import Walk


@dataclass(frozen=True)
class FilmSpan:
    """A film on its game's time line.

    Attributes
    ----------
    id : str
        The film's id.
    offset_ms, duration_ms : int
        Where its first frame lies on the game's time line, and how long it is.
    """

    id: str
    offset_ms: int
    duration_ms: int


@dataclass(frozen=True)
class GameFacts:
    """What the fold must know beside the entries.

    Attributes
    ----------
    game, book : str
        Ids.
    language : Language
        Vocabulary and playbook.
    films : tuple of FilmSpan
        The game's films.
    roster : frozenset of str
        Our players' numbers; empty: not checked.
    period_s : int
        What the clock says when a period begins, in seconds.
    stop_clock : bool
        Whether it stands at whistles.
    penalties : PenaltyRules
        How long they are, and what ends them.
    reaction_ms : tuple of (str, int)
        How much later than it happened a kind is marked while the film runs, in ms; see `counted`.
    n_periods : int
        How many periods have that length; what comes after them is overtime, of which nothing is known. 0: all have it.
    """

    game: str
    book: str
    language: Language
    films: tuple[FilmSpan, ...]
    roster: frozenset[str] = frozenset()
    period_s: int = 15 * 60
    stop_clock: bool = True
    penalties: PenaltyRules = field(default_factory=PenaltyRules)
    reaction_ms: tuple[tuple[str, int], ...] = ()
    n_periods: int = 0


@dataclass(frozen=True)
class Logged:
    """A mark at its place in the log.

    Attributes
    ----------
    mark : Mark
        As it stands.
    game_ms : int or None
        Where it counts on the game's time line; None when its film is not known.
    possession, run : str or None
        Ids of what it falls in.
    text : str
        The mark as a sentence.
    """

    mark: Mark
    game_ms: int | None
    possession: str | None
    run: str | None
    text: str


@dataclass(frozen=True)
class Folded:
    """What a book says.

    Attributes
    ----------
    rows : mapping of str to list of mapping
        Table name → rows, in order of time, for `tagger.tables.frames`.
    log : tuple of Logged
        Every mark exactly once, removed ones too.
    problems : tuple of Problem
        In order of game time.
    """

    rows: Mapping[str, list[dict[str, Any]]]
    log: tuple[Logged, ...]
    problems: tuple[Problem, ...]


def fold(entries: Iterable[Entry], facts: GameFacts) -> Folded:
    """Fold one book's entries.

    Parameters
    ----------
    entries : iterable of Entry
        Of one book, in any order.
    facts : GameFacts
        The game, its films, the language, the roster.

    Returns
    -------
    Folded
        Never raises for what a person entered.
    """
    marks, problems = resolve(entries)
    offsets = {film.id: film.offset_ms for film in facts.films}
    standing = [mark for mark in marks if not mark.removed and mark.film in offsets]
    standing.sort(key=lambda mark: (offsets[mark.film] + mark.at_ms, facts.language.rank(mark.kind), mark.place))
    walk = Walk(facts.language, facts.roster, facts.period_s, facts.stop_clock, facts.penalties, facts.n_periods)
    log = []
    seen_at = [(mark, offsets[mark.film] + mark.at_ms) for mark in standing]
    for mark, at_ms in zip(standing, counted(seen_at, offsets, dict(facts.reaction_ms)), strict=True):
        seen = walk.step(mark, at_ms)
        log.append(Logged(mark, at_ms, seen.possession, seen.run, seen.text))
    rows = walk.finish()
    problems += walk.ledger.problems
    problems += misfits(facts.language, ((one.mark, one.game_ms, one.run) for one in log), rows["runs"])
    problems += marked_twice(list(zip(standing, (logged.game_ms for logged in log), strict=True)), facts.language)
    for mark in marks:
        if mark.removed:
            at = offsets[mark.film] + mark.at_ms if mark.film in offsets else None
            log.append(Logged(mark, at, None, None, _plain_sentence(facts.language, mark)))
        elif mark.film not in offsets:
            log.append(Logged(mark, None, None, None, _plain_sentence(facts.language, mark)))
            problems.append(
                Problem(
                    "film_unknown",
                    "its film is not one of this game's; bring the film in and it takes its place",
                    mark.id,
                )
            )
    for table in rows.values():
        for row in table:
            row["game"] = facts.game
            row["book"] = facts.book
    problems.sort(key=lambda one: (one.at_ms is None, one.at_ms or 0, one.of, one.code))
    return Folded(rows, tuple(log), tuple(problems))


def _plain_sentence(language: Language, mark: Mark) -> str:
    """A mark that stands nowhere, as a sentence."""
    return sentence(language, mark.kind, mark.answers, start(language))
