"""Who has room after a screen, and where those who took part must be for it to be seen.

"Came free" is judged one second after contact, never from the shot: a step on the check, hands free. In a picture
from the stand that is a matter of distances, so they are named here and held for every screen of every film.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from sample_data.script import Place, Player, Script, apart

Floats = NDArray[np.float64]

JUDGED_S = 1.0
"""So long after contact it is judged who came free."""
FREE_M = 2.0
"""Nobody can reach his stick: a stick is about a metre long, and the checker needs another step to use it."""
COVERED_M = 1.0
"""A checker's stick is on his hands: a stick's length."""
ALONE_M = 3.3
"""So far from every team-mate a free man is: their checkers, within `COVERED_M` of them, leave him `FREE_M`."""
APART_M = 1.6
"""So far two who are both covered go apart, so that it can be seen who has whom."""

SETTLE_S = 0.8  # over so long before and after it is spread, so that nobody is seen to be moved
SPARE_M = 0.2  # two who sprint past each other come so much nearer from one frame to the next
_SHORT = 20.0  # a metre too near weighs as much as ten turns about
_TURNS = np.radians([0, 15, -15, 30, -30, 45, -45, 60, -60])


@dataclass(frozen=True)
class Leaving:
    """A man at a screen: from where he goes, which way, how far at least and at most until it is judged."""

    start: Place
    toward: Place
    least_m: float
    most_m: float

    def options(self) -> list[tuple[float, Place]]:
        """Places he may be at, with how far each is from what he meant: metres off, and turned away."""
        dx, dy = self.toward[0] - self.start[0], self.toward[1] - self.start[1]
        way = float(np.arctan2(dy, dx))
        found = []
        for turn, far in product(
            _TURNS if self.most_m > 0.5 else _TURNS[:1], np.linspace(self.least_m, self.most_m, 4)
        ):
            place = (
                self.start[0] + float(far) * float(np.cos(way + turn)),
                self.start[1] + float(far) * float(np.sin(way + turn)),
            )
            found.append((abs(float(turn)) * 2.0 + abs(float(far) - self.least_m) * 0.2, place))
        return found


def spread(
    leaving: Mapping[str, Leaving],
    free: str | None,
    others: Sequence[Place],
    third: Place | None,
    allowed: Callable[[Place], Place],
) -> dict[str, Place]:
    """Places for those who took part in a screen, one second after contact.

    Parameters
    ----------
    leaving : mapping
        Who took part and which way each goes, user and setter first.
    free : str or None
        Who of them comes free.
    others : sequence of Place
        Where the other attackers are.
    third : Place or None
        Where a third man is who comes free.
    allowed : callable
        Brings a place to where attackers may be.

    Returns
    -------
    dict
        Places near what was meant at which the free man is alone; when there are none, those at which he is most alone.
    """
    options = {name: [(cost, allowed(place)) for cost, place in man.options()] for name, man in leaving.items()}

    def cost_of(places: Mapping[str, Place]) -> float:
        short = 0.0
        for (name, place), (mate, at) in combinations(places.items(), 2):
            short += max(0.0, (ALONE_M if free in (name, mate) else APART_M) - apart(place, at))
        for name, place in places.items():
            short += sum(max(0.0, ALONE_M - apart(place, at)) for at in others if name == free)
            short += max(0.0, ALONE_M - apart(place, third)) if third is not None else 0.0
        return _SHORT * short

    first, rest = list(leaving)[:2], list(leaving)[2:]
    picked = min(
        product(*(options[name] for name in first)),
        key=lambda pair: cost_of({n: one[1] for n, one in zip(first, pair, strict=True)}) + sum(one[0] for one in pair),
    )
    places = {name: one[1] for name, one in zip(first, picked, strict=True)}
    for name in rest:
        places[name] = min(options[name], key=lambda one: cost_of({**places, name: one[1]}) + one[0])[1]
    return places


def settle(
    script: Script, places: Floats, whos: Sequence[Player], goals: Sequence[int], rate_hz: int, goal_x_m: float
) -> None:
    """Where bodies in each other's way kept a checker from where he was sent, bring him there, smoothly, in place.

    Parameters
    ----------
    script : Script
        With what is judged when.
    places : ndarray, shape (n_steps, n_bodies, 2)
        Metres; NaN while somebody is not on the floor. Changed in place.
    whos, goals : sequence
        Who the bodies are, and in which goal they stand (0: runners).
    rate_hz : int
        Steps a second.
    goal_x_m : float
        Where the goal lines are.
    """
    for moment in script.judged:
        step = round(moment.at_s * rate_hz)
        if step >= len(places):
            continue
        here = {who: k for k, who in enumerate(whos) if not goals[k] and not np.isnan(places[step, k, 0])}
        for _ in range(3):
            for runner, checker in moment.checks:
                if runner in here and checker in here:
                    _hold(places, step, here[runner], here[checker], rate_hz, goal_x_m)
            if moment.free in here:
                free = here[moment.free]
                for who, k in here.items():
                    away = places[step, k] - places[step, free]
                    far = float(np.hypot(*away)) + 1e-9
                    if who[0] != moment.free[0] and far < FREE_M + SPARE_M:
                        _bend(places, step, k, away / far * (FREE_M + SPARE_M - far), rate_hz)


def _hold(places: Floats, step: int, runner: int, checker: int, rate_hz: int, goal_x_m: float) -> None:
    """The checker within reach of his man; one who is not goes to the side of the goal."""
    man = places[step, runner]
    if float(np.hypot(*(places[step, checker] - man))) <= COVERED_M - 0.05:
        return
    to_goal = np.array([np.sign(man[0]) * goal_x_m, 0.0]) - man
    side = to_goal / (float(np.hypot(*to_goal)) + 1e-9) + (places[step, checker] - man) * 0.5
    _bend(places, step, checker, man + side / float(np.hypot(*side)) * 0.85 - places[step, checker], rate_hz)


def _bend(places: Floats, step: int, who: int, by: Floats, rate_hz: int) -> None:
    """Move somebody at one moment, and less and less before and after it."""
    span = round(SETTLE_S * rate_hz)
    around = np.arange(max(0, step - span), min(len(places), step + span + 1))
    share = 0.5 + 0.5 * np.cos(np.pi * (around - step) / (span + 1))
    places[around, who] += share[:, None] * by
