"""Who plays: the Herons from their roster, invented opponents by number, and which five go out together."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from pathlib import Path

import numpy as np

from sample_data.plays import Place, Play, to_side

SEASON = Path(__file__).parent / "season"


@dataclass(frozen=True)
class Person:
    """One player as the simulation needs him."""

    number: str
    shoots: str
    position: str


@dataclass(frozen=True)
class Squad:
    """A team: its fives in the order in which they change, and its goalkeepers.

    Attributes
    ----------
    name : str
        The team's name.
    people : dict
        Players by number.
    fives : tuple of tuples of str
        Numbers of the units.
    goalies : tuple of str
        Numbers; the first starts.
    """

    name: str
    people: dict[str, Person]
    fives: tuple[tuple[str, ...], ...]
    goalies: tuple[str, ...]

    def roles(self, five: Sequence[str], play: Play, side: str) -> dict[str, str]:
        """Numbers by role: right-handers to the left side, left-handers to the right, everyone near his position.

        With four runners the last role of the play stays empty.
        """
        names = list(play.places)[: len(five)]
        best, least = tuple(five), float("inf")
        for order in permutations(five):
            cost = sum(self._misfit(n, to_side(play.places[r], side)) for r, n in zip(names, order, strict=True))
            if cost < least - 1e-9:
                best, least = order, cost
        return dict(zip(names, best, strict=True))

    def _misfit(self, number: str, place: Place) -> float:
        person = self.people[number]
        out, left = place
        hand = 0.0
        if abs(left) > 1.5:
            hand = 1.0 if (left > 0) == (person.shoots == "L") else 0.0
        wants = {"crease": 3.0, "corner": 9.0, "top": 9.5}.get(person.position, 7.0)
        centre = 0.4 if person.position == "top" and abs(left) > 3 else 0.0
        return 2.0 * hand + 0.12 * abs(out - wants) + centre


def herons() -> Squad:
    """The Saltmarsh Herons, from the season's roster."""
    with (SEASON / "roster.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    people = {row["number"]: Person(row["number"], row["shoots"], row["position"]) for row in rows}
    fives = (("14", "22", "9", "31", "00"), ("10", "7", "5", "8", "27"), ("19", "16", "21", "17", "13"))
    spare = (("14", "7", "4", "8", "00"), ("2", "22", "9", "17", "27"), ("10", "11", "21", "31", "13"))
    goalies = tuple(row["number"] for row in rows if row["position"] == "goal")
    return Squad("Saltmarsh Herons", people, fives + spare, goalies)


def opponents(name: str, seed: int) -> Squad:
    """An invented opponent: numbers, hands and fives drawn from its name and a seed."""
    rng = np.random.default_rng([seed, *name.encode("utf-8")])
    pool = [str(n) for n in range(2, 30)] + ["33", "44", "55", "66", "71", "77", "81", "88", "91"]
    numbers = [str(n) for n in rng.choice(pool, 15, replace=False)]
    people: dict[str, Person] = {}
    fives = []
    for unit in range(3):
        five = numbers[5 * unit : 5 * unit + 5]
        hands = ["R", "R", "L", "L", "R" if unit % 2 else "L"]
        for number, shoots, position in zip(five, hands, ("corner", "crease", "corner", "crease", "top"), strict=True):
            people[number] = Person(number, shoots, position)
        fives.append(tuple(five))
    for number in ("1", "32"):
        people[number] = Person(number, "L", "goal")
    return Squad(name, people, tuple(fives), ("1", "32"))
