"""What the places of a film show: who is how far from whom when a screen is judged, and where the ball goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sample_data.drawn.motion import Moved, move, place_of
from sample_data.room import JUDGED_S
from sample_data.script import Player
from sample_data.sim import Simulated, simulate_excerpt
from sample_data.truth import Screen
from tagger.floor.rules import floor_rules

RULES = floor_rules("canadian")
FPS = 25


@dataclass(frozen=True)
class Excerpt:
    """An excerpt and all its places, at 25 frames a second."""

    made: Simulated
    moved: Moved

    def attacks(self, possession: str) -> int:
        """+1 if the possession's team attacks towards +x, else -1."""
        return next(one.attacks for one in self.made.truth.possessions if one.id == possession)

    def at(self, who: Player, at_ms: float) -> tuple[float, float]:
        """Where a player is."""
        here = place_of(self.moved, who, round(at_ms * FPS / 1000))
        if here is None:
            raise LookupError(who)
        return here

    def on_floor(self, team: str, at_ms: float) -> list[Player]:
        """Runners of a team."""
        frame = round(at_ms * FPS / 1000)
        return [t.who for t in self.moved.tracks if t.who[0] == team and not t.goal and t.at(frame) is not None]

    def room_m(self, who: Player, at_ms: float) -> float:
        """How far a player's nearest checker is."""
        other = "theirs" if who[0] == "ours" else "ours"
        x, y = self.at(who, at_ms)
        return min(
            float(np.hypot(a - x, b - y)) for a, b in (self.at(one, at_ms) for one in self.on_floor(other, at_ms))
        )

    def from_goal_m(self, place: tuple[float, float], possession: str) -> float:
        """How far a place is from the attacked goal."""
        return float(np.hypot(place[0] - self.attacks(possession) * RULES.goal_x_m, place[1]))

    def out_m(self, at_ms: float, possession: str) -> float:
        """How far the ball is out from the attacked goal line."""
        frame = min(len(self.moved.ball_m) - 1, round(at_ms * FPS / 1000))
        return float(RULES.goal_x_m - self.attacks(possession) * self.moved.ball_m[frame, 0])

    def judged(self) -> Iterator[tuple[Screen, float]]:
        """Every legal screen, and when it is judged."""
        for screen in self.made.truth.screens:
            if screen.free != "illegal":
                yield screen, screen.at_ms + 1000 * JUDGED_S


def excerpt(seed: int, seconds: float = 90, opponent: str = "Millrace", period: int = 1) -> Excerpt:
    """An excerpt from its seed."""
    made = simulate_excerpt(seed, seconds, opponent, period=period)
    moved = move(made.script, RULES, {}, seconds, FPS, seed)
    return Excerpt(made, moved)
