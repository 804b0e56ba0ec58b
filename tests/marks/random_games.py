"""Random games through vocabulary and fold, checked at random points; a few in the tests, thousands in the bench."""

from __future__ import annotations

import random
from dataclasses import dataclass

from tagger.floor.rules import PenaltyRules
from tagger.marks.entries import Entry
from tagger.marks.fold import FilmSpan, GameFacts, fold
from tagger.marks.vocabulary import Language
from tests.marks.hands import FILMS, RandomHands
from tests.marks.invariants import broken
from tests.marks.test_cases import language_at

LEVELS = ("basic", "main", "whole")
ROSTERS = (frozenset[str](), frozenset({"14", "22", "9", "1", "4"}))
LANGUAGES: dict[tuple[str, bool], Language] = {}


@dataclass(frozen=True)
class Played:
    """What one random game came to."""

    n_keys: int
    n_entries: int
    n_marks: int
    n_folds: int
    misses: tuple[str, ...]


def random_game(seed: int, n_keys: int = 500, n_points: int = 2) -> Played:
    """Press random keys and check the fold at random points.

    Parameters
    ----------
    seed : int
        The game; the same one presses the same keys.
    n_keys : int
        How many.
    n_points : int
        At how many random points the fold is checked, beside the end.

    Returns
    -------
    Played
        `misses` is empty when everything held.
    """
    chance = random.Random(-1 - seed)
    level, lines = LEVELS[seed % 3], seed % 2 == 1
    language = LANGUAGES.setdefault((level, lines), language_at(level, lines=lines))
    films = tuple(FilmSpan(id_, offset, 1_800_001) for id_, offset in FILMS.items())
    reaction = (("shot", 400), ("screen", 900)) if seed % 4 > 1 else ()
    rules = PenaltyRules(goals_end_minor=seed % 3, goals_end_major=seed % 2)
    facts = GameFacts(
        "g1",
        "anna",
        language,
        films=films,
        roster=ROSTERS[seed % 2],
        period_s=900,
        stop_clock=seed % 5 > 0,
        penalties=rules,
        reaction_ms=reaction,
    )
    hands = RandomHands(language, seed)
    points = {*(chance.randrange(n_keys) for _ in range(n_points)), n_keys - 1}
    misses: list[str] = []
    for number in range(n_keys):
        hands.press()
        if number in points:
            misses += [f"game {seed}, key {number + 1}: {what}" for what in _checked(hands, facts, chance)]
    everything = fold(hands.take_everything_back(), facts)
    if everything.log or everything.rows != fold([], facts).rows:
        misses.append(f"game {seed}: taking everything back leaves something")
    last = fold(hands.entries, facts)
    return Played(n_keys, len(hands.entries), len(last.log), 3 * len(points) + 3, tuple(misses))


def _checked(hands: RandomHands, facts: GameFacts, chance: random.Random) -> list[str]:
    found = fold(hands.entries, facts)
    misses = broken(facts.language, hands.entries, found)
    shuffled = list(hands.entries)
    chance.shuffle(shuffled)
    if fold(shuffled + shuffled[:3], facts) != found:
        misses.append("another order of the same entries gives other tables")
    at_ms = chance.randrange(1_800_000)
    n = len(hands.entries) + 1
    note = Entry("note", n, "ben", "mark", kind="note", film="f1", at_ms=at_ms, answers={"text": "see #14"})
    more = fold([*hands.entries, note], facts)
    for name, rows in found.rows.items():
        if not {row["id"] for row in rows} <= {row["id"] for row in more.rows[name]}:
            misses.append(f"a note changed ids in {name}")
    return misses
