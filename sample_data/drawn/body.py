"""One player while he is on the floor: where he is, how fast, and what the script asks of him."""

from __future__ import annotations

import numpy as np

from sample_data.script import Guard, Player, Script, Spot, Stint


class Body:
    """One player while he is on the floor."""

    def __init__(self, stint: Stint, script: Script, rng: np.random.Generator, left_handed: bool) -> None:
        self.who, self.goal = stint.who, stint.goal
        self.from_s, self.to_s = stint.from_s, stint.to_s
        self.place = np.array(stint.enters, dtype=float)
        self.enters = self.place.copy()
        self.speed = np.zeros(2)
        self.heading = 0.0
        self.hand = 1.0 if left_handed else -1.0
        his = [(order, spot) for order, spot in enumerate(script.spots) if spot.who == stint.who]
        mine = [pair for pair in his if pair[1].from_s < stint.to_s and pair[1].at_s >= stint.from_s]
        self.spots = sorted(mine, key=lambda pair: (pair[1].from_s, pair[0]))
        tasks = [guard for guard in script.guards if guard.who == stint.who]
        self.guards = [guard for guard in tasks if guard.from_s < stint.to_s and guard.to_s > stint.from_s]
        self.spot: tuple[int, Spot] | None = None
        self._next = 0
        self.close = False
        self.sway = rng.uniform(0, 2 * np.pi, 4)

    def spot_at(self, t: float) -> Spot | None:
        """The place he is going to or was last sent to, during this stay."""
        while self._next < len(self.spots) and self.spots[self._next][1].from_s <= t:
            order, spot = self.spots[self._next]
            if (self.spot is None or order > self.spot[0]) and spot.at_s >= self.from_s:
                self.spot = (order, spot)
            self._next += 1
        return self.spot[1] if self.spot else None

    def guard_at(self, t: float, on: dict[Player, Body]) -> Guard | None:
        """His task as a defender."""
        for guard in reversed(self.guards):
            if guard.from_s <= t < guard.to_s and guard.of in on:
                return guard
        return None
